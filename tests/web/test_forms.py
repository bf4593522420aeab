from __future__ import annotations

from typing import get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st
from werkzeug.datastructures import MultiDict

from bench.core.entries import (
    BODIES,
    ClaspWished,
    GuidePlaneRead,
    InstrumentAdded,
    PersonAdded,
    PhotoKept,
    SettingMadeFinal,
    SettingTaken,
    SurveyLinesDrawn,
    TeethRecorded,
    TripodMarked,
    UndercutRead,
)
from bench.web.forms import FormRefused, read_body

UNDERCUT = {"tooth": "34", "surface": "MB", "gauge_mm": "0.25", "contact": "both"}


def refusal(body_class, form):
    with pytest.raises(FormRefused) as refused:
        read_body(body_class, MultiDict(form))
    return {field: code for field, (code, _) in refused.value.errors.items()}


@pytest.mark.parametrize("text", ["0.25", "0,25", " 0.25 ", ".25", "+0,250"])
def test_a_number_takes_comma_or_point(text):
    body = read_body(UndercutRead, MultiDict({**UNDERCUT, "gauge_mm": text}))

    assert body == UndercutRead(34, "MB", 0.25, "both")


# Common practice, no source: gauges of 0.010, 0.020 and 0.030 in are sold as 0.25, 0.50 and 0.75 mm.
@pytest.mark.parametrize(("inches", "mm"), [("0.010", 0.25), ("0,02", 0.5), (".030", 0.75)])
def test_a_gauge_given_in_inches_is_kept_as_its_pair_in_mm(inches, mm):
    form = {**UNDERCUT, "gauge_in": inches}
    del form["gauge_mm"]

    assert mm == read_body(UndercutRead, MultiDict(form)).gauge_mm


# The inch is 25.4 mm exactly: international yard and pound agreement of 1959.
def test_other_lengths_given_in_inches_are_converted():
    body = read_body(UndercutRead, MultiDict({**UNDERCUT, "drop_in": "0.1"}))

    assert body.drop_mm == 2.54


def test_a_gauge_of_no_pair_is_converted():
    form = {"tag": "G1", "sort": "gauge", "size_in": "0.015"}

    assert read_body(InstrumentAdded, MultiDict(form)).size_mm == 0.381


def test_a_blank_or_absent_optional_field_is_none():
    form = {"tooth": "34", "surface": "M", "light": "none", "gap_mm": "", "height_mm": "  "}

    assert read_body(GuidePlaneRead, MultiDict(form)) == GuidePlaneRead(34, "M", "none")


def test_a_repeated_field_makes_a_tuple():
    form = MultiDict([("missing", "36"), ("missing", "37"), ("missing", ""), ("replaced", "36")])

    assert read_body(TeethRecorded, form) == TeethRecorded((36, 37), (36,))


def test_an_absent_list_is_empty():
    assert read_body(TeethRecorded, MultiDict()) == TeethRecorded(())


def test_a_checkbox_left_out_is_false_and_a_ticked_one_true():
    sites = [("sites", "34B"), ("sites", "34L")]

    assert not read_body(SurveyLinesDrawn, MultiDict(sites)).lead_at_gingival
    assert read_body(
        SurveyLinesDrawn, MultiDict([*sites, ("lead_at_gingival", "on")])
    ).lead_at_gingival


def test_a_body_that_says_true_by_itself_needs_no_checkbox():
    assert read_body(SettingMadeFinal, MultiDict()) == SettingMadeFinal(True)
    assert refusal(SettingMadeFinal, {"locked": "off"}) == {"locked": "not_a_choice"}


def test_lines_typed_into_a_remark_end_as_the_log_keeps_them():
    form = {"tag": "T1", "sort": "table", "remark": "first\r\nsecond"}

    assert read_body(InstrumentAdded, MultiDict(form)).remark == "first\nsecond"


def test_a_minus_sign_as_printed_is_a_minus():
    form = {"ap_deg": "\u22122,5", "lat_deg": "-1", "resolution_deg": "0.5"}

    assert read_body(SettingTaken, MultiDict(form)) == SettingTaken(-2.5, -1.0, "", 0.5)


