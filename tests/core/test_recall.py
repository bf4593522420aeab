"""What recalls a release, what leaves it standing, and how a recalled case goes on."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from bench.core.entries import (
    Body,
    ClaspWished,
    Confirmed,
    Disturbed,
    Entry,
    GuidePlaneWished,
    PhotoKept,
    RecallTaken,
    Remounted,
    SettingTaken,
    TripodMarked,
    UndercutRead,
    Withdrawn,
)
from tests.core.bench_story import Story, a_ready_cast, an_undercut, correcting, withdrawing

READ_AT_ZERO = next(e for e in a_ready_cast().entries if isinstance(e.body, UndercutRead))


def released() -> Story:
    story = a_ready_cast()
    story.release()
    return story


@pytest.mark.parametrize(
    "happens",
    [
        lambda story: story.say(SettingTaken(3.0, 2.0, "T1", 0.5)),
        withdrawing(UndercutRead),
        withdrawing(PhotoKept),
        correcting(UndercutRead, drop_mm=1.0),
        lambda story: story.say(ClaspWished(34, "B", "bar", "co_cr", 0.25)),
        lambda story: story.say(GuidePlaneWished(34, "M")),
        lambda story: story.say(Disturbed("cast_dropped")),
        lambda story: story.hear(an_undercut(45, "MB", contact="none", drop_mm=None)),
    ],
    ids=["setting", "reading", "photo", "correction", "clasp", "plane", "disturbance", "dispute"],
)
def test_a_release_is_recalled_when_its_ground_changes(
    happens: Callable[[Story], object],
) -> None:
    story = released()

    happens(story)

    assert story.state == "recalled"


@pytest.mark.parametrize(
    "body",
    [
        Remounted("inclinometer", 0.1, 0.0, 0.1, 1.0),
        Remounted("inclinometer", 3.0, 0.0, 3.0, 1.0),
        PhotoKept("c" * 64, "image/jpeg", 10, 10, "cast"),
    ],
)
def test_putting_the_cast_back_weeks_later_recalls_nothing(body: Body) -> None:
    story = released()

    story.say(body)

    assert story.state == "released"


def another_photo(story: Story) -> Entry:
    marked = story.last(TripodMarked)
    return story.say(PhotoKept("d" * 64, "image/jpeg", 10, 10, "tripod", marked.id))


def test_a_further_photo_of_the_marks_recalls_nothing() -> None:
    story = released()
    another = another_photo(story)
    before = story.state

    story.say(Withdrawn(another.id), reason="blurred")

    assert (before, story.state) == ("released", "released")


def test_a_further_photo_does_not_stand_for_the_one_that_was_released_on() -> None:
    story = released()
    first = story.last(PhotoKept)
    another_photo(story)

    story.say(Withdrawn(first.id), reason="blurred")

    assert story.state == "recalled"


def test_confirming_once_more_what_holds_already_recalls_nothing() -> None:
    story = released()

    story.say(Confirmed(story.of(45, UndercutRead).id))

    assert story.state == "released"


def test_confirming_once_more_what_was_confirmed_here_recalls_nothing() -> None:
    story = a_ready_cast()
    story.tilt(3.0, 1.5)
    stale = sorted(key.rsplit(":", 1)[1] for key in story.forces("S2"))
    for key in stale:
        story.say(Confirmed(key))
    story.release()

    story.say(Confirmed(stale[0]))

    assert story.state == "released"


def test_confirming_an_earlier_reading_against_a_later_one_recalls_the_release() -> None:
    story = released()

    story.hear(Confirmed(READ_AT_ZERO.id))

    assert "S6" in {one.reason.rule for one in story.verdict.blocking}
    assert story.state == "recalled"


def test_taking_back_the_remount_that_settled_a_disturbance_recalls_the_release() -> None:
    story = a_ready_cast()
    fell = story.say(Disturbed("table_moved"))
    again = story.say(Remounted("inclinometer", 0.1, 0.0, 0.1, 1.0, settles=(fell.id,)))
    story.release()

    story.say(Withdrawn(again.id), reason="other cast")

    assert story.state == "recalled"


def test_taking_back_what_recalled_a_release_lets_it_stand() -> None:
    story = released()
    taken = story.say(SettingTaken(3.0, 2.0, "T1", 0.5))

    story.say(Withdrawn(taken.id), reason="table was never moved")

    assert story.state == "released"


def test_a_recalled_case_goes_back_to_the_bench_and_out_again() -> None:
    story = released()
    first = story.entries[-1]
    story.correct(story.last(UndercutRead), drop_mm=1.0)
    story.say(RecallTaken(first.id), person="SV")
    back = story.state

    story.release()

    assert (back, story.state) == ("ready", "released")


def test_a_recall_for_a_new_setting_goes_back_to_surveying() -> None:
    story = released()
    first = story.entries[-1]
    story.say(SettingTaken(3.0, 2.0, "T1", 0.5))

    story.say(RecallTaken(first.id), person="SV")

    assert story.state == "surveying"


def test_two_tablets_may_release_one_case_and_one_is_taken_back() -> None:
    story = released()
    twin = story.hear(story.entries[-1].body)

    story.say(RecallTaken(twin.id), person="SV")

    assert story.state == "released"
