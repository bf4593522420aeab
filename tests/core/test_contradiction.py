"""Where entries disagree, and what settles it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bench.core.entries import (
    CaseOpened,
    Confirmed,
    InterferenceNoted,
    InterferencesLooked,
    Mounted,
    PrescriptionRecorded,
    SettingMadeFinal,
    SettingTaken,
    TripodMarked,
    UndercutRead,
    Withdrawn,
)
from tests.core.bench_story import CODE, Story, a_ready_cast, a_received_cast, an_undercut


def disagreeing() -> Story:
    """Two tablets read 45 MB differently at one setting."""
    story = a_ready_cast()
    story.hear(an_undercut(45, "MB", contact="none", drop_mm=None), device="tablet-2", person="CD")
    return story


def parties(story: Story) -> list[set[str]]:
    return [{entry.id for entry in found.entries} for found in story.case.contradictions]


def test_a_third_entry_that_supersedes_both_settles_it() -> None:
    story = disagreeing()

    story.say(an_undercut(45, "MB", drop_mm=1.3), supersedes=tuple(parties(story)[0]))

    assert parties(story) == []
    assert set() == story.keys


def test_taking_one_back_settles_it() -> None:
    story = disagreeing()

    story.say(Withdrawn(story.of(45, UndercutRead).id), reason="misread")

    assert parties(story) == []


def test_superseding_only_one_of_the_two_settles_nothing() -> None:
    story = disagreeing()
    first, second = sorted(parties(story)[0])

    third = story.hear(an_undercut(45, "MB", drop_mm=1.3), supersedes=(second,))

    assert parties(story) == [{first, third.id}]


def test_undoing_a_withdrawal_brings_the_disagreement_back() -> None:
    story = disagreeing()
    before = parties(story)
    taken_back = story.say(Withdrawn(story.of(45, UndercutRead).id), reason="misread")

    story.say(Withdrawn(taken_back.id), reason="it was right")

    assert before == parties(story)


def test_two_corrections_of_one_entry_that_differ_disagree() -> None:
    story = a_ready_cast()
    first = story.of(45, UndercutRead)
    made = [
        story.hear(replace(first.body, drop_mm=drop_mm), supersedes=(first.id,), device=device)
        for drop_mm, device in ((1.1, "tablet-1"), (1.9, "tablet-2"))
    ]

    assert [{one.id for one in made}] == parties(story)
    assert first.id in story.case.aside


def test_two_corrections_of_one_entry_that_agree_do_not_disagree() -> None:
    story = a_ready_cast()
    first = story.of(45, UndercutRead)
    for device in ("tablet-1", "tablet-2"):
        story.hear(replace(first.body, drop_mm=1.1), supersedes=(first.id,), device=device)

    assert parties(story) == []


def test_readings_at_different_settings_do_not_disagree() -> None:
    story = a_ready_cast()
    at_zero = next(e for e in story.entries if isinstance(e.body, UndercutRead))

    assert at_zero.body != story.of(45, UndercutRead).body
    assert parties(story) == []


def test_a_finding_confirmed_beside_another_reading_disagrees_with_it() -> None:
    story = a_ready_cast()
    old = story.of(45, UndercutRead)
    story.tilt(3.0, 2.0)
    new = story.say(an_undercut(45, "MB", drop_mm=0.9))

    story.hear(Confirmed(old.id))

    assert parties(story) == [{old.id, new.id}]


def test_none_seen_and_something_noted_disagree() -> None:
    story = a_ready_cast()
    looked = story.last(InterferencesLooked)

    noted = story.hear(InterferenceNoted("right_lingual", "torus"))

    assert parties(story) == [{looked.id, noted.id}]
    assert [("interferences",)] == [found.claim for found in story.case.contradictions]


def test_two_things_noted_in_different_places_do_not_disagree() -> None:
    story = a_ready_cast()
    story.say(Withdrawn(story.last(InterferencesLooked).id), reason="to be done again")
    story.say(InterferenceNoted("right_lingual", "torus"))

    story.say(InterferenceNoted("left_lingual", "torus"))

    assert parties(story) == []


@pytest.mark.parametrize(
    ("body", "claim"),
    [
        (PrescriptionRecorded("RX-2", "2026-01-03"), "prescription"),
        (CaseOpened(CODE, "26-0009", "lower", "master"), "case"),
    ],
)
def test_what_is_said_of_the_whole_case_disagrees_at_any_setting(body: object, claim: str) -> None:
    story = a_ready_cast()

    story.hear(body)  # type: ignore[arg-type]

    assert [(claim, None)] == [
        (found.claim[0], found.setting) for found in story.case.contradictions
    ]


def test_two_mountings_disagree() -> None:
    story = a_received_cast()
    made = {story.hear(Mounted(name), setting=None).id for name in ("S1", "S2")}

    assert parties(story) == [made]
    assert story.case.contradictions[0].key == "settings|"


def forked() -> tuple[Story, str, str]:
    """One setting left twice, by two tablets."""
    story = a_ready_cast()
    before = story.here
    one = story.hear(SettingTaken(4.0, 1.0, "T1", 0.5), setting=before, device="tablet-1")
    two = story.hear(SettingTaken(6.0, 1.0, "T1", 0.5), setting=before, device="tablet-2")
    return story, one.id, two.id


def test_a_setting_left_twice_is_one_disagreement() -> None:
    story, one, two = forked()

    assert parties(story) == [{one, two}]
    assert two == story.here


@pytest.mark.parametrize("kept", [0, 1])
def test_taking_either_back_leaves_the_other_as_the_present_setting(kept: int) -> None:
    story, *taken = forked()

    story.say(Withdrawn(taken[1 - kept]), reason="table is at the other")

    assert parties(story) == []
    assert taken[kept] == story.here


def test_a_setting_taken_in_the_place_of_both_is_the_present_one() -> None:
    story, *taken = forked()

    third = story.say(SettingTaken(5.0, 1.0, "T1", 0.5), supersedes=tuple(taken))
    story.say(SettingMadeFinal())

    assert parties(story) == []
    assert third.id == story.here
    assert story.forces("S1") == {}


def test_names_of_contradictions_are_stable() -> None:
    story = disagreeing()

    assert [f"undercut|45|MB|{story.here}"] == [found.key for found in story.case.contradictions]


def test_two_tripods_at_one_setting_disagree() -> None:
    story = a_ready_cast()
    marked = story.last(TripodMarked)

    other = story.hear(replace(marked.body, d_ab_mm=41.0))

    assert parties(story) == [{marked.id, other.id}]
