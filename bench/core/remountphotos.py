"""Whether a re-mounted cast is the one of the record: the marks of two photos, compared mark by mark.

A check of identity and of marks. It tells nothing of the tilt: a cast may lie aslant and its marks agree.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from math import dist, hypot
from typing import Literal

from bench.core.arch import Vector
from bench.core.case import Case
from bench.core.casephotos import CasePhoto, Measured, measured_of, photos_of
from bench.core.photocheck import SIDE_MM, checked, compared
from bench.core.tripod import Marks

Finding = Literal["same", "elsewhere", "letters", "mirrored", "longer", "shorter", "other"]
LETTERS = ("A", "B", "C")


@dataclass(frozen=True)
class Recognised:
    """What two photos of tripod marks say of each other.

    `by_mm` is how far each of A, B, C lies from its place after the best rigid fit of all three. Where
    one alone is `elsewhere`, `odd` names it and `odd_mm` is how far it lies off once the other two are
    laid over theirs. `letters` are those to be exchanged.
    """

    finding: Finding
    by_mm: tuple[float, ...]
    odd: str = ""
    odd_mm: float = 0.0
    letters: tuple[str, ...] = ()


@dataclass(frozen=True)
class RemountPhotos:
    """The photo of the record, the newest photo taken since, and what the two say where both are confirmed."""

    record: CasePhoto | None
    later: CasePhoto | None
    recognised: Recognised | None


def remount_photos(case: Case, marked: Collection[str | None]) -> RemountPhotos:
    """Return the photos that a re-mount is recognised by; `marked` are the entries that speak of its marks.

    The record's is the first that stands with its marks confirmed, else the newest without.
    """
    shown = [one for one in photos_of(case) if _shows(one, marked)]
    confirmed = [one for one in shown if measured_of(one) is not None]
    record = confirmed[0] if confirmed else shown[-1] if shown else None
    if record is None or not confirmed or shown[-1] is record:
        return RemountPhotos(record, None, None)
    later = shown[-1] if shown[-1].entry.id > record.entry.id else None
    return RemountPhotos(record, later, _recognised(record, later))


def _shows(photo: CasePhoto, marked: Collection[str | None]) -> bool:
    about = photo.marks.body.about if photo.marks else photo.body.about
    return photo.aside is None and photo.body.shows == "tripod" and about in marked


def _recognised(record: CasePhoto, later: CasePhoto | None) -> Recognised | None:
    first = measured_of(record)
    second = measured_of(later) if later else None
    return recognise(first, second) if first and second else None


def recognise(first: Measured, later: Measured) -> Recognised:
    """Return whether the marks measured later are those measured first, and if not, what differs."""
    check = checked(first.distances_mm, first.sense, later.distances_mm, later.sense)
    by_mm = compared(first.marks_mm, later.marks_mm).by_mm
    if check.verdict == "agree":
        return Recognised("same", by_mm)
    if check.verdict == "mirrored":
        return Recognised("mirrored", by_mm)
    if check.verdict == "swapped":
        return Recognised("letters", by_mm, letters=exchanged(check.order))
    if check.why == "all_longer":
        return Recognised("longer", by_mm)
    if check.why == "all_shorter":
        return Recognised("shorter", by_mm)
    return _one_elsewhere(first.marks_mm, later.marks_mm, by_mm)


def exchanged(order: tuple[str, str, str]) -> tuple[str, ...]:
    """Return the letters whose marks took each other's place, from the order of the sides AB, AC, BC."""
    opposite = {"BC": "A", "AC": "B", "AB": "C"}
    now = {
        opposite[side]: opposite[fits] for side, fits in zip(("AB", "AC", "BC"), order, strict=True)
    }
    return tuple(letter for letter in LETTERS if now[letter] != letter)


def _one_elsewhere(first: Marks, later: Marks, by_mm: tuple[float, ...]) -> Recognised:
    """Ask of each mark whether it alone moved: then the other two are as far apart as they were."""
    odd = min(range(3), key=lambda k: abs(_opposite(later, k) - _opposite(first, k)))
    if abs(_opposite(later, odd) - _opposite(first, odd)) > SIDE_MM:
        return Recognised("other", by_mm)
    return Recognised("elsewhere", by_mm, LETTERS[odd], _off_alone(first, later, odd))


def _opposite(marks: Marks, k: int) -> float:
    one, other = (marks[n] for n in range(3) if n != k)
    return dist(one, other)


def _off_alone(first: Marks, later: Marks, k: int) -> float:
    """Return how far a mark lies from its place with the side opposite it laid over its like."""
    one, other = (n for n in range(3) if n != k)
    return dist(_beside(first, one, other, k), _beside(later, one, other, k))


def _beside(marks: Marks, one: int, other: int, k: int) -> Vector:
    """Return a mark in the frame of two others: from their middle, along and across the line between."""
    (ax, ay), (bx, by), (x, y) = marks[one], marks[other], marks[k]
    along = ((bx - ax) / hypot(bx - ax, by - ay), (by - ay) / hypot(bx - ax, by - ay))
    dx, dy = x - (ax + bx) / 2, y - (ay + by) / 2
    return (dx * along[0] + dy * along[1], dy * along[0] - dx * along[1])
