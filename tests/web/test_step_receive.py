from __future__ import annotations

import re

import pytest

from bench.core.entries import (
    CastReceived,
    ClaspWished,
    DisinfectionRecorded,
    GuidePlaneWished,
    IndirectRetainerWished,
    PrescriptionRecorded,
    RestWished,
    TeethRecorded,
)
from bench.web.speech import say
from tests.web.sentforms import shown
from tests.web.surveyedcases import opened, with_teeth


def words(bench, key, **params):
    with bench.app.test_request_context():
        return say(key, **params)


def bodies(bench, kind):
    return [entry.body for entry in bench.entries(kind)]


def tooth_link(page, tooth):
    """The address a tooth of the map opens, found by the tooth's own mark."""
    found = re.search(rf'<a class="tooth[^"]*" href="([^"]+)"[^>]*data-tooth="{tooth}"', page.text)
    assert found is not None
    return found[1].replace("&amp;", "&")


def tapped(bench, page, *teeth):
    for tooth in teeth:
        page = shown(bench.client.get(tooth_link(page, tooth)))
    return page


def test_a_label_without_a_case_leads_to_its_opening(bench):
    page = bench.at("receive")

    assert page.status == 200
    assert f"/case/new?code={bench.code}" in page.links


def test_what_the_cast_is_like_takes_one_tap(bench):
    opened(bench)

    answer = bench.at("receive").form("cast_received").send(bench.client, soundness="sound")

    assert answer.status_code == 303
    assert bodies(bench, "cast_received") == [CastReceived("sound")]


def test_unknown_disinfection_says_to_treat_the_cast_as_contaminated(bench):
    opened(bench)
    bench.at("receive").form("disinfection_recorded").send(bench.client, status="unknown")

    page = bench.at("receive")

    assert words(bench, "about.cautions.contamination") in page.text
    assert bodies(bench, "disinfection_recorded") == [DisinfectionRecorded("unknown")]


def test_a_disinfected_cast_needs_no_caution(bench):
    opened(bench)
    bench.state(DisinfectionRecorded("disinfected"))

    page = bench.at("receive", sheet="arrival")

    assert words(bench, "about.cautions.contamination") not in page.text


def test_a_refused_prescription_keeps_what_was_typed_beside_its_error(bench):
    opened(bench)

    answer = (
        bench.at("receive")
        .form("prescription_recorded")
        .send(bench.client, reference="Rx 12", dated="the ninth")
    )

    page = shown(answer)
    assert page.status == 422
    assert page.form("prescription_recorded").value("reference") == "Rx 12"
    assert 'id="dated-error"' in page.text
    assert bench.entries("prescription_recorded") == []


def test_the_first_sheet_not_recorded_is_shown(bench):
    opened(bench)
    bench.state(CastReceived("sound"))
    bench.state(DisinfectionRecorded("unknown"))
    bench.state(PrescriptionRecorded("Rx 12", "2026-03-01"))

    page = bench.at("receive")

    assert page.has("teeth_recorded")
    assert not page.has("cast_received")


def test_a_corrected_prescription_takes_the_place_of_the_first_with_its_reason(bench):
    opened(bench)
    first = bench.state(PrescriptionRecorded("Rx 12", "2026-03-01"))

    form = bench.at("receive", sheet="arrival").form("prescription_recorded")
    form.send(bench.client, reference="Rx 13", reason=form.choices("reason")[0])

    entry = bench.entries("prescription_recorded")[-1]
    assert entry.body == PrescriptionRecorded("Rx 13", "2026-03-01")
    assert entry.supersedes == (first.id,)
    assert entry.reason == words(bench, "steppages.why.wrong")


def test_teeth_are_tapped_on_the_map_and_recorded_as_one_statement(bench):
    opened(bench)
    page = tapped(bench, bench.at("receive", sheet="teeth"), 36, 37)
    page = shown(bench.client.get(next(x for x in page.links if "brush=m" in x)))
    page = tapped(bench, page, 48)
    page = shown(bench.client.get(next(x for x in page.links if "brush=e" in x)))

    tapped(bench, page, 45).form("teeth_recorded").send(bench.client)

    assert bodies(bench, "teeth_recorded") == [
        TeethRecorded(missing=(36, 37, 48), replaced=(36, 37, 45), extractions=(45,))
    ]


def test_a_second_tap_makes_a_tooth_plain_again(bench):
    opened(bench)

    page = tapped(bench, bench.at("receive", sheet="teeth"), 36, 37, 36)

    assert page.form("teeth_recorded").values("missing") == ["37"]


def test_a_tooth_of_the_other_arch_is_left_out_of_the_chart(bench):
    opened(bench)

    page = bench.at("receive", sheet="teeth", chart="16r.36r")

    assert page.form("teeth_recorded").values("missing") == ["36"]


def test_the_kennedy_class_is_told_while_teeth_are_tapped(bench):
    opened(bench)

    page = bench.at("receive", sheet="teeth", chart="36r.37r.46r.47r")

    assert words(bench, "kennedy.class.I") in page.text
    assert words(bench, "kennedy.reason.two_extensions") in page.text


def test_corrected_teeth_without_a_reason_are_refused_with_the_chart_kept(bench):
    opened(bench)
    bench.state(TeethRecorded(missing=(36,), replaced=(36,)))

    answer = (
        bench.at("receive", sheet="teeth", chart="36r.46r")
        .form("teeth_recorded")
        .send(bench.client)
    )

    page = shown(answer)
    assert page.status == 422
    assert page.form("teeth_recorded").values("missing") == ["36", "46"]
    assert 'id="reason-error"' in page.text


