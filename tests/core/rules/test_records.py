"""Rules R: what must be recorded before release, and where a figure is at its border."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bench.core.entries import (
    DisinfectionRecorded,
    GuidePlaneRead,
    InstrumentChecked,
    InterferenceNoted,
    InterferencesLooked,
    PhotoKept,
    PrescriptionRecorded,
    SurveyLinesDrawn,
    TeethRecorded,
    TipChosen,
    TripodMarked,
    UndercutRead,
    Withdrawn,
)
from bench.core.rules.records import tripod_photos
from tests.core.bench_story import (
    PLANS,
    TRIPOD,
    Story,
    a_ready_cast,
    a_tilted_cast,
    a_tip,
    an_undercut,
)


def without(kind: type, kennedy: str = "I") -> Story:
    """A cast that was ready until every entry of a kind was taken back."""
    story = a_ready_cast(kennedy)
    for entry in [one for one in story.case.standing if isinstance(one.body, kind)]:
        story.say(Withdrawn(entry.id), reason="to be done again")
    return story


@pytest.mark.parametrize(
    ("kind", "problem"),
    [(PrescriptionRecorded, "no_prescription:"), (DisinfectionRecorded, "no_disinfection:")],
)
def test_prescription_and_disinfection_must_be_answered(kind: type, problem: str) -> None:
    story = without(kind)

    assert story.forces("R1") == {problem: "blocks"}
    assert story.state == "surveying"


def test_a_cast_of_unknown_disinfection_counts_as_answered() -> None:
    story = without(DisinfectionRecorded)

    story.say(DisinfectionRecorded("unknown"))

    assert set() == story.keys


# The surfaces of the four plans that face a space to be replaced: common practice, no source.
@pytest.mark.parametrize(
    ("kennedy", "facing"),
    [
        ("I", {"45D", "35D"}),
        ("II", {"45D"}),
        ("III", {"47M", "44D"}),
        ("IV", {"43M", "33M"}),
    ],
)
def test_each_surface_facing_a_space_to_be_replaced_wants_a_guide_plane_reading(
    kennedy: str, facing: set[str]
) -> None:
    story = without(GuidePlaneRead, kennedy)

    assert {f"not_read:{site}": "blocks" for site in facing} == story.forces("R2")


def test_a_space_not_to_be_replaced_wants_no_reading() -> None:
    story = a_ready_cast("III")
    teeth = story.last(TeethRecorded)

    story.correct(teeth, replaced=())

    assert story.survey.plane_sites == ()


@pytest.mark.parametrize("kennedy", PLANS)
def test_each_planned_tip_wants_an_undercut_reading(kennedy: str) -> None:
    story = without(UndercutRead, kennedy)

    assert {f"not_read:{site}": "blocks" for site in PLANS[kennedy].tips} == story.forces("R3")


def test_a_chosen_tip_takes_the_place_of_the_wished_one() -> None:
    story = a_tilted_cast()

    story.say(a_tip(45, "DB"))

    assert {"45DB", "35MB"} == {site.text for site in story.survey.undercut_sites}


def test_a_wish_on_a_tooth_to_be_extracted_wants_no_reading() -> None:
    story = a_tilted_cast()
    teeth = story.last(TeethRecorded)

    story.correct(teeth, extractions=(45,), replaced=(*teeth.body.replaced, 45))

    assert [site.text for site in story.survey.undercut_sites] == ["35MB"]


# Posterior teeth, teeth next to a space and planned abutments: common practice, no source.
@pytest.mark.parametrize(
    ("kennedy", "teeth"),
    [
        ("I", {45, 44, 43, 33, 34, 35}),
        ("II", {45, 44, 34, 35, 36, 37}),
        ("III", {47, 44, 34, 35, 36, 37}),
        ("IV", {47, 46, 45, 44, 43, 33, 34, 35, 36, 37}),
    ],
)
def test_each_required_tooth_wants_survey_lines(kennedy: str, teeth: set[int]) -> None:
    story = without(SurveyLinesDrawn, kennedy)

    assert {f"not_drawn:{tooth}": "blocks" for tooth in teeth} == story.forces("R4")


def test_a_tooth_with_a_chosen_tip_is_an_abutment_though_nobody_wished_it() -> None:
    story = a_ready_cast("II")
    story.say(an_undercut(33, "B"))

    story.say(a_tip(33, "B"))

    assert story.forces("R4") == {"not_drawn:33": "blocks"}


def test_the_side_of_a_tooth_still_to_be_drawn_is_named() -> None:
    story = without(SurveyLinesDrawn)
    sites = [site.text for site in story.survey.line_sites if site.text != "44L"]

    story.say(SurveyLinesDrawn(tuple(sites), True))

    assert story.forces("R4") == {"not_drawn:44": "blocks"}
    assert dict(story.reason("R4:not_drawn:44").params) == {"tooth": 44, "sites": ("44L",)}


def test_the_whole_arch_is_wanted_where_the_lab_says_so() -> None:
    story = a_ready_cast().policy("whole_arch_lines", "on")

    front = {f"not_drawn:{tooth}": "blocks" for tooth in (42, 41, 31, 32)}
    assert front == story.forces("R4")


def test_a_line_drawn_with_the_lead_too_high_blocks_on_a_required_tooth() -> None:
    story = a_ready_cast()
    drawn = story.last(SurveyLinesDrawn)

    story.correct(drawn, lead_at_gingival=False)

    assert {f"lead_too_high:{site}" for site in drawn.body.sites} == set(story.forces("R4"))


def test_a_line_drawn_too_high_on_a_tooth_nobody_needs_does_not_block() -> None:
    story = a_ready_cast()

    story.say(SurveyLinesDrawn(("41B",), False))

    assert set() == story.keys


def test_three_marks_must_be_recorded() -> None:
    assert without(TripodMarked).forces("R5") == {"not_marked:": "blocks"}


@pytest.mark.parametrize("name", ["one_tip_height", "arm_locked", "table_locked", "ringed"])
def test_each_thing_declared_of_the_marks_must_hold(name: str) -> None:
    story = a_ready_cast()

    again = story.correct(story.last(TripodMarked), **{name: False})
    story.say(PhotoKept("b" * 64, "image/jpeg", 1200, 900, "tripod", again.id))

    assert story.forces("R5") == {f"not_{name}:{again.id}": "blocks"}


def test_the_marks_must_be_photographed() -> None:
    story = without(PhotoKept)

    assert story.forces("R5") == {f"no_photo:{story.last(TripodMarked).id}": "blocks"}


@pytest.mark.parametrize("shows", ["site", "cast"])
def test_a_photo_of_something_else_does_not_show_the_marks(shows: str) -> None:
    story = without(PhotoKept)
    marked = story.last(TripodMarked)

    story.say(PhotoKept("b" * 64, "image/jpeg", 1200, 900, shows, marked.id))

    assert story.forces("R5") == {f"no_photo:{marked.id}": "blocks"}


def test_a_photo_of_marks_since_made_anew_does_not_count() -> None:
    story = without(TripodMarked)

    anew = story.say(TRIPOD)

    assert story.forces("R5") == {f"no_photo:{anew.id}": "blocks"}


def test_distances_measured_again_keep_the_photo_of_the_marks() -> None:
    story = a_ready_cast()
    photo = story.last(PhotoKept).body

    story.correct(story.last(TripodMarked), d_ab_mm=41.0)

    assert story.forces("R5") == {}
    assert tripod_photos(story.survey) == (photo,)


def test_distances_measured_a_third_time_keep_the_photo_too() -> None:
    story = a_ready_cast()
    first = story.last(TripodMarked)
    second = story.correct(first, d_ab_mm=41.0)

    story.hear(replace(TRIPOD, d_ab_mm=40.5), supersedes=(first.id, second.id))

    assert story.forces("R5") == {}


def test_photos_of_marks_and_of_their_correction_count_together() -> None:
    story = a_ready_cast()
    again = story.correct(story.last(TripodMarked), d_ab_mm=41.0)

    story.say(PhotoKept("b" * 64, "image/jpeg", 1200, 900, "tripod", again.id))

    assert [photo.sha256[0] for photo in tripod_photos(story.survey)] == ["a", "b"]


def test_a_photo_taken_back_does_not_count_for_corrected_marks() -> None:
    story = without(PhotoKept)

    again = story.correct(story.last(TripodMarked), d_ab_mm=41.0)

    assert story.forces("R5") == {f"no_photo:{again.id}": "blocks"}


def test_marks_that_replace_each_other_in_a_ring_count_as_none() -> None:
    story = a_ready_cast()
    first = story.last(TripodMarked)
    second = story.correct(first, d_ab_mm=41.0)
    story.entries = [
        replace(e, supersedes=(second.id,)) if e.id == first.id else e for e in story.entries
    ]

    assert tripod_photos(story.survey) == ()
    assert {"not_marked:": "blocks"} == story.forces("R5")


def marked(**changes: float) -> Story:
    story = a_tilted_cast()
    story.say(replace(TRIPOD, **changes))
    return story


def of_these_marks(story: Story, found: dict[str, str]) -> dict[str, str]:
    """What is found, said of the tripod that counts."""
    return {f"{problem}:{story.last(TripodMarked).id}": force for problem, force in found.items()}


# SD of an equilateral triangle's tilt: reading SD times sqrt(2) / side (least squares).
@pytest.mark.parametrize(("side_mm", "found"), [(32.5, {}), (32.3, {"weak": "warns"})])
def test_marks_too_near_each_other_warn(side_mm: float, found: dict[str, str]) -> None:
    story = marked(d_ab_mm=side_mm, d_ac_mm=side_mm, d_bc_mm=side_mm)

    assert of_these_marks(story, found) == story.forces("R6")


def test_a_lab_that_reads_finer_may_mark_nearer() -> None:
    story = marked(d_ab_mm=20.0, d_ac_mm=20.0, d_bc_mm=20.0)
    before = story.forces("R6")

    story.policy("reading_sd_mm", "0.1")

    assert of_these_marks(story, {"weak": "warns"}) == before
    assert story.forces("R6") == {}


@pytest.mark.parametrize(("least_mm", "found"), [("24.0", {}), ("24.1", {"thin": "warns"})])
def test_a_triangle_as_high_as_the_labs_least_is_high_enough(
    least_mm: str, found: dict[str, str]
) -> None:
    # sides 30, 40, 50: right-angled, 30 * 40 / 50 = 24 mm high
    story = marked(d_ab_mm=30.0, d_ac_mm=40.0, d_bc_mm=50.0)

    story.policy("tripod_least_altitude_mm", least_mm).policy("tripod_sd_limit_deg", "5")

    assert of_these_marks(story, found) == story.forces("R6")


def test_interferences_must_have_been_looked_for() -> None:
    story = without(InterferencesLooked)
    before = story.forces("R7")

    story.say(InterferenceNoted("palate", "torus"))

    assert before == {"not_looked:": "blocks"}
    assert story.forces("R7") == {}


def test_a_gauge_without_a_name_warns_and_counts_its_readings() -> None:
    story = a_tilted_cast()
    story.say(an_undercut(44, "B", gauge=""))

    assert story.forces("R8") == {"unnamed:": "warns"}
    assert story.reason("R8:unnamed:").params["count"] == 1


def test_a_gauge_the_lab_does_not_know_warns() -> None:
    story = a_tilted_cast()
    story.say(an_undercut(44, "B", gauge="G99"))

    assert story.forces("R8") == {"unknown:G99": "warns"}


def test_a_gauge_that_failed_its_last_check_warns_for_later_readings() -> None:
    story = a_ready_cast()
    story.say(InstrumentChecked("G50", False, 0.55, 0.5))
    before = story.forces("R8")

    story.say(an_undercut(44, "B"))

    assert before == {}
    assert story.forces("R8") == {"failed:G50": "warns"}


def read_days_after_the_check(days: float) -> Story:
    story = a_tilted_cast()
    checked = next(e for e in story.lab_entries if isinstance(e.body, InstrumentChecked))
    read = story.last(UndercutRead)
    at = checked.at.replace("2026-01-05T", f"2026-04-{days:02.0f}T")
    story.entries = [replace(e, at=at) if e.id == read.id else e for e in story.entries]
    story.lab_entries = tuple(
        replace(e, at=checked.at) if isinstance(e.body, InstrumentChecked) else e
        for e in story.lab_entries
    )
    return story


# 5 January plus 90 days is 5 April.
@pytest.mark.parametrize(("april", "found"), [(5, {}), (6, {"overdue:G50": "warns"})])
def test_a_gauge_is_overdue_the_moment_its_interval_is_over(
    april: int, found: dict[str, str]
) -> None:
    assert found == read_days_after_the_check(april).forces("R8")


def test_a_longer_interval_of_the_lab_takes_the_warning_back() -> None:
    story = read_days_after_the_check(6).policy("gauge_check_days", "91")

    assert story.forces("R8") == {}


def test_a_gauge_checked_only_after_it_was_used_was_never_checked() -> None:
    story = a_tilted_cast()
    first = story.entries[0].at
    day_before = first.replace("2026-01-05", "2026-01-04")
    story.entries = [
        replace(e, at=day_before) if isinstance(e.body, UndercutRead) else e for e in story.entries
    ]

    assert story.forces("R8") == {"never_checked:G50": "warns"}


@pytest.mark.parametrize("kind", [TipChosen, TripodMarked])
def test_nothing_is_asked_of_what_was_taken_back(kind: type) -> None:
    story = without(kind)

    assert story.forces("S2") == {}
