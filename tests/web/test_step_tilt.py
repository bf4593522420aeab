from __future__ import annotations

import pytest

from bench.core.entries import (
    GuidePlaneRead,
    InstrumentAdded,
    InterferencesLooked,
    Mounted,
    SettingMadeFinal,
    SettingTaken,
    SurveyLinesDrawn,
    TripodMarked,
    UndercutRead,
)
from bench.web.speech import say
from tests.web.sentforms import shown
from tests.web.surveyedcases import mounted, opened, tilted


def words(bench, key, **params):
    with bench.app.test_request_context():
        return say(key, **params)


def settings(bench):
    return [entry.body for entry in bench.entries("setting_taken")]


def take(bench, **given):
    form = bench.at("tilt").form("setting_taken")
    return form.send(bench.client, **{"instrument": "I1", "resolution_deg": "0.1", **given})


def confirm_forms(page):
    return [form for form in page.forms if form.action.endswith("/record/confirmed")]


def test_before_the_mounting_the_step_leads_to_it(bench):
    opened(bench)

    page = bench.at("tilt")

    assert words(bench, "steppages.unmounted") in page.text
    assert not page.has("setting_taken")


def test_a_new_setting_is_taken_with_instrument_and_resolution(bench):
    mounted(bench)

    answer = take(bench, ap_deg="4,5", lat_deg="-1.5")

    assert answer.status_code == 303
    assert settings(bench) == [SettingTaken(4.5, -1.5, "I1", 0.1)]


def test_instrument_and_resolution_are_those_of_the_last_setting(bench):
    tilted(bench, mounted(bench))

    form = bench.at("tilt").form("setting_taken")

    assert (form.value("instrument"), form.value("resolution_deg")) == ("I1", "0.1")


def test_the_only_inclinometer_brings_its_resolution(bench):
    bench.say(InstrumentAdded("INC1", "inclinometer", resolution_deg=0.5), person="SUP")
    mounted(bench)

    form = bench.at("tilt").form("setting_taken")

    assert (form.value("instrument"), form.value("resolution_deg")) == ("INC1", "0.5")


def test_the_steppers_start_at_the_present_setting(bench):
    tilted(bench, mounted(bench), 4.0, -1.5)

    form = bench.at("tilt").form("setting_taken")

    assert (form.value("ap_deg"), form.value("lat_deg")) == ("4.0", "-1.5")


# Common practice, no source: a tilt is named for the edge that goes down, seen from behind.
# On an upper cast lying before one the patient's left is at the right of view, on a lower the right.
@pytest.mark.parametrize(
    ("arch", "side"), [("lower", "patient's right"), ("upper", "patient's left")]
)
def test_the_tilt_tried_is_told_by_the_edges_that_go_down(bench, arch, side):
    opened(bench, arch)
    bench.state(Mounted())

    page = bench.at("tilt", ap_deg="4.0", lat_deg="1.5")

    assert "front 4.0° down" in page.text
    assert f"right of view 1.5° down ({side.replace(chr(39), '&#39;')})" in page.text


def test_a_steep_tilt_asks_why_and_keeps_the_angles(bench):
    mounted(bench)

    page = shown(take(bench, ap_deg="14", lat_deg="9"))

    form = page.form("setting_taken")
    assert page.status == 422
    assert (form.value("ap_deg"), form.value("lat_deg")) == ("14", "9")
    assert 'id="reason-error"' in page.text
    assert settings(bench) == []


def test_a_steep_tilt_with_its_reason_is_taken(bench):
    mounted(bench)
    form = shown(take(bench, ap_deg="14", lat_deg="9")).form("setting_taken")

    form.send(bench.client, reason="37 leans far forward")

    assert bench.entries("setting_taken")[0].reason == "37 leans far forward"


def test_a_missing_resolution_is_refused_beside_its_stepper(bench):
    mounted(bench)

    page = shown(take(bench, ap_deg="3", lat_deg="0", resolution_deg=""))

    assert page.status == 422
    assert 'id="resolution_deg-error"' in page.text
    assert page.form("setting_taken").value("instrument") == "I1"


def test_a_table_without_a_scale_is_one_tap(bench):
    mounted(bench)

    bench.at("tilt").form("setting_taken", "no_scale").send(bench.client)

    assert settings(bench) == [SettingTaken(None, None)]
    assert words(bench, "choices.tilt.no_scale") in bench.at("tilt").text


