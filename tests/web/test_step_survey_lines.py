from __future__ import annotations

from bench.core.case import fold
from bench.core.entries import InstrumentAdded, SurveyLinesDrawn
from tests.web.latercases import LINES, form_to, locked, moved_on
from tests.web.sentforms import shown


def lines_form(page, which="chosen"):
    return form_to(page, "/lines", which=which)


def drawn(bench):
    return [entry.body for entry in bench.entries("survey_lines_drawn")]


def standing(bench):
    """Return what stands of each line at the setting the cast has now."""
    found = fold(bench.code, bench.entries()).readings(SurveyLinesDrawn)
    return {c[1]: r.body.lead_at_gingival for c, r in found.items() if r.current}


def test_a_tap_on_a_tooth_collects_both_its_lines_and_a_second_tooth_joins(bench):
    locked(bench)
    first = next(one for one in bench.at("survey_lines").links if "tooth=44" in one)
    page = shown(bench.client.get(first))
    second = next(one for one in page.links if "tooth=34" in one)

    form = lines_form(shown(bench.client.get(second)))

    assert {"44B", "44L", "34B", "34L"} == set(form.values("sites"))


def test_a_tap_on_one_letter_takes_that_line_out_again(bench):
    locked(bench)
    page = bench.at("survey_lines", tooth=44, lines="44B.44L")
    link = next(one for one in page.links if one.endswith("lines=44L") and "tooth=44" in one)

    assert ["44L"] == lines_form(shown(bench.client.get(link))).values("sites")


def test_collected_lines_are_recorded_at_once_with_the_lead_declared(bench):
    locked(bench)
    form = lines_form(bench.at("survey_lines", lines="44B.44L.34B"))

    answer = form.send(bench.client, lead_at_gingival="yes")

    assert 303 == answer.status_code
    assert [SurveyLinesDrawn(("44B", "44L", "34B"), True)] == drawn(bench)
    assert "lead=yes" in answer.location


def test_the_lead_must_be_declared_and_the_selection_is_kept(bench):
    locked(bench)

    answer = lines_form(bench.at("survey_lines", lines="44B.44L")).send(bench.client)

    page = shown(answer)
    assert 422 == answer.status_code
    assert "lead_at_gingival-error" in page.ids
    assert ["44B", "44L"] == lines_form(page).values("sites")
    assert [] == drawn(bench)


def test_nothing_collected_records_nothing(bench):
    locked(bench)

    page = shown(lines_form(bench.at("survey_lines")).send(bench.client, lead_at_gingival="yes"))

    assert 422 == page.status
    assert "sites-error" in page.ids


def test_what_is_still_wanting_is_listed_and_required_teeth_are_ringed(bench):
    setting = locked(bench)
    bench.state(SurveyLinesDrawn(LINES[:6], True), setting=setting.id)

    page = bench.at("survey_lines")

    assert "35 B/L" in page.text
    assert "44 B/L" not in page.text
    assert 5 == page.text.count('class="planned"')


def test_all_required_lines_ask_first_and_record_once_confirmed(bench):
    locked(bench)
    asked = shown(lines_form(bench.at("survey_lines"), "required").send(bench.client))
    before = drawn(bench)

    lines_form(asked, "required").send(bench.client)

    assert [] == before
    assert 200 == asked.status
    assert {*LINES, "43B", "43L"} == {site for body in drawn(bench) for site in body.sites}
    assert drawn(bench)[0].lead_at_gingival


def test_with_scripts_the_question_has_been_answered_already(bench):
    locked(bench)

    answer = lines_form(bench.at("survey_lines"), "whole").send(bench.client, sure="yes")

    assert 303 == answer.status_code
    assert 20 == len(drawn(bench)[0].sites)


def test_a_double_tap_records_once(bench):
    locked(bench)
    form = lines_form(bench.at("survey_lines", lines="44B"))
    form.send(bench.client, lead_at_gingival="yes")
    again = form.send(bench.client, lead_at_gingival="yes")

    assert 303 == again.status_code
    assert 1 == len(drawn(bench))


def test_a_line_drawn_again_replaces_the_one_with_the_lead_too_high(bench):
    setting = locked(bench)
    wrong = bench.state(SurveyLinesDrawn(("44B", "44L"), False), setting=setting.id)
    link = next(one for one in bench.at("survey_lines").links if one.endswith("lines=44B.44L"))

    form = lines_form(shown(bench.client.get(link)))
    form.send(bench.client, lead_at_gingival="yes")

    right = bench.entries("survey_lines_drawn")[-1]
    assert (wrong.id,) == right.supersedes
    assert {"44B": True, "44L": True} == standing(bench)


def test_correcting_one_line_of_an_entry_keeps_what_it_says_of_the_others(bench):
    setting = locked(bench)
    bench.state(SurveyLinesDrawn(("44B", "44L", "34B"), True), setting=setting.id)
    form = lines_form(bench.at("survey_lines", lines="44B"))
    form.send(bench.client, lead_at_gingival="no")
    form.send(bench.client, lead_at_gingival="no")

    assert {"44B": False, "44L": True, "34B": True} == standing(bench)
    assert 3 == len(drawn(bench))


def test_a_line_that_somebody_else_stated_meanwhile_is_not_overwritten(bench):
    setting = locked(bench)
    form = lines_form(bench.at("survey_lines", lines="44B"))
    bench.state(SurveyLinesDrawn(("44B",), False), setting=setting.id, person="SUP")

    answer = form.send(bench.client, lead_at_gingival="yes")

    assert 409 == answer.status_code
    assert {"44B": False} == standing(bench)


def test_a_page_of_an_earlier_setting_keeps_the_selection(bench):
    setting = locked(bench)
    form = lines_form(bench.at("survey_lines", lines="44B.44L"))
    moved_on(bench, setting)

    answer = form.send(bench.client, lead_at_gingival="yes")

    assert 409 == answer.status_code
    assert ["44B", "44L"] == lines_form(shown(answer)).values("sites")


def test_readers_record_no_lines(bench, reader):
    locked(bench)

    answer = reader.send(f"/case/{bench.code}/lines", {"sites": "44B", "lead_at_gingival": "yes"})

    assert 403 == answer.status_code


def test_a_sweep_of_no_such_name_is_no_sweep(bench):
    locked(bench)
    form = lines_form(bench.at("survey_lines", lines="44B"))

    answer = form.send(bench.client, which="NaN", sure="yes")

    assert 422 == answer.status_code
    assert [] == drawn(bench)


def test_the_sleeve_is_named_and_kept_when_other_lines_are_drawn_again(bench):
    bench.say(InstrumentAdded("SL1", "sleeve"), person="SUP")
    locked(bench)
    lines_form(bench.at("survey_lines", lines="44B.44L")).send(bench.client, lead_at_gingival="yes")
    bench.say(InstrumentAdded("SL2", "sleeve"), person="SUP")

    form = lines_form(bench.at("survey_lines", lines="44B"))
    form.send(bench.client, lead_at_gingival="no", sleeve="SL2")

    assert ["SL1"] == form.values("sleeve")
    assert [("44L", "SL1"), ("44B", "SL2")] == [
        (body.sites[-1], body.sleeve) for body in drawn(bench) if len(body.sites) == 1
    ][::-1]
