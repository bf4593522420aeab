"""Rules B: balanced retention, reciprocation, depth and arm, gauges, and the fulcrum line."""

from __future__ import annotations

import pytest

from bench.core.entries import (
    CaseOpened,
    ClaspWished,
    Exempted,
    GuidePlaneRead,
    IndirectRetainerWished,
    InstrumentAdded,
    InstrumentChecked,
    Mounted,
    RestWished,
    SettingMadeFinal,
    TeethRecorded,
    TipChosen,
    UndercutRead,
    Withdrawn,
)
from tests.core.bench_story import CODE, Story, a_ready_cast, a_tilted_cast, a_tip, an_undercut
from tests.facts.retention_cells import CELLS


def a_cast_with_tips(right: str, left: str) -> Story:
    """A cast at its final setting with one read and chosen tip for each letter on each side."""
    story = a_tilted_cast()
    for tooth, letters in ((45, right), (35, left)):
        for letter in letters:
            story.say(an_undercut(tooth, letter))
            story.say(a_tip(tooth, letter))
    return story


def tips_retaken(story: Story, **changes: object) -> Story:
    for entry in [one for one in story.case.standing if isinstance(one.body, TipChosen)]:
        story.correct(entry, **changes)
    return story


@pytest.mark.parametrize(("right", "left", "balanced"), CELLS)
def test_a_case_balances_as_its_cell_of_the_table(right: str, left: str, balanced: bool) -> None:
    found = a_cast_with_tips(right, left).forces("B1")

    assert balanced == (found == {})
    assert balanced or set(found.values()) == {"blocks"}


@pytest.mark.parametrize(
    ("right", "left", "problem", "params"),
    [
        ("", "", "no_tips", {"right": "", "left": ""}),
        ("B", "", "empty_side", {"right": "B", "left": "", "side": "left"}),
        ("", "BL", "empty_side", {"right": "", "left": "BL", "side": "right"}),
        ("L", "B", "no_shared_letter", {"right": "L", "left": "B"}),
    ],
)
def test_what_is_out_of_balance_is_said(
    right: str, left: str, problem: str, params: dict[str, str]
) -> None:
    reason = a_cast_with_tips(right, left).reason(f"B1:{problem}:{right}|{left}")

    assert params == dict(reason.params)


def test_chosen_tips_that_were_not_read_do_not_count() -> None:
    story = a_tilted_cast()
    chosen = story.hear(a_tip(45, "B")), story.hear(a_tip(35, "B"))

    reason = story.reason("B1:none_counts:|")

    assert {one.id for one in chosen} == set(reason.entries)


@pytest.mark.parametrize(
    ("contact", "counts"), [("both", 2), ("lip_short", 2), ("lip_first", 1), ("none", 1)]
)
def test_a_tip_counts_when_the_gauge_found_its_depth_or_more(contact: str, counts: int) -> None:
    story = a_ready_cast()

    story.correct(story.of(45, UndercutRead), contact=contact)

    assert counts == len(story.survey.counted_tips)


def test_a_tip_on_a_tooth_to_be_extracted_does_not_count() -> None:
    story = a_ready_cast()
    teeth = story.last(TeethRecorded)

    story.correct(teeth, extractions=(45,))

    assert [35] == [tip.tooth for tip in story.survey.retentive]


def an_exempted_cast(*sites: str) -> Story:
    story = a_cast_with_tips("B", "L")
    story.say(GuidePlaneRead(45, "D", "none"))
    story.say(GuidePlaneRead(35, "D", "none"))
    story.say(Exempted(sites), person="SV", reason="long parallel planes hold the path")
    return story


def test_named_guide_planes_read_at_the_setting_stand_for_balance() -> None:
    assert an_exempted_cast("45D", "35D").forces("B1") == {}


def test_a_guide_plane_that_was_not_read_stands_for_nothing() -> None:
    assert an_exempted_cast("45D", "44D").forces("B1") == {"no_shared_letter:B|L": "blocks"}


def test_an_exemption_ends_with_its_setting() -> None:
    story = an_exempted_cast("45D", "35D")

    story.tilt(3.0, 2.0)

    assert story.forces("B1") == {"none_counts:|": "blocks"}


def test_an_exemption_ends_when_a_plane_is_taken_back() -> None:
    story = an_exempted_cast("45D", "35D")

    story.say(Withdrawn(story.of(45, GuidePlaneRead).id), reason="wrong tooth")

    assert story.forces("B1") == {"no_shared_letter:B|L": "blocks"}


