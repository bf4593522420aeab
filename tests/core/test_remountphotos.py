"""Two photos of tripod marks, compared mark by mark: the same cast, one mark elsewhere, or another cast."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, dist, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.arch import Vector
from bench.core.casephotos import Measured
from bench.core.entries import PhotoKept, PhotoMarksConfirmed, TripodMarked
from bench.core.remountphotos import LETTERS, recognise, remount_photos
from bench.core.tripod import turning_sense
from tests.core.bench_story import Story, a_ready_cast
from tests.core.test_casephotos import confirmed

MARKS: tuple[Vector, ...] = ((0.0, 0.0), (44.0, 3.0), (20.0, 36.0))


def measured(marks: Sequence[Vector]) -> Measured:
    a, b, c = marks
    return Measured(
        tuple(marks), (dist(a, b), dist(a, c), dist(b, c)), turning_sense(a, b, c), 300.0, 2.0, True,
        False,
    )  # fmt: skip


def turned(marks: Sequence[Vector], deg: float, by: Vector = (0.0, 0.0)) -> list[Vector]:
    t = radians(deg)
    return [(x * cos(t) - y * sin(t) + by[0], x * sin(t) + y * cos(t) + by[1]) for x, y in marks]


@given(st.floats(-180, 180), st.floats(-50, 50), st.floats(-50, 50))
def test_a_cast_turned_and_moved_before_the_camera_is_the_same_cast(
    deg: float, x: float, y: float
) -> None:
    found = recognise(measured(MARKS), measured(turned(MARKS, deg, (x, y))))

    assert found.finding == "same"
    assert max(found.by_mm) < 1e-9


@pytest.mark.parametrize("k", [0, 1, 2])
@pytest.mark.parametrize("by", [(4.0, 0.0), (0.0, 4.0), (-2.5, 3.0)])
def test_a_mark_that_alone_lies_elsewhere_is_named_with_its_millimetres(k: int, by: Vector) -> None:
    moved = [(x + by[0], y + by[1]) if n == k else (x, y) for n, (x, y) in enumerate(MARKS)]

    found = recognise(measured(MARKS), measured(turned(moved, 70.0, (5.0, 9.0))))

    assert (found.finding, found.odd) == ("elsewhere", LETTERS[k])
    # The frame is the middle of the other two, which stayed.
    assert found.odd_mm == pytest.approx(dist(by, (0.0, 0.0)))


def test_exchanged_letters_are_named() -> None:
    a, b, c = MARKS

    found = recognise(measured(MARKS), measured((c, b, a)))

    assert (found.finding, found.letters) == ("letters", ("A", "C"))


def test_letters_passed_on_in_a_ring_are_all_named() -> None:
    a, b, c = MARKS

    found = recognise(measured(MARKS), measured((b, c, a)))

    assert (found.finding, found.letters) == ("letters", LETTERS)


def test_marks_that_go_round_the_other_way_are_mirrored() -> None:
    found = recognise(measured(MARKS), measured([(-x, y) for x, y in MARKS]))

    assert found.finding == "mirrored"


@pytest.mark.parametrize(("scale", "finding"), [(1.05, "longer"), (0.95, "shorter")])
def test_a_triangle_of_another_scale_speaks_of_the_labels_height(
    scale: float, finding: str
) -> None:
    found = recognise(measured(MARKS), measured([(scale * x, scale * y) for x, y in MARKS]))

    assert found.finding == finding


def test_a_triangle_that_fits_nowhere_is_another_cast() -> None:
    found = recognise(measured(MARKS), measured(((0.0, 0.0), (30.0, 0.0), (5.0, 26.0))))

    assert found.finding == "other"


SHAS = ("a" * 64, "b" * 64, "c" * 64)


@pytest.fixture
def story() -> Story:
    return a_ready_cast()


def photographed(story: Story, sha: str) -> None:
    about = story.last(TripodMarked).id
    story.say(PhotoKept(sha, "image/jpeg", 1200, 900, "tripod", about))


def confirm(story: Story, sha: str, **changed: object) -> None:
    body = confirmed(story.last(TripodMarked).id, sha256=sha, **changed)
    assert isinstance(body, PhotoMarksConfirmed)
    story.say(body)


def found_in(story: Story):  # type: ignore[no-untyped-def]
    return remount_photos(story.case, {story.last(TripodMarked).id})


def of(*photos: object) -> list[str | None]:
    return [getattr(one, "sha", None) for one in photos]


def test_the_first_photo_with_confirmed_marks_is_the_record_and_the_newest_is_held_against_it(
    story: Story,
) -> None:
    for sha in SHAS[1:]:
        photographed(story, sha)
        confirm(story, sha)

    found = found_in(story)

    assert [SHAS[1], SHAS[2]] == of(found.record, found.later)
    assert found.recognised is not None
    assert found.recognised.finding == "same"


def test_while_the_newest_is_not_confirmed_nothing_is_said(story: Story) -> None:
    photographed(story, SHAS[1])
    confirm(story, SHAS[1])
    photographed(story, SHAS[2])

    found = found_in(story)

    assert [SHAS[1], SHAS[2]] == of(found.record, found.later)
    assert found.recognised is None


def test_without_confirmed_marks_the_newest_photo_is_shown_as_it_is(story: Story) -> None:
    photographed(story, SHAS[2])

    found = found_in(story)

    assert [SHAS[2], None] == of(found.record, found.later)


def test_photos_of_other_marks_are_left_out(story: Story) -> None:
    found = remount_photos(story.case, frozenset())

    assert (None, None, None) == (found.record, found.later, found.recognised)


def test_marks_confirmed_elsewhere_are_found_elsewhere(story: Story) -> None:
    photographed(story, SHAS[1])
    confirm(story, SHAS[1])
    photographed(story, SHAS[2])
    marks = confirmed(story.last(TripodMarked).id).marks_px
    confirm(story, SHAS[2], marks_px=(marks[0] + 40.0, *marks[1:]))

    found = found_in(story).recognised

    assert found is not None
    assert (found.finding, found.odd) == ("elsewhere", "A")
    assert found.odd_mm == pytest.approx(4.0)
