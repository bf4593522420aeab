"""Verdicts on a photo of the tripod, in words."""

from __future__ import annotations

from typing import get_args

import pytest

from bench.core.photocheck import Check, Verdict, checked
from bench.words import Words
from bench.words.photochecks import MARKS, check_in_words
from bench.words.reader import Reader

READER = Reader(Words("en"))
CALIPER = (38.2, 41.6, 45.1)


def check(photo: tuple[float, float, float], sense: str = "clockwise") -> Check:
    return checked(CALIPER, "clockwise", photo, sense)  # type: ignore[arg-type]


SAID = {
    "agree": (check((38.3, 41.6, 45.0)), "no side differs by more than 0.1"),
    "uneven": (check((38.2, 42.5, 45.1)), "AC differs by 0.9"),
    "one side": (check((38.2, 41.6, 47.4)), "BC differs by 2.3"),
    "longer": (check((47.75, 52.0, 56.4)), "1.25 times"),
    "shorter": (check((30.56, 33.28, 36.08)), "only 0.80 times"),
    "typed": (check((41.6, 38.2, 45.1)), "AB and AC change places"),
    "named": (check((41.6, 38.2, 45.1), "anticlockwise"), "the marks turn the other way"),
    "ring": (check((41.6, 45.1, 38.2)), "AB, AC and BC change places in a ring"),
    "mirrored": (check(CALIPER, "anticlockwise"), "go round the other way than recorded"),
    "one mark": (check((34.2, 37.6, 45.0)), "BC fits, but both distances of A do not"),
    "other": (check((29.0, 30.5, 49.0)), "another triangle"),
}


@pytest.mark.parametrize("name", SAID)
def test_every_verdict_says_what_was_found_and_what_to_do(name: str) -> None:
    found, part = SAID[name]

    words = check_in_words(found, READER)

    assert part in words.said
    assert words.do.endswith(".")
    assert words.mark in ("done", "warns", "stopped")


def test_every_verdict_has_its_mark_and_short_words() -> None:
    assert set(MARKS) == set(get_args(Verdict))
    assert all(READER.words.has(f"photochecks.{verdict}_short") for verdict in MARKS)
