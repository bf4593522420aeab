"""A case as a fold: what stands and counts, whatever the order in which entries came."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.core.bounds import BadEntry
from bench.core.case import fold
from bench.core.entries import (
    Body,
    CaseOpened,
    Confirmed,
    Disturbed,
    Entry,
    GuidePlaneRead,
    InterferenceNoted,
    Mounted,
    RecallTaken,
    Released,
    SettingMadeFinal,
    SettingTaken,
    SurveyLinesDrawn,
    TeethRecorded,
    UndercutRead,
    Unknown,
    Withdrawn,
)
from bench.core.release import grounds, judge, state_of
from bench.core.steps import steps_of
from bench.core.summary import summarise
from bench.core.survey import Survey
from tests.core.bench_story import (
    CODE,
    Story,
    a_ready_cast,
    a_received_cast,
    a_tilted_cast,
    a_tip,
    an_undercut,
    lab_at_work,
)

LAB = Story().lab
surfaces = st.sampled_from(("MB", "DB", "L"))
teeth = st.sampled_from((44, 45, 35, 33))
heard: st.SearchStrategy[Body] = st.one_of(
    st.builds(an_undercut, teeth, surfaces, contact=st.sampled_from(("both", "none"))),
    st.builds(a_tip, teeth, surfaces),
    st.builds(GuidePlaneRead, teeth, st.just("D"), st.sampled_from(("none", "gingival"))),
    st.builds(SurveyLinesDrawn, st.sampled_from((("45B",), ("45B", "44L"))), st.booleans()),
    st.just(InterferenceNoted("right_lingual", "torus")),
    st.just(Disturbed("arm_moved")),
    st.builds(SettingTaken, st.sampled_from((2.0, 4.0)), st.just(0.0), st.just("T1"), st.just(0.5)),
    st.just(SettingMadeFinal()),
)


@st.composite
def stories(draw: st.DrawFn) -> Story:
    """A ready cast to which devices add anything at any setting, and take back anything."""
    story = a_ready_cast()
    for _ in range(draw(st.integers(0, 6))):
        seen = draw(st.sampled_from(story.entries))
        places = [e.id for e in story.entries if isinstance(e.body, (Mounted, SettingTaken))]
        body = draw(heard | st.sampled_from((Withdrawn(seen.id), Confirmed(seen.id))))
        where = draw(st.sampled_from(places))
        story.hear(body, setting=where, reason="a reason", device=draw(st.sampled_from("ab")))
    return story


def everything(entries: list[Entry]) -> tuple[object, ...]:
    case = fold(CODE, entries)
    if not case.said(CaseOpened):
        return case.standing, case.aside, case.now, case.contradictions
    survey = Survey(case, LAB)
    verdict = judge(survey)
    found = [(one.reason, one.force) for one in verdict.judged]
    steps = steps_of(survey, verdict)
    return found, steps, state_of(case, verdict), grounds(case), case.now, summarise(case, LAB)


@settings(max_examples=60, deadline=None)
@given(stories(), st.randoms(use_true_random=False))
def test_neither_order_nor_copies_of_entries_change_anything(
    story: Story, rnd: random.Random
) -> None:
    shuffled = [*story.entries, *rnd.sample(story.entries, 5)]
    rnd.shuffle(shuffled)

    assert everything(story.entries) == everything(shuffled)


def test_a_case_that_nobody_opened_says_so() -> None:
    case = fold(CODE, [])

    with pytest.raises(BadEntry) as caught:
        _ = case.arch

    assert (caught.value.field, caught.value.code) == ("case", "not_opened")


def test_teeth_stand_until_recorded_missing() -> None:
    story = Story()
    story.say(CaseOpened(CODE, "26-0001", "upper", "master"))
    before = len(story.case.present)

    story.say(TeethRecorded((16,), (16,), (17,)))

    assert before == 16
    assert 16 not in story.case.present
    assert 17 in story.case.present


def test_settings_count_from_the_mounting_at_zero() -> None:
    story = a_tilted_cast()
    story.tilt(4.0, 0.0, final=False)

    found = [(one.number, one.ap_deg, one.zero, one.final) for one in story.case.settings]

    assert [(0, 0.0, True, False), (1, 3.0, False, True), (2, 4.0, False, False)] == found
    assert story.case.final is None


def test_a_table_without_a_scale_has_no_angles() -> None:
    story = a_received_cast()
    story.say(Mounted())
    story.say(SettingTaken(None, None))

    assert story.case.now is not None
    assert (story.case.now.ap_deg, story.case.now.resolution_deg) == (None, None)


def test_the_present_setting_does_not_depend_on_a_clock_set_back() -> None:
    story = a_tilted_cast()
    older = replace(story.last(SettingTaken), id="00000000-0000-7000-8000-000000000001")
    story.entries.append(replace(older, setting=story.here, body=SettingTaken(5.0, 0, "T1", 0.5)))

    assert older.id == story.here


def test_a_setting_taken_back_does_not_bring_back_the_one_before_the_next() -> None:
    story = a_tilted_cast()
    middle = story.tilt(4.0, 0.0)
    last = story.tilt(5.0, 0.0)

    story.say(Withdrawn(middle.id), reason="never taken")

    assert last.id == story.here
    assert story.case.contradictions == ()


def test_settings_that_name_each_other_in_a_ring_end() -> None:
    story = a_tilted_cast()
    first, second = story.last(SettingTaken), story.tilt(4.0, 0.0)
    story.entries = [
        replace(e, setting=second.id) if e.id == first.id else e for e in story.entries
    ]

    assert story.case.now is None or story.case.now.id not in (first.id, second.id)


def test_what_counts_is_current_before_stale_and_new_before_old() -> None:
    story = a_ready_cast()
    first = story.of(45, UndercutRead)
    story.tilt(3.0, 2.0)
    second = story.say(an_undercut(45, "MB", drop_mm=1.0))
    story.tilt(3.0, 3.0)
    newest_stale = story.case.readings(UndercutRead)["undercut", 45, "MB"]
    story.say(Confirmed(first.id))

    counting = story.case.readings(UndercutRead)["undercut", 45, "MB"]

    assert (second.id, True) == (newest_stale.entry.id, newest_stale.stale)
    assert (first.id, True) == (counting.entry.id, counting.current)


def test_a_correction_names_the_finding_where_made_and_the_confirmation_where_confirmed() -> None:
    story = a_ready_cast()
    read = story.of(45, UndercutRead)
    made = story.case.readings(UndercutRead)["undercut", 45, "MB"]
    story.tilt(3.0, 2.0)
    again = story.say(Confirmed(read.id))

    confirmed = story.case.readings(UndercutRead)["undercut", 45, "MB"]

    assert (read.id,) == made.seen
    assert (again.id,) == confirmed.seen
    assert {read.setting, story.here} == confirmed.at_settings


def test_a_confirmation_taken_back_makes_the_finding_stale_again() -> None:
    story = a_ready_cast()
    read = story.of(45, UndercutRead)
    story.tilt(3.0, 2.0)
    again = story.say(Confirmed(read.id))

    story.say(Withdrawn(again.id), reason="not looked at")

    assert story.case.readings(UndercutRead)["undercut", 45, "MB"].stale


def test_a_correction_ends_what_confirmed_the_first() -> None:
    story = a_ready_cast()
    read = story.of(45, UndercutRead)
    story.tilt(3.0, 2.0)
    story.say(Confirmed(read.id))

    fixed = story.correct(read, drop_mm=1.1)

    counting = story.case.readings(UndercutRead)["undercut", 45, "MB"]
    assert (fixed.id, frozenset({story.here})) == (counting.entry.id, counting.at_settings)


def test_an_entry_of_an_unknown_kind_is_kept_and_changes_nothing() -> None:
    story = a_ready_cast()
    story.release()
    before = everything(story.entries)[:5]
    newer = replace(story.entries[-1], id=story.entries[-1].id[:-1] + "f", kind="shade_noted")

    story.entries.append(replace(newer, body=Unknown('{"shade":"dark"}'), supersedes=()))

    assert before == everything(story.entries)[:5]
    assert story.case.entries[-1].body == Unknown('{"shade":"dark"}')
    assert story.state == "released"


def test_a_release_taken_back_is_no_release() -> None:
    story = a_ready_cast()
    first = story.release()
    story.say(RecallTaken(first.id), person="SV")
    between = story.case.release
    second = story.release()

    assert between is None
    assert story.case.release is not None
    assert second.id == story.case.release.entry.id
    assert len(story.case.said(Released)) == 2


def test_the_lab_has_its_own_entries() -> None:
    assert all(entry.case is None for entry in lab_at_work())