def test_each_tip_wants_reciprocation() -> None:
    story = tips_retaken(a_ready_cast(), reciprocation="none")

    assert story.forces("B3") == {
        "no_reciprocation:45MB": "warns",
        "no_reciprocation:35MB": "warns",
    }


@pytest.mark.parametrize("reciprocation", ["arm", "plate", "minor_connector"])
def test_arm_plate_or_minor_connector_reciprocates(reciprocation: str) -> None:
    assert tips_retaken(a_ready_cast(), reciprocation=reciprocation).forces("B3") == {}


def test_two_tips_on_one_tooth_are_two_retentive_arms() -> None:
    assert a_cast_with_tips("BL", "B").forces("B3") == {"two_arms:45": "warns"}


# Co-Cr 0.25 mm and wrought wire 0.50 mm: removable prosthodontics textbooks (Carr & Brown,
# McCracken's Removable Partial Prosthodontics). The other depths are the lab's own policy.
@pytest.mark.parametrize(
    ("material", "gauge_mm", "found"),
    [
        ("co_cr", 0.25, set()),
        ("co_cr", 0.254, set()),
        ("co_cr", 0.27, set()),
        ("co_cr", 0.28, {"too_deep"}),
        ("co_cr", 0.5, {"too_deep"}),
        ("co_cr", 0.22, {"too_shallow"}),
        ("wrought_wire", 0.5, set()),
        ("wrought_wire", 0.508, set()),
        ("wrought_wire", 0.25, {"too_shallow"}),
        ("wrought_wire", 0.75, {"too_deep"}),
        ("titanium", 0.5, set()),
        ("gold", 0.38, set()),
        ("polymer", 0.5, set()),
    ],
)
def test_the_depth_suits_the_material(material: str, gauge_mm: float, found: set[str]) -> None:
    story = a_tilted_cast()
    story.say(an_undercut(45, "MB", gauge_mm=gauge_mm))
    story.say(a_tip(45, "MB", material=material, arm_mm=None))

    assert {f"{problem}:45MB" for problem in found} == set(story.forces("B4"))


def test_the_depth_that_suits_is_the_labs_own() -> None:
    story = a_ready_cast().policy("depth_wrought_wire_mm", "0.75")

    assert set(story.forces("B4")) == {"too_shallow:45MB", "too_shallow:35MB"}


@pytest.mark.parametrize(
    ("contact", "problem"),
    [("lip_short", "deeper_than_gauge"), ("lip_first", "not_deep_enough")],
)
def test_where_the_gauge_did_not_just_touch_is_said(contact: str, problem: str) -> None:
    story = a_tilted_cast()
    story.say(an_undercut(45, "MB", contact=contact))
    story.say(a_tip(45, "MB"))

    assert story.forces("B4") == {f"{problem}:45MB": "warns"}


# Least lengths of clasp arms as taught (15 mm cast, 7 mm wire): value from memory.
@pytest.mark.parametrize(
    ("material", "arm_mm", "short"),
    [
        ("co_cr", 15.0, False),
        ("co_cr", 14.9, True),
        ("wrought_wire", 7.0, False),
        ("wrought_wire", 6.9, True),
        ("wrought_wire", None, False),
        ("gold", 5.0, False),
    ],
)
def test_an_arm_shorter_than_its_material_wants_warns(
    material: str, arm_mm: float | None, short: bool
) -> None:
    story = tips_retaken(a_ready_cast(), material=material, arm_mm=arm_mm)

    assert short == ("arm_short:45MB" in story.forces("B4"))


def the_gauges(right_mm: float, left_mm: float) -> dict[str, str]:
    story = a_tilted_cast()
    for tooth, gauge_mm in ((45, right_mm), (35, left_mm)):
        story.say(an_undercut(tooth, "MB", gauge_mm=gauge_mm))
        story.say(a_tip(tooth, "MB"))
    return story.forces("B5")


@pytest.mark.parametrize(
    ("right_mm", "left_mm", "alike"),
    [
        (0.5, 0.5, True),
        (0.5, 0.508, True),
        (0.5, 0.52, True),
        (0.5, 0.53, False),
        (0.25, 0.5, False),
    ],
)
def test_both_sides_use_the_same_gauge(right_mm: float, left_mm: float, alike: bool) -> None:
    found = the_gauges(right_mm, left_mm)

    key = f"sides_differ:{right_mm:.2f}|{left_mm:.2f}"
    assert ({} if alike else {key: "warns"}) == found


