"""The lab's policy: defaults, changes as entries, values refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.bounds import BadEntry
from bench.core.entries import InstrumentAdded
from bench.core.policy import (
    NUMBERS,
    ONE_OF,
    RULES,
    SWITCHES,
    TEXTS,
    Policy,
    changed,
    items,
    policy_from,
)
from bench.pictures.label import CODE_SIZES_MM
from tests.core.bench_story import Story

RULE_CODES = {
    *("S1", "S2", "S3", "S4", "S5", "S6"),
    *("R1", "R2", "R3", "R4", "R5", "R6", "R7", "R8", "R9"),
    *("B1", "B3", "B4", "B5", "B6"),
}


def test_every_rule_has_a_default_force() -> None:
    assert set(RULES) == RULE_CODES


def test_records_and_balance_block_while_cautions_warn() -> None:
    warning = {rule for rule in RULES if not Policy().blocks(rule)}

    assert warning == {"S3", "S4", "R6", "R8", "B3", "B4", "B5", "B6"}


@pytest.mark.parametrize("name", NUMBERS)
def test_every_number_lies_in_its_own_range_and_carries_its_unit(name: str) -> None:
    number = NUMBERS[name]

    assert number.low <= number.default <= number.high
    assert name.endswith(f"_{number.unit}")


# 0.25 mm for Co-Cr and 0.50 mm for wrought wire: removable prosthodontics textbooks (Carr & Brown,
# McCracken's Removable Partial Prosthodontics). Ten and fifteen degrees: common practice, no source.
@pytest.mark.parametrize(
    ("name", "default"),
    [
        ("depth_co_cr_mm", 0.25),
        ("depth_wrought_wire_mm", 0.5),
        ("tilt_warns_deg", 10.0),
        ("tilt_asks_reason_deg", 15.0),
    ],
)
def test_taught_figures_are_the_defaults(name: str, default: float) -> None:
    assert default == Policy().number(name)


@pytest.mark.parametrize("name", NUMBERS)
def test_a_number_may_be_set_to_either_end_of_its_range(name: str) -> None:
    number = NUMBERS[name]

    ends = [changed(Policy(), name, str(end)).number(name) for end in (number.low, number.high)]

    assert [number.low, number.high] == ends


@pytest.mark.parametrize(
    ("item", "value", "field", "code"),
    [
        ("B2", "blocks", "item", "no_such_item"),
        ("B1", "asks", "value", "not_a_choice"),
        ("tilt_warns_deg", "0.9", "value", "out_of_range"),
        ("tilt_warns_deg", "30.1", "value", "out_of_range"),
        ("tilt_warns_deg", "nan", "value", "out_of_range"),
        ("tilt_warns_deg", "inf", "value", "out_of_range"),
        ("tilt_warns_deg", "ten", "value", "not_a_number"),
        ("whole_arch_lines", "yes", "value", "not_a_choice"),
        ("gauges_mm", "", "value", "one_to_six_gauges"),
        ("gauges_mm", "0.1 0.2 0.3 0.4 0.5 0.6 0.7", "value", "one_to_six_gauges"),
        ("gauges_mm", "0.25 x", "value", "not_a_number"),
        ("gauges_mm", "0.25 2", "value", "out_of_range"),
        ("gauges_mm", "nan", "value", "out_of_range"),
        ("case_number_pattern", "", "value", "no_pattern"),
        ("case_number_pattern", "[0-9", "value", "no_pattern"),
        ("case_number_pattern", "([0-9]+)+", "value", "no_pattern"),
        ("case_number_pattern", "a{99999999999999999999}", "value", "no_pattern"),
        ("case_number_pattern", "9" * 81, "value", "no_pattern"),
        ("label_mm", "22", "value", "not_a_choice"),
        ("label_mm", "40", "value", "out_of_range"),
        ("mark_colour", "red", "value", "bad_colour"),
        ("mark_colour", "#12345", "value", "bad_colour"),
        ("mark_colour", "#2060b0", "value", "colours_alike"),
        ("ring_colour", "#c23030", "value", "colours_alike"),
    ],
)
def test_what_no_policy_can_hold_is_refused(item: str, value: str, field: str, code: str) -> None:
    with pytest.raises(BadEntry) as caught:
        changed(Policy(), item, value)

    assert (field, code) == (caught.value.field, caught.value.code)


def test_gauges_are_kept_in_order_and_once() -> None:
    policy = changed(Policy(), "gauges_mm", "0.75, 0.25 0.5, 0.50")

    assert policy.texts["gauges_mm"] == "0.25 0.50 0.75"
    assert policy.gauges_mm == (0.25, 0.5, 0.75)


def test_two_pencils_that_differ_are_kept_in_lower_case() -> None:
    policy = changed(changed(Policy(), "ring_colour", "#117A33"), "mark_colour", "#1D5FB4")

    assert (policy.texts["mark_colour"], policy.texts["ring_colour"]) == ("#1d5fb4", "#117a33")


@pytest.mark.parametrize("side_mm", ONE_OF["label_mm"])
def test_labels_are_drawn_in_each_size_the_policy_knows(side_mm: float) -> None:
    assert side_mm in CODE_SIZES_MM
    assert changed(Policy(), "label_mm", f"{side_mm:g}").number("label_mm") == side_mm


@pytest.mark.parametrize(
    ("number", "fits"),
    [("26-0001", True), ("26-0001A", True), ("26-001", False), ("x26-0001", False), ("", False)],
)
def test_a_case_number_fits_the_labs_pattern_as_a_whole(number: str, fits: bool) -> None:
    assert fits == Policy().fits_number_pattern(number)


def test_a_change_leaves_the_policy_before_it_as_it_was() -> None:
    before = Policy()

    after = changed(changed(before, "B1", "warns"), "whole_arch_lines", "on")

    assert before == Policy()
    assert not after.blocks("B1")
    assert after.switches == {**before.switches, "whole_arch_lines": True}


def test_the_last_change_of_an_item_holds_whatever_the_order_of_entries() -> None:
    story = Story().policy("keep_years", "12").policy("keep_years", "15").policy("B1", "warns")

    policy = policy_from(reversed(story.lab_entries))

    assert policy.number("keep_years") == 15
    assert not policy.blocks("B1")


def test_what_this_version_cannot_read_of_a_policy_is_left_out() -> None:
    story = Story(lab=()).policy("moon_phase", "full").policy("keep_years", "many")
    story.say(InstrumentAdded("T9", "table"))

    assert Policy() == policy_from(story.lab_entries)


def test_every_item_is_listed_once() -> None:
    assert set(items()) == {*RULES, *NUMBERS, *SWITCHES, *TEXTS}
    assert len(items()) == len(set(items()))


def taken(item: str, value: str) -> Policy | str:
    try:
        return changed(Policy(), item, value)
    except BadEntry as bad:
        return bad.field


@given(st.sampled_from(items()), st.text(max_size=60))
def test_any_text_is_taken_or_refused_with_its_field(item: str, value: str) -> None:
    outcome = taken(item, value)

    assert outcome == "value" or isinstance(outcome, Policy)
