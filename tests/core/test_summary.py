"""A case on one line."""

from __future__ import annotations

import pytest

from bench.core.bounds import BadEntry
from bench.core.case import fold
from bench.core.entries import (
    InterferencesLooked,
    Overruled,
    TeethRecorded,
    TipChosen,
    UndercutRead,
    Withdrawn,
)
from bench.core.summary import Summary, kennedy_text, summarise
from tests.core.bench_story import CODE, Story, a_ready_cast, a_received_cast, an_undercut


def line_of(story: Story) -> Summary:
    return summarise(story.case, story.lab)


def test_a_received_cast_on_one_line() -> None:
    story = a_received_cast()

    expected = Summary(
        code=CODE, number="26-0001", arch="lower", kennedy="I", state="received", step="mount",
        opened_at=story.entries[0].at, touched_at=story.entries[-1].at,
        blocking=("S1", "R2", "R3", "R4", "R5", "R7", "B1"), warning=(), stale=0, contradictions=0,
        overruled=0, teeth=(33, 35, 43, 45), people=("AM",),
    )  # fmt: skip
    assert expected == line_of(story)


def test_a_released_case_has_nothing_against_it() -> None:
    story = a_ready_cast()
    story.release()

    line = line_of(story)

    assert (line.state, line.step, line.blocking, line.warning) == ("released", "release", (), ())


def test_a_released_case_waits_at_its_release_whatever_the_lab_asks_since() -> None:
    story = a_ready_cast()
    story.release()

    story.policy("whole_arch_lines", "on")

    line = line_of(story)
    assert (line.state, line.step, line.blocking) == ("released", "release", ("R4",))


def test_a_recalled_case_waits_at_the_step_that_is_to_be_done_again() -> None:
    story = a_ready_cast()
    story.release()

    story.say(Withdrawn(story.last(InterferencesLooked).id), reason="other cast")

    assert (line_of(story).state, line_of(story).step) == ("recalled", "interferences")


def test_stale_findings_contradictions_and_people_are_counted() -> None:
    story = a_ready_cast()
    story.tilt(3.0, 2.0)
    story.say(an_undercut(45, "MB"))
    story.hear(an_undercut(45, "MB", drop_mm=0.2), person="CD")

    line = line_of(story)

    assert (line.stale, line.contradictions, line.people) == (8, 1, ("AM", "CD"))
    assert {"S2", "S6", "B1"} <= set(line.blocking)


def test_overrulings_are_counted() -> None:
    story = a_ready_cast()
    story.say(Withdrawn(story.last(TipChosen).id), reason="moved")
    story.say(Overruled("B1", ("B1:empty_side:B|",)), person="SV", reason="an obturator")

    assert (line_of(story).overruled, line_of(story).blocking) == (1, ())


def test_a_rule_is_named_once_however_often_it_speaks() -> None:
    story = a_ready_cast()
    for said in story.case.said(UndercutRead):
        story.say(Withdrawn(said.entry.id), reason="misread")

    assert line_of(story).blocking == ("R3", "B1")
    assert line_of(story).warning == ("S4",)


def test_the_class_is_written_with_its_modifications() -> None:
    story = a_received_cast("II")
    teeth = story.last(TeethRecorded)

    story.correct(teeth, missing=(*teeth.body.missing, 43), replaced=(*teeth.body.replaced, 43))

    assert kennedy_text(story.survey) == "II mod 1"


@pytest.mark.parametrize("kennedy", ["I", "II", "III", "IV"])
def test_a_class_without_modifications_is_written_bare(kennedy: str) -> None:
    assert kennedy == kennedy_text(a_received_cast(kennedy).survey)


def test_a_case_nobody_opened_has_no_line() -> None:
    with pytest.raises(BadEntry, match="not_opened"):
        summarise(fold(CODE, []), Story().lab)
