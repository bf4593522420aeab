"""A case seen with its laboratory: what must be covered and what counts."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bench.core.entries import (
    ClaspWished,
    Exempted,
    Mounted,
    RestWished,
    SettingMadeFinal,
    TeethRecorded,
    TipChosen,
    UndercutRead,
    Withdrawn,
)
from bench.core.surfaces import Site
from tests.core.bench_story import (
    PLANS,
    a_ready_cast,
    a_received_cast,
    a_tilted_cast,
    a_tip,
    an_undercut,
)


@pytest.mark.parametrize(
    ("kennedy", "line", "modifications"),
    [("I", (45, 35), 0), ("II", (45, 37), 0), ("III", None, 0), ("IV", (43, 33), None)],
)
def test_each_plan_has_its_class_and_fulcrum_line(
    kennedy: str, line: tuple[int, int] | None, modifications: int | None
) -> None:
    survey = a_received_cast(kennedy).survey

    found = survey.fulcrum.line
    assert (kennedy, modifications) == (survey.kennedy.kennedy_class, survey.kennedy.modifications)
    assert line == (found and (found.right_tooth, found.left_tooth))


def test_a_third_molar_with_a_clasp_is_an_abutment_and_ends_the_extension() -> None:
    story = a_received_cast("II")
    teeth = story.last(TeethRecorded)
    story.correct(teeth, missing=(46, 47, 38))

    before = story.survey.kennedy.kennedy_class
    story.say(ClaspWished(48, "MB", "ring", "co_cr", 0.25))

    assert (before, story.survey.kennedy.kennedy_class) == ("II", "III")


def test_a_tooth_to_be_extracted_is_a_space_though_it_still_stands() -> None:
    story = a_received_cast("III")
    teeth = story.last(TeethRecorded)

    story.correct(teeth, extractions=(47,), replaced=(*teeth.body.replaced, 47))

    assert story.survey.kennedy.kennedy_class == "II"
    assert 47 in story.case.present
    assert 47 not in story.survey.standing_teeth


def test_rests_are_named_once_each_and_only_on_the_cast() -> None:
    story = a_received_cast()
    story.say(RestWished(45, "distal"))
    story.hear(RestWished(46, "mesial"))

    assert story.survey.rests == PLANS["I"].rests


def test_tips_are_listed_from_the_patients_right_to_the_left() -> None:
    story = a_tilted_cast()
    for tooth in (35, 44, 33, 45):
        story.hear(a_tip(tooth, "B"))

    assert [counted.site.tooth for counted in story.survey.tips] == [45, 44, 33, 35]


def test_a_tip_counts_only_with_a_reading_at_the_present_setting() -> None:
    story = a_ready_cast()
    story.tilt(3.0, 2.0)
    tip = story.say(a_tip(45, "MB"))
    stale = story.survey.counted_tips

    story.say(an_undercut(45, "MB"))

    assert stale == ()
    assert [tip.id] == [counted.tip.entry.id for counted in story.survey.counted_tips]


def test_the_reading_at_zero_is_the_newest_made_there() -> None:
    story = a_received_cast()
    story.say(Mounted())
    first = story.say(an_undercut(45, "MB"))
    fixed = story.correct(first, contact="none")
    story.tilt(3.0, 0.0)
    story.say(an_undercut(45, "MB"))

    said = story.survey.undercut_at_zero(Site(45, "MB"))

    assert said is not None
    assert fixed.id == said.entry.id
    assert story.survey.undercut_at_zero(Site(45, "DB")) is None


def test_a_reading_under_a_mounting_taken_back_is_none_at_zero() -> None:
    story = a_received_cast()
    mounted = story.say(Mounted())
    story.say(an_undercut(45, "MB"))

    story.say(Withdrawn(mounted.id), reason="other cast")

    assert story.survey.undercut_at_zero(Site(45, "MB")) is None
    assert story.case.now is None


def test_lines_are_wanted_buccal_and_lingual() -> None:
    texts = [site.text for site in a_received_cast().survey.line_sites]

    assert ["45B", "45L", "44B", "44L"] == texts[:4]


def test_an_exemption_counts_only_at_the_setting_it_was_made_at() -> None:
    story = a_ready_cast()
    made = story.say(Exempted(("45D",)), person="SV", reason="long planes")
    here = story.survey.exemption

    story.tilt(4.0, 0.0)

    assert here is not None
    assert made.id == here.entry.id
    assert story.survey.exemption is None


def test_everything_is_found_by_its_site() -> None:
    survey = a_ready_cast().survey

    plane, undercut = survey.plane(Site(45, "D")), survey.undercut(Site(45, "MB"))

    assert plane is not None
    assert undercut is not None
    assert (plane.current, undercut.current) == (True, True)
    assert survey.plane(Site(44, "D")) is None


def test_a_cast_kept_at_zero_may_be_final() -> None:
    story = a_received_cast()
    story.say(Mounted())
    story.say(SettingMadeFinal())

    assert story.case.final is not None
    assert story.case.final.zero


def test_a_chosen_tip_whose_tooth_was_corrected_moves_with_its_correction() -> None:
    story = a_ready_cast()
    tip = story.of(45, TipChosen)

    story.say(replace(tip.body, surface="DB"), supersedes=(tip.id,))

    assert [counted.site.text for counted in story.survey.tips] == ["45DB", "35MB"]
    assert story.forces("R3") == {"not_read:45DB": "blocks"}
    assert len(story.case.readings(UndercutRead)) == 2