def test_before_it_is_recorded_it_says_how_much_becomes_stale(bench):
    away = tilted(bench, mounted(bench))
    for surface in ("MB", "DB", "ML"):
        bench.state(UndercutRead(44, surface, 0.25, "both"), setting=away.id)

    page = bench.at("tilt")

    assert words(bench, "steppages.tilt.becomes_stale", count=3) in page.text
    assert 'data-ask="' + words(bench, "steppages.tilt.becomes_stale", count=3) in page.text


def test_the_present_setting_is_locked_and_made_final(bench):
    away = tilted(bench, mounted(bench))

    bench.at("tilt").form("setting_made_final").send(bench.client)

    final = bench.entries("setting_made_final")[0]
    page = bench.at("tilt")
    assert (final.body, final.setting) == (SettingMadeFinal(), away.id)
    assert words(bench, "steppages.frame.final") in page.text
    assert not page.has("setting_made_final")


@pytest.fixture
def stale(bench):
    """Findings of five kinds at a setting the cast has left since."""
    first = tilted(bench, mounted(bench))
    made = [
        bench.state(body, setting=first.id)
        for body in (
            GuidePlaneRead(35, "D", "gingival", 0.3, 4.0),
            UndercutRead(37, "ML", 0.25, "both"),
            InterferencesLooked(),
            SurveyLinesDrawn(("34B", "34L"), True),
            TripodMarked(30.0, 31.0, 32.0, "clockwise", True, True, True, True),
        )
    ]
    tilted(bench, first, 2.0)
    return made


def test_stale_findings_of_every_kind_are_listed_the_tripod_to_be_marked_anew(bench, stale):
    page = bench.at("tilt")

    *others, _ = stale
    assert [entry.id for entry in others] == [form.value("finding") for form in confirm_forms(page)]
    assert words(bench, "steppages.stale.anew") in page.text
    assert f"/case/{bench.code}/tripod" in page.links


def test_a_stale_finding_leads_to_its_site(bench, stale):
    page = bench.at("tilt")

    assert f"/case/{bench.code}/undercuts?tooth=37&surface=ML" in page.links


def test_one_tap_confirms_a_finding_at_the_present_setting(bench, stale):
    now = bench.entries("setting_taken")[-1]

    confirm_forms(bench.at("tilt"))[1].send(bench.client)

    said = bench.entries("confirmed")[0]
    assert (said.body.finding, said.setting) == (stale[1].id, now.id)
    assert stale[1].id not in [form.value("finding") for form in confirm_forms(bench.at("tilt"))]


def test_confirming_for_a_setting_that_is_gone_is_out_of_date(bench, stale):
    form = confirm_forms(bench.at("tilt"))[0]
    tilted(bench, bench.entries("setting_taken")[-1], 6.0)

    assert form.send(bench.client).status_code == 409
    assert bench.entries("confirmed") == []


def test_a_page_from_before_another_setting_is_out_of_date_and_keeps_the_angles(bench):
    zero = mounted(bench)
    form = bench.at("tilt").form("setting_taken")
    tilted(bench, zero)

    sent = {"ap_deg": "7.5", "lat_deg": "-2", "instrument": "I1", "resolution_deg": "0.1"}
    page = shown(form.send(bench.client, **sent))

    again = page.form("setting_taken")
    assert page.status == 409
    assert (again.value("ap_deg"), again.value("lat_deg")) == ("7.5", "-2")
    assert again.value("setting") == bench.entries("setting_taken")[0].id


def test_a_double_tap_takes_one_setting(bench):
    mounted(bench)
    form = bench.at("tilt").form("setting_taken")
    sent = {"ap_deg": "3", "lat_deg": "0", "instrument": "I1", "resolution_deg": "0.1"}

    answers = [form.send(bench.client, **sent) for _ in range(2)]

    assert [303, 303] == [answer.status_code for answer in answers]
    assert len(settings(bench)) == 1


def test_every_setting_is_listed_with_what_stands_on_it(bench, stale):
    page = bench.at("tilt")

    for number in (1, 2):
        assert words(bench, "steppages.frame.setting", number=number) in page.text
    assert words(bench, "steppages.frame.standing", count=5) in page.text
