"""What a photo says of the caliper's distances, in words: the verdict, and what to do."""

from __future__ import annotations

from typing import NamedTuple

from bench.core.photocheck import Check
from bench.words.reader import Reader

# How a verdict is marked on pages: what bears the record out, what to look at, what stops.
MARKS = {
    "agree": "done", "look_again": "warns", "swapped": "stopped", "mirrored": "stopped",
    "other_triangle": "stopped",
}  # fmt: skip


class CheckWords(NamedTuple):
    """A check in words: short, in full, what to do; `mark` is how it is marked."""

    short: str
    said: str
    do: str
    mark: str


def check_in_words(check: Check, reader: Reader) -> CheckWords:
    """Return a check's verdict in words."""
    key = f"photochecks.{check.verdict}{'_' if check.why else ''}{check.why}"
    params = {
        "side": check.odd_side, "mark": check.odd_mark, "good": _good_side(check),
        "by": _by(check, reader), "sides": _swapped(check, reader),
        "most": reader.length(max(map(abs, check.off_mm))), "times": reader.number(_times(check), 2),
    }  # fmt: skip
    said, do = (reader.say(f"{key}.{part}", **params) for part in ("said", "do"))
    mark = "warns" if check.why == "uneven" else MARKS[check.verdict]
    return CheckWords(reader.say(f"photochecks.{check.verdict}_short"), said, do, mark)


def _by(check: Check, reader: Reader) -> str:
    """Return by how much the photo's side differs from the caliper's where it differs most from its peers."""
    return reader.length(abs(check.off_mm[("AB", "AC", "BC").index(check.odd_side)]))


def _good_side(check: Check) -> str:
    """Return the side that differs least."""
    return min(zip(check.off_mm, ("AB", "AC", "BC"), strict=True), key=lambda pair: abs(pair[0]))[1]


def _swapped(check: Check, reader: Reader) -> str:
    sides = ("AB", "AC", "BC")
    return reader.listed(
        side for side, fits in zip(sides, check.order, strict=True) if side != fits
    )


def _times(check: Check) -> float:
    return sum(check.photo_mm) / sum(check.caliper_mm)
