"""What the audit takes from a case's entries. People and casts are invented."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.audit.calipers import caliper_spread
from bench.core.audit.gauges import cells_of, pairs_of, pooled
from bench.core.audit.samples import samples_of
from bench.core.entries import Remounted, Withdrawn
from tests.core.bench_story import TRIPOD, Story, a_ready_cast, an_undercut

LEVEL = Remounted("scored_lines", 0.3, 0.0, 0.3, 1.0, surveyor="S1")
OFF = Remounted("scored_lines", 3.0, 0.0, 3.0, 1.0, surveyor="S1")


def remounts(story: Story):
    return samples_of(story.case).remounts


def test_a_reading_inside_tolerance_is_a_round_of_its_own():
    story = a_ready_cast()
    first, second = story.say(LEVEL), story.say(LEVEL)

    assert [(first.id, first.id, True, True), (second.id, second.id, True, True)] == [
        (one.entry, one.round, one.first, one.last) for one in remounts(story)
    ]


def test_a_reading_after_correction_belongs_to_the_round_that_was_outside():
    story = a_ready_cast()
    before, after = story.say(OFF), story.say(LEVEL)

    assert [(before.id, True, False), (before.id, False, True)] == [
        (one.round, one.first, one.last) for one in remounts(story)
    ]
    assert after.id == remounts(story)[1].entry


@pytest.mark.parametrize(
    "other", [{"person": "BB"}, {"body": replace(LEVEL, surveyor="S2")}], ids=["person", "surveyor"]
)
def test_another_person_or_surveyor_begins_a_round(other):
    story = a_ready_cast()
    story.say(OFF)
    story.say(**{"body": LEVEL, **other})

    assert [True, True] == [one.first for one in remounts(story)]


def test_a_re_mount_taken_back_is_no_sample():
    story = a_ready_cast()
    wrong = story.say(OFF)
    story.say(Withdrawn(wrong.id), reason="wrong cast")

    assert () == remounts(story)


def test_a_re_mount_names_what_it_was_held_to_and_on_what():
    story = a_ready_cast()
    entry = story.say(LEVEL, setting=story.here)
    (one,) = remounts(story)

    assert (entry.id, entry.at, entry.person, "S1", "scored_lines", entry.setting) == (
        one.entry, one.at, one.technician, one.surveyor, one.method, one.record,
    )  # fmt: skip


def test_readings_that_disagree_count_as_read_when_one_was_put_aside():
    story = a_ready_cast()
    first = story.last(type(an_undercut(35, "MB")))
    second = story.hear(replace(first.body, contact="lip_short"), person="BB")
    story.correct(second, contact="both")

    found = samples_of(story.case).gauges
    (cell,) = cells_of(pairs_of(found))
    assert {first.id, second.id} == {one.entry for one in found}
    assert (1, 0) == (cell.pairs, cell.raw.agreeing)
    assert ((first.id, second.id),) == cell.entries


def test_a_reading_taken_back_was_not_read():
    story = a_ready_cast()
    first = story.last(type(an_undercut(35, "MB")))
    again = story.hear(first.body, person="BB")
    story.say(Withdrawn(again.id), reason="another tooth", person="BB")

    assert () == samples_of(story.case).gauges


def test_one_person_reading_twice_is_held_against_themself():
    story = a_ready_cast()
    first = story.last(type(an_undercut(35, "MB")))
    story.hear(replace(first.body, contact="none"), person=first.person)

    pairs = pairs_of(samples_of(story.case).gauges)
    assert [(first.person, first.person)] == list(pairs)
    assert (1, 0) == (pooled(pairs, own=True).pairs, pooled(pairs, own=False).pairs)


def test_caliper_distances_read_again_are_repeats_and_new_marks_are_not():
    story = a_ready_cast()
    story.hear(replace(TRIPOD, d_ab_mm=40.3), person="BB")
    story.hear(replace(TRIPOD, d_ab_mm=30.0), person="BB")

    spread = caliper_spread(samples_of(story.case).calipers)

    # Dahlberg over three sides: sqrt((0.3² / 2) / 3), worked by hand.
    assert (1, 2, 3) == (spread.triangles, spread.readings, spread.df)
    assert spread.sd_mm == pytest.approx(0.12247449)


@given(st.permutations(range(4)))
def test_samples_do_not_depend_on_the_order_of_arrival(order):
    story = a_ready_cast()
    for body in (OFF, LEVEL, LEVEL):
        story.say(body)
    first = samples_of(story.case)
    tail = story.entries[-4:]
    story.entries[-4:] = [tail[i] for i in order]

    assert first == samples_of(story.case)