def test_every_field_at_fault_is_named_at_once():
    form = {"tooth": "3x", "surface": "Q", "gauge_mm": "much", "contact": ""}

    expected = {"tooth": "not_whole", "surface": "not_a_choice", "gauge_mm": "not_a_number"}
    assert expected | {"contact": "missing"} == refusal(UndercutRead, form)


def test_faults_that_only_the_body_knows_are_named_at_once():
    form = {"tooth": "99", "surface": "MB", "gauge_mm": "9", "contact": "maybe"}

    expected = {"tooth": "no_such_tooth", "gauge_mm": "out_of_range", "contact": "not_a_choice"}
    assert expected == refusal(UndercutRead, form)


def test_faults_of_both_sorts_are_named_together():
    form = {"d_ab_mm": "x", "d_ac_mm": "500", "d_bc_mm": "0", "sense": "clockwise"}

    expected = {"d_ab_mm": "not_a_number", "d_ac_mm": "out_of_range", "d_bc_mm": "out_of_range"}
    assert expected == refusal(TripodMarked, form)


def test_no_fault_is_made_up_by_the_value_put_in_for_another():
    form = {"tooth": "34", "surface": "M", "light": "none", "gap_mm": "9", "height_mm": "3"}

    assert refusal(GuidePlaneRead, form) == {"gap_mm": "out_of_range"}


@pytest.mark.parametrize(
    "text", ["nan", "inf", "-inf", "1e3", "0x10", "1_0", "١٢", "--1", "1.2.3", "", " ", "1" * 40]
)
def test_a_number_is_written_in_figures_only(text):
    code = refusal(UndercutRead, {**UNDERCUT, "gauge_mm": text})["gauge_mm"]

    assert code == ("missing" if not text.strip() else "not_a_number")


@pytest.mark.parametrize("text", ["3.0", "1e1", "0x22", "٣٤", "34;", "9" * 30])
def test_a_tooth_is_written_as_a_whole_number_only(text):
    assert refusal(UndercutRead, {**UNDERCUT, "tooth": text}) == {"tooth": "not_whole"}


def test_a_role_is_one_of_those_there_are():
    assert refusal(PersonAdded, {"initials": "AB", "role": "owner"}) == {"role": "not_a_choice"}


def test_what_is_not_of_the_body_is_left_aside():
    body = read_body(PersonAdded, MultiDict({"initials": "AB", "role": "reader", "active": "off"}))

    assert body == PersonAdded("AB", "reader")


FIELDS = sorted({name for body in BODIES for name in get_type_hints(body)})
TEXTS = st.one_of(st.text(max_size=12), st.sampled_from(["34", "MB", "0,25", "on", "both", "34B"]))


@given(
    body_class=st.sampled_from(BODIES),
    pairs=st.lists(st.tuples(st.sampled_from(FIELDS), TEXTS), max_size=12),
)
def test_any_form_makes_a_body_or_a_refusal_of_its_fields(body_class, pairs):
    outcome = read_or_refuse(body_class, MultiDict(pairs))

    if isinstance(outcome, FormRefused):
        assert set(outcome.errors) <= set(get_type_hints(body_class))
    else:
        assert isinstance(outcome, body_class)


def read_or_refuse(body_class, form):
    try:
        return read_body(body_class, form)
    except FormRefused as refused:
        return refused


def test_a_wished_undercut_given_in_inches_is_kept_as_its_pair():
    form = {
        "tooth": "34",
        "surface": "MB",
        "clasp": "bar",
        "material": "co_cr",
        "wanted_in": "0.010",
    }

    assert read_body(ClaspWished, MultiDict(form)).wanted_mm == 0.25


def test_a_photo_names_the_entry_it_shows_only_when_one_is_named():
    form = {
        "sha256": "a" * 64, "media_type": "image/jpeg", "width_px": "10", "height_px": "10",
        "shows": "cast", "about": "",
    }  # fmt: skip

    assert read_body(PhotoKept, MultiDict(form)).about is None
