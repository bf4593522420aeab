from __future__ import annotations

import re

import pytest
from flask import request, request_started

from bench.core.entries import InstrumentAdded, InstrumentRetired, PolicySet, UndercutRead
from bench.web.display import Display
from bench.web.speech import say
from tests.web.sentforms import shown
from tests.web.surveyedcases import mounted, opened, tilted


def words(bench, key, **params):
    with bench.app.test_request_context():
        return say(key, **params)


def readings(bench):
    return [entry.body for entry in bench.entries("undercut_read")]


def opens(page, mark):
    """The address that a tap on a tooth or surface of the map opens."""
    found = re.search(rf'<a class="(?:tooth|zone)[^"]*" href="([^"]+)"[^>]*{mark}', page.text)
    assert found is not None
    return found[1].replace("&amp;", "&")


def site_form(bench, tooth, surface, part="", **asked):
    return bench.at("undercuts", tooth=tooth, surface=surface, **asked).form("undercut_read", part)


def test_an_undercut_takes_three_taps(bench):
    zero = mounted(bench)
    page = bench.at("undercuts")
    taps: list[str] = []

    with request_started.connected_to(lambda app, **_: taps.append(request.path), bench.app):
        page = shown(bench.client.get(opens(page, 'data-tooth="37"')))
        page = shown(bench.client.get(opens(page, 'data-surface="ML"')))
        page.form("undercut_read").send(bench.client, contact="both")

    assert len(taps) == 3
    entry = bench.entries("undercut_read")[0]
    assert (entry.body, entry.setting) == (UndercutRead(37, "ML", 0.25, "both"), zero.id)


def test_the_gauge_taken_stays_for_the_next_tooth(bench):
    mounted(bench)
    page = bench.at("undercuts", tooth=37, surface="ML", gauge_mm="0.5")

    page = shown(bench.client.get(opens(page, 'data-tooth="35"')))
    page = shown(bench.client.get(opens(page, 'data-surface="DB"')))

    assert page.form("undercut_read").value("gauge_mm") == "0.5"


def test_the_gauge_last_read_with_is_still_in_the_chuck(bench):
    mounted(bench)
    site_form(bench, 37, "ML", gauge_mm="0.75").send(bench.client, contact="lip_first")

    assert site_form(bench, 35, "DB").value("gauge_mm") == "0.75"


def test_the_first_reading_starts_with_the_gauge_wished(bench):
    mounted(bench)

    assert site_form(bench, 35, "DB").value("gauge_mm") == "0.5"


def test_the_gauges_are_those_of_the_policy(bench):
    mounted(bench)
    bench.say(PolicySet("gauges_mm", "0.25 0.38"), person="SUP", reason="no other is used")

    page = bench.at("undercuts", tooth=37, surface="ML")

    offered = [link for link in page.links if "surface=ML" in link and "gauge_mm=" in link]
    assert {"0.25", "0.38"} <= {link.split("gauge_mm=")[1].split("&")[0] for link in offered}
    assert not any("gauge_mm=0.75" in link for link in offered)


def test_gauges_are_shown_in_inches_to_who_wants_them(bench):
    mounted(bench)
    bench.client.set_cookie("tiltbook-display", Display(unit="inch").text)

    page = bench.at("undercuts", tooth=37, surface="ML")

    # Gauges are sold in pairs of rounded sizes, 0.010 in for 0.25 mm (common practice, no source).
    assert ">0.010" in page.text
    assert page.form("undercut_read").value("gauge_mm") == "0.25"


def test_the_only_gauge_of_its_size_is_named_without_a_tap(bench):
    mounted(bench)
    bench.say(InstrumentAdded("G25-1", "gauge", 0.25), person="SUP")

    site_form(bench, 37, "ML").send(bench.client, contact="both")

    assert readings(bench)[0].gauge == "G25-1"


def test_of_several_gauges_one_is_chosen_and_stays_chosen(bench):
    mounted(bench)
    for tag in ("G25-1", "G25-2"):
        bench.say(InstrumentAdded(tag, "gauge", 0.25), person="SUP")

    form = site_form(bench, 37, "ML")
    form.send(bench.client, contact="both", gauge="G25-2")

    assert form.choices("gauge") == ["G25-1", "G25-2"]
    assert site_form(bench, 34, "MB").value("gauge") == "G25-2"


def test_a_gauge_out_of_service_is_not_named(bench):
    mounted(bench)
    bench.say(InstrumentAdded("G25-1", "gauge", 0.25), person="SUP")
    bench.say(InstrumentRetired("G25-1"), person="SUP")

    assert site_form(bench, 37, "ML").value("gauge") is None


def test_the_drop_may_be_given_before_the_tap(bench):
    mounted(bench)

    site_form(bench, 37, "ML").send(bench.client, contact="both", drop_mm="1,4")

    assert readings(bench) == [UndercutRead(37, "ML", 0.25, "both", 1.4)]


def test_drop_and_pencil_mark_may_follow_as_a_correction_with_a_ready_reason(bench):
    mounted(bench)
    site_form(bench, 37, "ML").send(bench.client, contact="both")
    first = bench.entries("undercut_read")[0]

    site_form(bench, 37, "ML", "more").send(bench.client, drop_mm="1.40", marked="on")

    entry = bench.entries("undercut_read")[-1]
    assert entry.body == UndercutRead(37, "ML", 0.25, "both", 1.4, marked=True)
    assert entry.supersedes == (first.id,)
    assert entry.reason == words(bench, "steppages.why.more")


