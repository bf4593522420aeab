"""Looking at a kept photo for its label and marks: asked once for each photo, then remembered."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from flask import current_app

from bench.core.colours import rgb_of
from bench.core.ids import shown_code
from bench.core.policy import Policy
from bench.pictures import apart
from bench.pictures.refusal import PictureRefused
from bench.pictures.seen import MarkColours, MarkSeen, Rgb, Seen
from bench.store.photos import NoSuchPhoto
from bench.web import book, photos, speech

T = TypeVar("T")

MOST_REMEMBERED = 200
PARTS = ("what", "why", "do")


@dataclass(frozen=True)
class Look:
    """What a look at a photo found, or in words why nobody could look."""

    seen: Seen | None = None
    trouble: tuple[str, ...] = ()

    def warnings(self, code: str) -> list[str]:
        """Say whose label the photo shows where it is not this case's."""
        if self.seen is None:
            return []
        label = self.seen.label
        own = label is not None and label.code == code
        others = [*self.seen.other_codes]
        if label is not None and label.code not in (None, code):
            others.insert(0, str(label.code))
        key = "photomarks.other_beside" if own else "photomarks.other_label"
        return [speech.say(key, code=shown_code(one)) for one in dict.fromkeys(others)]

    @property
    def hints(self) -> list[str]:
        """Say what a better photo would take; whose label it shows is said by `warnings`."""
        found = self.seen.hints if self.seen else ()
        return [speech.say(f"pictures.hint.{hint}") for hint in found if hint != "other_label"]


def colours(policy: Policy) -> MarkColours:
    """Return the colours of the lab's pencils."""
    return MarkColours(rgb_of(policy.texts["mark_colour"]), rgb_of(policy.texts["ring_colour"]))


def looked(sha: str, code: str) -> Look:
    """Return what a photo shows, looked for once with the lab's colours and label."""
    policy = book.lab().policy
    key = (
        sha,
        code,
        policy.texts["mark_colour"],
        policy.texts["ring_colour"],
        policy.number("label_mm"),
    )
    known: OrderedDict[object, Look] = current_app.extensions.setdefault("looks", OrderedDict())
    if key in known:
        return known[key]
    look = _look(sha, code, policy)
    if look.seen is not None:
        known[key] = look
        while len(known) > MOST_REMEMBERED:
            known.popitem(last=False)
    return look


def settled(sha: str, x_px: float, y_px: float, px_per_mm: float | None) -> MarkSeen | None:
    """Return the middle of the mark near a place that was tapped; None where none is seen."""
    found, _ = _asked(
        sha,
        lambda data: apart.settle(
            data, colours(book.lab().policy), x_px, y_px, px_per_mm=px_per_mm
        ),
    )
    return found if isinstance(found, MarkSeen) else None


def sampled(sha: str, x_px: float, y_px: float) -> Rgb | None:
    """Return the colour of the stroke at a place of a photo; None where nobody could look."""
    found, _ = _asked(sha, lambda data: apart.sampled(data, x_px, y_px))
    return found if isinstance(found, tuple) else None


def _look(sha: str, code: str, policy: Policy) -> Look:
    found, trouble = _asked(
        sha,
        lambda data: apart.look(
            data, colours(policy), code=code, label_mm=policy.number("label_mm")
        ),
    )
    return Look(found if isinstance(found, Seen) else None, trouble)


def _asked(sha: str, ask: Callable[[bytes], T]) -> tuple[T | None, tuple[str, ...]]:
    """Ask for something of a photo in a process of its own; in words why there is no answer."""
    try:
        with photos.shelf().open(sha) as source:
            data = source.read()
        return ask(data), ()
    except NoSuchPhoto:
        return None, (speech.say("trail.photo_gone"),)
    except PictureRefused as refused:
        return None, _said(f"pictures.refused.{refused.code}", refused.params)
    except apart.LookFailed as failed:
        return None, _said(f"pictures.look.{failed.code}", failed.params)


def _said(key: str, params: Any) -> tuple[str, ...]:
    return tuple(speech.say(f"{key}.{part}", **params) for part in PARTS)