@pytest.mark.parametrize("kennedy", ["I", "II"])
def test_an_extension_wants_an_indirect_retainer(kennedy: str) -> None:
    story = a_ready_cast(kennedy)

    for entry in [e for e in story.entries if isinstance(e.body, IndirectRetainerWished)]:
        story.say(Withdrawn(entry.id), reason="not wished")

    assert story.forces("B6") == {"no_indirect_retainer:": "warns"}


@pytest.mark.parametrize("kennedy", ["III", "IV"])
def test_a_base_that_does_not_sink_wants_none(kennedy: str) -> None:
    story = a_ready_cast(kennedy)

    assert story.case.said(IndirectRetainerWished) == ()
    assert story.forces("B6") == {}


def test_rests_on_one_side_only_make_no_line() -> None:
    story = a_ready_cast()
    for entry in [e for e in story.entries if isinstance(e.body, RestWished) and e.body.tooth < 40]:
        story.say(Withdrawn(entry.id), reason="not wished")

    assert story.forces("B6") == {"no_rest_on_left:": "warns"}


def with_mesial_rests(near_mm: str) -> Story:
    """Class I with rests on the canines only: the tips on the second premolars lie behind them."""
    story = a_ready_cast().policy("near_fulcrum_mm", near_mm)
    for entry in [e for e in story.entries if isinstance(e.body, RestWished)]:
        if entry.body.tooth in (45, 35):
            story.say(Withdrawn(entry.id), reason="moved forward")
    return story


def test_a_tip_far_behind_the_line_warns() -> None:
    story = with_mesial_rests("5")

    assert story.forces("B6") == {"behind_line:45MB": "warns", "behind_line:35MB": "warns"}


def test_how_far_behind_is_too_far_is_the_labs_own() -> None:
    distance_mm = with_mesial_rests("5").reason("B6:behind_line:45MB").params["distance_mm"]

    assert isinstance(distance_mm, float)
    assert with_mesial_rests(f"{distance_mm + 0.1}").forces("B6") == {}
    assert with_mesial_rests(f"{distance_mm - 0.1}").forces("B6") != {}


def test_a_tip_in_front_of_the_axis_on_the_extension_side_wants_wire() -> None:
    story = a_ready_cast("II")

    story.correct(story.of(45, TipChosen), material="gold")
    story.correct(story.of(37, TipChosen), material="gold")

    assert story.forces("B6") == {"wants_wire:45MB": "warns"}


@pytest.mark.parametrize(
    ("rule", "key"),
    [("B3", "no_reciprocation:45MB"), ("B5", "sides_differ:0.25|0.50"), ("B4", "too_shallow:45MB")],
)
def test_a_lab_may_let_a_warning_block(rule: str, key: str) -> None:
    story = a_tilted_cast().policy(rule, "blocks")
    for tooth, gauge_mm in ((45, 0.25), (35, 0.5)):
        story.say(an_undercut(tooth, "MB", gauge_mm=gauge_mm))
        story.say(a_tip(tooth, "MB", reciprocation="none"))

    assert story.forces(rule)[key] == "blocks"


def test_an_upper_cast_is_judged_by_the_same_rules() -> None:
    story = Story()
    story.say(CaseOpened(CODE, "26-0002", "upper", "master"))
    story.say(TeethRecorded((16, 17, 18, 28), (16, 17)))
    story.say(ClaspWished(15, "MB", "circumferential", "wrought_wire", 0.5))
    story.say(Mounted())
    story.say(SettingMadeFinal())
    for tooth, surface in ((15, "MB"), (26, "L")):
        story.say(an_undercut(tooth, surface))
        story.say(a_tip(tooth, surface))

    assert story.survey.kennedy.kennedy_class == "II"
    assert story.forces("B1") == {"no_shared_letter:B|L": "blocks"}


def test_a_gauge_added_later_counts_from_its_first_check() -> None:
    story = a_tilted_cast()
    story.say(InstrumentAdded("G38", "gauge", 0.38))
    story.say(InstrumentChecked("G38", True))

    story.say(an_undercut(44, "B", gauge="G38", gauge_mm=0.38))

    assert story.forces("R8") == {}