def test_a_refused_drop_is_kept_beside_its_error(bench):
    mounted(bench)

    page = shown(site_form(bench, 37, "ML").send(bench.client, contact="both", drop_mm="140"))

    assert page.status == 422
    assert page.form("undercut_read").value("drop_mm") == "140"
    assert 'id="drop_mm-error"' in page.text
    assert readings(bench) == []


def test_read_again_takes_the_place_of_what_the_page_saw(bench):
    zero = mounted(bench)
    first = bench.state(UndercutRead(37, "ML", 0.25, "both"), setting=zero.id)

    site_form(bench, 37, "ML").send(bench.client, contact="lip_short")

    entry = bench.entries("undercut_read")[-1]
    assert entry.body.contact == "lip_short"
    assert entry.supersedes == (first.id,)
    assert entry.reason == words(bench, "steppages.why.read_again")


def test_a_reading_of_an_earlier_setting_is_shown_with_it_and_stays_true_there(bench):
    zero = mounted(bench)
    bench.state(UndercutRead(37, "ML", 0.25, "both"), setting=zero.id)
    tilted(bench, zero)

    page = bench.at("undercuts", tooth=37, surface="ML")

    assert "At setting 0 (zero)" in page.text
    assert page.form("undercut_read").value("supersedes") is None


def test_read_again_after_a_confirmation_supersedes_the_confirmation(bench):
    zero = mounted(bench)
    first = bench.state(UndercutRead(37, "ML", 0.25, "both"), setting=zero.id)
    tilted(bench, zero)
    page = bench.at("undercuts", tooth=37, surface="ML")
    next(f for f in page.forms if f.action.endswith("/record/confirmed")).send(bench.client)

    site_form(bench, 37, "ML").send(bench.client, contact="none")

    confirmed = bench.entries("confirmed")[0]
    assert confirmed.body.finding == first.id
    assert bench.entries("undercut_read")[-1].supersedes == (confirmed.id,)


def test_readings_at_zero_are_told_apart(bench):
    zero = mounted(bench)

    at_zero = bench.at("undercuts")
    tilted(bench, zero)

    sentence = words(bench, "steppages.undercut.at_zero")
    assert sentence in at_zero.text
    assert sentence not in bench.at("undercuts").text


def test_wanted_surfaces_are_listed_with_how_many_are_read(bench):
    zero = mounted(bench)
    bench.state(UndercutRead(37, "ML", 0.25, "both"), setting=zero.id)

    page = bench.at("undercuts")

    assert words(bench, "steppages.undercut.sites", done=1, wanted=2) in page.text


def test_another_reading_meanwhile_is_not_overwritten(bench):
    zero = mounted(bench)
    form = site_form(bench, 37, "ML")
    bench.state(UndercutRead(37, "ML", 0.5, "none"), setting=zero.id, person="SUP")

    page = shown(form.send(bench.client, contact="both"))

    assert page.status == 409
    assert words(bench, "errors.entry.said_meanwhile") in page.text
    assert readings(bench) == [UndercutRead(37, "ML", 0.5, "none")]


def test_a_page_from_before_another_setting_is_out_of_date_and_keeps_the_drop(bench):
    zero = mounted(bench)
    form = site_form(bench, 37, "ML")
    tilted(bench, zero)

    page = shown(form.send(bench.client, contact="both", drop_mm="1.35"))

    again = page.form("undercut_read")
    assert page.status == 409
    assert again.value("drop_mm") == "1.35"
    assert again.value("setting") == bench.entries("setting_taken")[0].id


def test_a_double_tap_records_once(bench):
    mounted(bench)
    form = site_form(bench, 37, "ML")

    answers = [form.send(bench.client, contact="both") for _ in range(2)]

    assert [303, 303] == [answer.status_code for answer in answers]
    assert len(readings(bench)) == 1


@pytest.mark.parametrize("tooth", [36, 16, 99])
def test_a_tooth_that_is_not_there_offers_no_form(bench, tooth):
    mounted(bench)

    page = bench.at("undercuts", tooth=tooth, surface="MB")

    assert page.status == 200
    assert not page.has("undercut_read")


@pytest.mark.parametrize(("tooth", "why"), [("36", "tooth_is_missing"), ("16", "other_arch")])
def test_a_tooth_that_is_not_there_sent_all_the_same_is_refused_in_words(bench, tooth, why):
    mounted(bench)

    page = shown(site_form(bench, 37, "ML").send(bench.client, contact="both", tooth=tooth))

    assert page.status == 422
    assert words(bench, f"errors.entry.{why}", value=tooth, arch="lower", field="") in page.text


def test_nonsense_in_the_address_is_passed_over(bench):
    mounted(bench)

    page = bench.at("undercuts", tooth="ab", surface="ZZ", gauge_mm="much")

    assert page.status == 200


def test_an_unmounted_cast_leads_to_the_mounting(bench):
    opened(bench)

    assert f"/case/{bench.code}/mount" in bench.at("undercuts").links