def test_corrected_teeth_supersede_the_earlier_ones(bench):
    opened(bench)
    first = bench.state(TeethRecorded(missing=(36,)))

    form = bench.at("receive", sheet="teeth", chart="36r").form("teeth_recorded")
    form.send(bench.client, reason=form.choices("reason")[1])

    entry = bench.entries("teeth_recorded")[-1]
    assert entry.body == TeethRecorded(missing=(36,), replaced=(36,))
    assert entry.supersedes == (first.id,)


def test_a_tooth_in_use_cannot_be_missing_and_the_chart_is_kept(bench):
    with_teeth(bench)

    form = bench.at("receive", sheet="teeth", chart="35r.36r").form("teeth_recorded")
    page = shown(form.send(bench.client, reason=form.choices("reason")[0]))

    assert page.status == 422
    assert page.form("teeth_recorded").values("missing") == ["35", "36"]
    assert words(bench, "errors.entry.tooth_is_used", value="35", field="") in page.text


def test_a_clasp_is_wished_by_tooth_surface_and_keys(bench):
    with_teeth(bench)

    page = bench.at("receive", sheet="wishes", wish="clasp", tooth=44, surface="MB")
    page.form("clasp_wished").send(bench.client, material="gold", wanted_mm="0.50", arm_mm="14")

    assert bodies(bench, "clasp_wished")[-1] == ClaspWished(
        44, "MB", "circumferential", "gold", 0.5, 14.0
    )


def test_a_refused_clasp_keeps_every_key_that_was_chosen(bench):
    with_teeth(bench)

    page = bench.at("receive", sheet="wishes", wish="clasp", tooth=44, surface="MB")
    again = shown(
        page.form("clasp_wished").send(bench.client, clasp="bar", material="gold", arm_mm="400")
    )

    assert again.status == 422
    form = again.form("clasp_wished")
    assert (form.value("clasp"), form.value("material"), form.value("arm_mm")) == (
        "bar",
        "gold",
        "400",
    )
    assert (form.value("tooth"), form.value("surface")) == ("44", "MB")


def test_a_rest_takes_a_tooth_and_one_tap(bench):
    with_teeth(bench)

    page = bench.at("receive", sheet="wishes", wish="rest", tooth=44)
    page.form("rest_wished").send(bench.client, seat="distal")

    assert bodies(bench, "rest_wished") == [RestWished(44, "distal")]


def test_a_guide_plane_and_an_indirect_retainer_can_be_wished(bench):
    with_teeth(bench)

    plane = bench.at("receive", sheet="wishes", wish="plane", tooth=37, surface="M")
    plane.form("guide_plane_wished").send(bench.client)
    indirect = bench.at("receive", sheet="wishes", wish="indirect", tooth=43)
    indirect.form("indirect_retainer_wished").send(bench.client)

    assert bodies(bench, "guide_plane_wished") == [GuidePlaneWished(37, "M")]
    assert bodies(bench, "indirect_retainer_wished") == [IndirectRetainerWished(43)]


def test_a_wish_is_taken_back_with_one_tap(bench):
    with_teeth(bench)
    wish = bench.entries("clasp_wished")[0]

    page = bench.at("receive", sheet="wishes")
    form = next(f for f in page.forms if f.action.endswith(f"/withdraw/{wish.id}"))
    form.send(bench.client)

    withdrawn = bench.entries("withdrawn")[0]
    assert withdrawn.body.entry == wish.id
    assert withdrawn.reason == words(bench, "steppages.wish.gone")


@pytest.mark.parametrize("tooth", [36, 16, 99])
def test_no_wish_is_offered_for_a_tooth_that_is_not_there(bench, tooth):
    with_teeth(bench)

    page = bench.at("receive", sheet="wishes", wish="rest", tooth=tooth)

    assert page.status == 200
    assert not page.has("rest_wished")


def test_a_wish_for_a_missing_tooth_sent_all_the_same_is_refused_in_words(bench):
    with_teeth(bench)
    form = bench.at("receive", sheet="wishes", wish="rest", tooth=44).form("rest_wished")

    page = shown(form.send(bench.client, seat="mesial", tooth="36"))

    assert page.status == 422
    assert words(bench, "errors.entry.tooth_is_missing", value="36", field="") in page.text


def test_the_same_clasp_wished_otherwise_meanwhile_is_out_of_date(bench):
    with_teeth(bench)
    form = bench.at("receive", sheet="wishes", wish="clasp", tooth=44, surface="MB").form(
        "clasp_wished"
    )
    bench.state(ClaspWished(44, "MB", "bar", "gold", 0.25))

    page = shown(form.send(bench.client))

    assert page.status == 409
    assert page.form("clasp_wished").value("clasp") == "circumferential"


def test_a_double_tap_records_once(bench):
    opened(bench)
    form = bench.at("receive").form("cast_received")

    answers = [form.send(bench.client, soundness="chipped") for _ in range(2)]

    assert [303, 303] == [answer.status_code for answer in answers]
    assert len(bench.entries("cast_received")) == 1


def test_the_label_can_be_printed_from_here(bench):
    opened(bench)

    page = bench.at("receive")

    assert f"/case/{bench.code}/label.pdf" in page.links
