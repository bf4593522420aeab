"""Which stale findings may be confirmed at another setting, and which must be made anew."""

from __future__ import annotations

import pytest

from bench.core.accept import may_be_confirmed
from bench.core.bounds import BadEntry
from bench.core.entries import (
    FINDINGS,
    Body,
    Confirmed,
    Entry,
    SettingMadeFinal,
    SettingTaken,
    TripodMarked,
)
from tests.core.bench_story import TRIPOD, Story, a_ready_cast, a_tilted_cast

NO_SCALE = SettingTaken(None, None)


def at(ap_deg: float, lat_deg: float = 0.0) -> SettingTaken:
    return SettingTaken(ap_deg, lat_deg, "T1", 0.5)


def marked_at(tilt: Body) -> Story:
    """A cast whose tripod was marked at a tilt, and is the only thing marked there."""
    story = a_tilted_cast()
    story.say(tilt)
    story.say(SettingMadeFinal())
    story.say(TRIPOD)
    return story


def turned_to(story: Story, tilt: Body) -> Entry:
    """Take another setting, and return the tripod marked before."""
    story.say(tilt)
    return story.last(TripodMarked)


def confirmed(story: Story, tripod: Entry) -> str:
    """Say what became of confirming a tripod: what it was refused for, or that it holds."""
    try:
        story.say(Confirmed(tripod.id))
    except BadEntry as refused:
        return f"{refused.field} {refused.code}"
    return "holds" if story.survey.tripod and story.survey.tripod.current else "stale"


BORDER = [
    (at(4.0), at(5.0), "1", True),
    (at(4.0), at(3.0), "1", True),
    (at(0.0), at(0.0, -1.0), "1", True),
    (at(4.0), at(4.0), "1", True),
    (at(4.0), at(5.01), "1", False),
    (at(4.0), at(2.99), "1", False),
    (at(0.0), at(0.0, -1.01), "1", False),
    (at(0.0), at(0.71, 0.71), "1", False),
    (at(4.0), at(4.5), "0.5", True),
    (at(4.0), at(4.51), "0.5", False),
    (at(4.0), at(6.0), "2", True),
    (at(4.0), at(6.01), "2", False),
]


@pytest.mark.parametrize(("before", "after", "tolerance_deg", "same"), BORDER)
def test_marks_hold_at_a_tilt_within_the_labs_tolerance_of_theirs(
    before: SettingTaken, after: SettingTaken, tolerance_deg: str, same: bool
) -> None:
    story = marked_at(before).policy("remount_tolerance_deg", tolerance_deg)
    tripod = turned_to(story, after)
    offered = may_be_confirmed(tripod, story.case, story.lab)

    said = confirmed(story, tripod)

    assert same == offered
    assert ("holds" if same else "finding marks_of_another_tilt") == said


@pytest.mark.parametrize(
    ("before", "after"), [(NO_SCALE, at(9.0)), (at(9.0), NO_SCALE), (NO_SCALE, NO_SCALE)]
)
def test_a_table_without_a_scale_leaves_it_to_the_bench(before: Body, after: Body) -> None:
    story = marked_at(before)

    assert confirmed(story, turned_to(story, after)) == "holds"


def test_small_steps_do_not_carry_marks_to_another_tilt() -> None:
    story = marked_at(at(4.0))
    tripod = turned_to(story, at(4.8))
    first = confirmed(story, tripod)

    story.say(at(5.6))

    assert first == "holds"
    assert confirmed(story, tripod) == "finding marks_of_another_tilt"


def test_marks_hold_again_where_the_cast_is_turned_back_to_their_tilt() -> None:
    story = marked_at(at(4.0))
    tripod = turned_to(story, at(9.0))
    away = confirmed(story, tripod)

    story.say(at(4.0))

    assert away == "finding marks_of_another_tilt"
    assert confirmed(story, tripod) == "holds"


def test_marks_of_another_tilt_are_made_anew() -> None:
    story = marked_at(at(4.0))
    stale = turned_to(story, at(9.0))

    anew = story.say(TRIPOD)

    assert story.survey.tripod is not None
    assert (anew.id, True) == (story.survey.tripod.entry.id, story.survey.tripod.current)
    assert f"stale_tripod_marked:{stale.id}" not in story.forces("S2")


def test_every_other_finding_may_be_confirmed_at_any_tilt() -> None:
    story = a_ready_cast()
    story.tilt(11.0, 0.0)

    found = [e for e in story.case.standing if isinstance(e.body, FINDINGS)]

    tripods = [e for e in found if not may_be_confirmed(e, story.case, story.lab)]
    assert [story.last(TripodMarked)] == tripods
    assert len(found) > 8


def test_a_ready_cast_turned_too_far_is_ready_again_only_with_new_marks() -> None:
    story = a_ready_cast()
    story.tilt(3.0, 2.5)
    marks = story.last(TripodMarked)
    for key in sorted(story.forces("S2")):
        if not key.endswith(marks.id):
            story.say(Confirmed(key.rsplit(":", 1)[1]))
    before = story.keys

    anew = story.say(TRIPOD)

    assert before == {f"S2:stale_tripod_marked:{marks.id}"}
    assert story.keys == {f"R5:no_photo:{anew.id}"}
