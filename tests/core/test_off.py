"""A re-mount that was only read: the figures follow in the fold, whatever the order of arrival."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations
from math import dist

import pytest

from bench.core.backagain import fourth_said
from bench.core.bounds import BadEntry
from bench.core.case import fold
from bench.core.entries import (
    Disturbed,
    FourthMarkMade,
    Mounted,
    Remounted,
    RemountRead,
    TripodMarked,
    Withdrawn,
)
from bench.core.fourthmark import fourth_place
from bench.core.off import triangle_of
from bench.core.release import grounds
from bench.words import Words
from bench.words.reader import Reader
from bench.words.trail import entry_in_words
from tests.core.bench_story import CODE, Story, a_ready_cast
from tests.facts.tripod_figures import REMOUNT_HEIGHTS_MM, REMOUNT_MARKS_MM, REMOUNT_OFF_DEG

READER = Reader(Words("en"))


def marked() -> TripodMarked:
    """The marks of the worked figures: A in front, B and C right and left of view."""
    a, b, c = REMOUNT_MARKS_MM
    return TripodMarked(dist(a, b), dist(a, c), dist(b, c), "clockwise", True, True, True, True)


def read(story: Story, heights: tuple[float, ...], **more: object) -> RemountRead:
    """What a tablet says of heights read on the tripod that counts."""
    tripod = story.survey.tripod
    assert tripod is not None
    made = RemountRead("tripod", str(story.here), 1.0, tripod.entry.id, None, *heights)
    return replace(made, **more)  # type: ignore[arg-type]


@pytest.fixture
def story() -> Story:
    told = a_ready_cast()
    told.say(marked(), supersedes=(told.last(TripodMarked).id,))
    return told


def figures(story: Story) -> tuple[float, float, float]:
    said = story.case.latest(Remounted)
    assert said is not None
    return said.body.ap_deg, said.body.lat_deg, said.body.total_deg


def test_heights_read_on_a_tablet_tell_the_tilt_worked_out_elsewhere(story: Story) -> None:
    story.say(read(story, REMOUNT_HEIGHTS_MM))

    assert REMOUNT_OFF_DEG == pytest.approx(figures(story), abs=1e-4)


def test_a_re_mount_read_inside_the_tolerance_answers_the_disturbances_it_names(
    story: Story,
) -> None:
    first, second = story.say(Disturbed("arm_moved")), story.say(Disturbed("lead_broke"))

    said = story.say(read(story, (0, 0.1, 0), answers=(second.id,)))

    assert [first.id] == [one.entry.id for one in story.case.disturbances]
    assert said.id in grounds(story.case)


def test_a_re_mount_read_outside_the_tolerance_answers_nothing(story: Story) -> None:
    fell = story.say(Disturbed("arm_moved"))

    said = story.say(read(story, REMOUNT_HEIGHTS_MM, answers=(fell.id,)))

    assert [fell.id] == [one.entry.id for one in story.case.disturbances]
    assert said.id not in grounds(story.case)


def test_a_re_mount_to_another_setting_answers_nothing_of_this_one(story: Story) -> None:
    fell, zero = story.say(Disturbed("arm_moved")), story.last(Mounted)

    story.say(read(story, (0, 0, 0), brings_back=zero.id, answers=(fell.id,)))

    assert [fell.id] == [one.entry.id for one in story.case.disturbances]


def test_taking_back_a_re_mount_that_was_read_unsettles_the_disturbance(story: Story) -> None:
    fell = story.say(Disturbed("arm_moved"))
    said = story.say(read(story, (0, 0, 0), answers=(fell.id,)))

    story.say(Withdrawn(said.id), reason="other cast")

    assert [fell.id] == [one.entry.id for one in story.case.disturbances]
    assert () == story.case.said(Remounted)


def test_an_inclinometer_is_held_against_the_setting_named() -> None:
    told = a_ready_cast()
    setting = told.case.now
    assert setting is not None
    assert setting.tilt is not None
    front, side = setting.tilt.ap_deg, setting.tilt.lat_deg

    told.say(RemountRead("inclinometer", setting.id, 1.0, ap_deg=front + 0.5, lat_deg=side))

    assert (0.5, 0.0) == pytest.approx(figures(told)[:2])
    assert 0.5 == pytest.approx(figures(told)[2], abs=0.01)


def test_scored_lines_tell_the_tilt_off_by_themselves(story: Story) -> None:
    # Small angles add like the sides of a right triangle: 3, 4, 5 (geometry, no source).
    story.say(RemountRead("scored_lines", str(story.here), 1.0, ap_deg=0.3, lat_deg=-0.4))

    assert (0.3, -0.4, 0.5) == pytest.approx(figures(story), abs=0.001)


def test_a_fourth_mark_takes_part_in_the_figures(story: Story) -> None:
    tripod = story.survey.tripod
    assert tripod is not None
    places = triangle_of(tripod.body).marks_mm
    place = (places[0][0] + 5.0, places[0][1] - 20.0)
    story.say(FourthMarkMade(tripod.entry.id, *(dist(place, mark) for mark in places)))
    fourth = fourth_said(story.survey)
    assert fourth is not None

    story.say(read(story, (0.4, 0.4, 0.4), h_d_mm=0.4, fourth=fourth.entry.id))

    assert place == pytest.approx(fourth_place(triangle_of(tripod.body), fourth.body))
    assert (0, 0, 0) == pytest.approx(figures(story), abs=1e-4)


def test_figures_come_once_the_marks_do_in_whatever_order_things_arrive() -> None:
    told = Story()
    zero = told.hear(Mounted())
    tripod = told.hear(marked(), setting=zero.id)
    fell = told.hear(Disturbed("arm_moved"), setting=zero.id)
    said = told.hear(
        RemountRead("tripod", zero.id, 1.0, tripod.id, None, 0, 0, 0, answers=(fell.id,)),
        setting=zero.id,
    )

    assert {0} == {len(fold(CODE, order).disturbances) for order in permutations(told.entries)}
    without = fold(CODE, [one for one in told.entries if one is not tripod])
    assert () == without.said(Remounted)
    assert 1 == len(without.disturbances)
    assert "not here yet" in entry_in_words(said, without, READER)
    assert "0.0° off in all" in entry_in_words(said, told.case, READER)


@pytest.mark.parametrize(
    ("changes", "field", "code"),
    [
        ({"tripod": "0195a1b2-c3d4-7e5f-8a6b-7c8d9e0f1a2b"}, "tripod", "no_such_entry"),
        ({"brings_back": "0195a1b2-c3d4-7e5f-8a6b-7c8d9e0f1a2b"}, "brings_back", "no_such_entry"),
        ({"answers": ("0195a1b2-c3d4-7e5f-8a6b-7c8d9e0f1a2b",)}, "settles", "no_such_entry"),
        ({"tolerance_deg": 3.0}, "tolerance_deg", "out_of_range"),
        ({"h_c_mm": 50.0}, "h_c_mm", "tells_nothing"),
    ],
)
def test_at_the_bench_what_was_read_must_belong_to_the_case_and_tell_something(
    story: Story, changes: dict[str, object], field: str, code: str
) -> None:
    with pytest.raises(BadEntry) as refused:
        story.say(read(story, (0, 0, 0), **changes))

    assert (field, code) == (refused.value.field, refused.value.code)


@pytest.mark.parametrize(
    ("made", "field", "code"),
    [
        ({"h_b_mm": None}, "h_b_mm", "missing"),
        ({"tripod": None}, "tripod", "missing"),
        ({"h_d_mm": 0.1}, "fourth", "missing"),
        ({"method": "scored_lines"}, "ap_deg", "missing"),
        ({"h_a_mm": 51.0}, "h_a_mm", "out_of_range"),
    ],
)
def test_the_way_chosen_says_what_has_to_be_read(
    story: Story, made: dict[str, object], field: str, code: str
) -> None:
    with pytest.raises(BadEntry) as refused:
        read(story, (0, 0, 0), **made)

    assert (field, code) == (refused.value.field, refused.value.code)
