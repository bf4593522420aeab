"""Rule S6: no two entries disagree, and none speaks of a tooth that is not on the cast."""

from __future__ import annotations

from dataclasses import replace

from bench.core.entries import (
    ClaspWished,
    GuidePlaneRead,
    SettingTaken,
    SurveyLinesDrawn,
    TeethRecorded,
    TipChosen,
    UndercutRead,
)
from tests.core.bench_story import Story, a_ready_cast, a_received_cast, an_undercut


def test_two_readings_of_one_site_that_differ_block() -> None:
    story = a_ready_cast()
    first = story.of(45, UndercutRead)
    second = story.hear(an_undercut(45, "MB", contact="none", drop_mm=None), person="CD")

    found = [one for one in story.verdict.judged if one.reason.rule == "S6"]

    assert ["disagree_undercut"] == [one.reason.problem for one in found]
    assert found[0].force == "blocks"
    assert dict(found[0].reason.params) == {"people": ("AM", "CD"), "site": "45MB"}
    assert (first.id, second.id) == found[0].reason.entries


def test_two_readings_of_one_site_that_agree_do_not_disagree() -> None:
    story = a_ready_cast()

    story.hear(story.of(45, UndercutRead).body)

    assert set() == story.keys


def test_one_site_of_two_lines_drawn_differently_is_named() -> None:
    story = a_ready_cast()
    story.hear(SurveyLinesDrawn(("44B", "33L"), False))

    sites = {one.reason.params["site"] for one in story.verdict.judged if one.reason.rule == "S6"}

    assert sites == {"44B", "33L"}


def test_a_setting_left_twice_blocks() -> None:
    story = a_ready_cast()
    before = story.here
    story.tilt(3.0, 2.0)

    story.hear(SettingTaken(5.0, 0.0, "T1", 0.5), setting=before)

    assert story.forces("S6") == {f"disagree_settings:settings|{before}": "blocks"}


def test_disagreement_at_a_setting_already_left_does_not_block() -> None:
    story = a_ready_cast()
    story.hear(replace(story.of(45, UndercutRead).body, contact="none"))

    story.tilt(3.0, 2.0)

    assert story.forces("S6") == {}


def a_cast_whose_tooth_is_missing_after_all() -> Story:
    story = a_ready_cast()
    teeth = story.last(TeethRecorded)
    gone = replace(teeth.body, missing=(*teeth.body.missing, 45))
    story.hear(gone, supersedes=(teeth.id,))
    return story


def test_what_is_said_of_a_tooth_found_missing_later_blocks_entry_by_entry() -> None:
    story = a_cast_whose_tooth_is_missing_after_all()

    named = {key.rsplit(":", 1)[1] for key in story.forces("S6")}

    kinds = {type(story.case.by_id[key].body) for key in named}
    assert {TipChosen, UndercutRead, ClaspWished, GuidePlaneRead, SurveyLinesDrawn} <= kinds
    assert set(story.forces("S6").values()) == {"blocks"}


def test_a_tip_on_a_tooth_found_missing_later_holds_nothing() -> None:
    story = a_cast_whose_tooth_is_missing_after_all()

    assert story.survey.tips == story.survey.counted_tips
    assert [35] == [tip.tooth for tip in story.survey.retentive]
    assert story.forces("B1") == {"empty_side:|B": "blocks"}


def test_teeth_of_the_other_arch_block_and_are_left_out() -> None:
    story = a_received_cast()
    recorded = story.last(TeethRecorded)
    wrong = story.hear(TeethRecorded((16,)), supersedes=(recorded.id,))

    assert story.forces("S6") == {f"not_on_cast:{wrong.id}": "blocks"}
    assert story.case.teeth == TeethRecorded(())
