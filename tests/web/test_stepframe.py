from __future__ import annotations

import re
from collections import Counter

import pytest

from bench.core.entries import (
    CastReceived,
    DisinfectionRecorded,
    Disturbed,
    HoldSet,
    PrescriptionRecorded,
    Released,
    SettingMadeFinal,
    UndercutRead,
)
from bench.core.steps import STEPS
from bench.web.speech import say
from tests.web.latercases import ready
from tests.web.sentforms import shown
from tests.web.surveyedcases import mounted, opened, tilted, with_teeth

SENT = ('hx-boost="true"', 'hx-target="#main"', 'hx-select="#main"', 'hx-swap="outerHTML')


def words(bench, key, **params):
    with bench.app.test_request_context():
        return say(key, **params)


def rungs(page):
    """The rail's words by step, as shown."""
    found = re.findall(
        r'<span class="name">([^<]+)</span><span class="word">([^<]+)</span>', page.text
    )
    return dict(found)


def test_the_top_names_code_number_arch_and_class(bench):
    with_teeth(bench)

    page = bench.at("mount")

    assert "26-0042 · lower · Kennedy III" in page.text
    assert words(bench, "steppages.frame.not_mounted") in page.text


def test_the_banner_tells_setting_tilt_state_and_what_stands_on_it(bench):
    away = tilted(bench, mounted(bench), 4.0, -1.5)
    bench.state(UndercutRead(37, "ML", 0.25, "both"), setting=away.id)
    bench.state(SettingMadeFinal(), setting=away.id)

    page = bench.at("undercuts")

    banner = re.sub(r"<[^>]+>", " ", page.text.split('class="setting"')[1].split("</a>")[0])
    for part in (
        "Setting 1",
        "front 4.0° down, left of view 1.5° down",
        "locked, final",
        "1 finding",
    ):
        assert part in banner


def test_the_rail_tells_each_step_in_words_and_counts(bench):
    zero = mounted(bench)
    bench.state(UndercutRead(37, "ML", 0.25, "both"), setting=zero.id)
    before = rungs(bench.at("mount"))
    tilted(bench, zero)

    after = rungs(bench.at("mount"))

    assert len(before) == 10
    assert (before["Undercuts"], after["Undercuts"]) == ("1 of 2", "stale, 0 of 2")
    assert before["Guide planes"] == "to do"


def test_a_step_that_wants_nothing_says_so(bench):
    opened(bench)

    assert rungs(bench.at("mount"))["Guide planes"] == "none wanted"


def test_the_next_step_not_done_is_one_tap_away(bench):
    mounted(bench)
    bench.state(CastReceived("sound"))
    bench.state(DisinfectionRecorded("unknown"))
    bench.state(PrescriptionRecorded("Rx 12", "2026-03-01"))

    page = bench.at("mount")

    assert words(bench, "steppages.frame.next", step="Tilt") in page.text
    assert f"/case/{bench.code}/tilt" in page.links


def test_what_stands_against_release_here_is_told_with_its_remedy(bench):
    mounted(bench)

    page = bench.at("undercuts")

    assert words(bench, "rules.R3.not_read", site="37 ML") in page.text
    assert words(bench, "rules.R3.not_read_remedy", site="37 ML") in page.text
    assert words(bench, "steppages.frame.against", count=2) in page.text


def test_the_strip_tells_who_recorded_last_and_where(bench):
    opened(bench)

    page = bench.at("receive")

    assert words(bench, "steppages.strip.saved") in page.text
    assert re.search(r"Last entry .*\d\d:\d\d by TEC", page.text)


def test_an_entry_can_be_undone_for_a_minute(bench):
    opened(bench)
    answer = bench.at("receive").form("cast_received").send(bench.client, soundness="sound")
    page = shown(bench.client.get(answer.location))

    undo = next(form for form in page.forms if "/withdraw/" in form.action)
    undo.send(bench.client)

    assert len(bench.entries("withdrawn")) == 1
    assert bench.entries("withdrawn")[0].reason == words(bench, "recorded.undone_at_once")


def test_after_the_minute_the_same_key_asks_for_a_reason(bench, hands):
    opened(bench)
    answer = bench.at("receive").form("cast_received").send(bench.client, soundness="sound")
    page = shown(bench.client.get(answer.location))
    undo = next(form for form in page.forms if "/withdraw/" in form.action)
    hands.forward(90)

    refused = shown(undo.send(bench.client))
    again = next(form for form in refused.forms if "/withdraw/" in form.action)
    again.send(bench.client, reason="the wrong cast was on the bench")

    assert refused.status == 422
    assert words(bench, "steppages.withdraw.lead") in refused.text
    assert bench.entries("withdrawn")[0].reason == "the wrong cast was on the bench"


def test_the_entry_just_undone_offers_no_further_undo(bench):
    opened(bench)
    answer = bench.at("receive").form("cast_received").send(bench.client, soundness="sound")
    page = shown(bench.client.get(answer.location))
    undo = next(form for form in page.forms if "/withdraw/" in form.action)

    after = shown(bench.client.get(undo.send(bench.client).location))

    assert not [form for form in after.forms if "/withdraw/" in form.action]


@pytest.mark.parametrize("step", STEPS)
def test_a_disturbance_can_be_told_from_every_step(bench, step):
    zero = mounted(bench)
    page = bench.at(step)
    link = next(link for link in page.links if "disturbed=1" in link)

    form = shown(bench.client.get(link)).form("disturbed")
    form.send(bench.client, what="table_moved", remark="a sleeve caught the arm")

    entry = bench.entries("disturbed")[0]
    assert entry.body == Disturbed("table_moved", "a sleeve caught the arm")
    assert entry.setting == zero.id


def test_a_disturbed_cast_says_at_every_step_what_is_suspect(bench):
    zero = mounted(bench)
    bench.state(Disturbed("cast_dropped"), setting=zero.id)

    page = bench.at("undercuts")

    assert words(bench, "steppages.disturbed.suspect") in page.text


def test_a_refused_disturbance_keeps_its_remark(bench):
    mounted(bench)
    form = shown(bench.client.get(f"/case/{bench.code}/tilt?disturbed=1")).form("disturbed")

    page = shown(form.send(bench.client, what="an earthquake", remark="all of it"))

    assert page.status == 422
    assert page.form("disturbed").value("remark") == "all of it"


@pytest.mark.parametrize("step", ["receive", "mount", "tilt", "guide_planes", "undercuts"])
def test_no_two_things_on_a_page_share_an_id(bench, step):
    zero = mounted(bench)
    bench.state(UndercutRead(37, "ML", 0.25, "both"), setting=zero.id)

    for asked in ({}, {"tooth": 37, "surface": "ML"}, {"disturbed": 1}):
        page = bench.at(step, **asked)

        assert [] == [one for one, count in Counter(page.ids).items() if count > 1]


@pytest.mark.parametrize("step", ["receive", "mount", "tilt", "guide_planes", "undercuts"])
def test_every_form_sends_its_token_and_a_fresh_id_and_works_with_and_without_scripts(bench, step):
    mounted(bench)

    page = bench.at(step, tooth=37, surface="ML")

    forms = [form for form in page.forms if "/record/" in form.action]
    assert all(form.value("csrf_token") and form.value("entry_id") for form in forms)
    assert len({form.value("entry_id") for form in forms}) == len(forms)
    tags = re.findall(r'<form class="statement"[^>]*>', page.text)
    assert tags
    assert all(part in tag for tag in tags for part in SENT)


def test_htmx_gets_the_page_of_the_step_with_the_entry_announced(bench):
    opened(bench)
    form = bench.at("receive").form("cast_received")

    answer = bench.client.post(
        form.action,
        data={**dict(form.fields), "soundness": "sound"},
        headers={"HX-Request": "true"},
    )

    assert answer.status_code == 200
    assert words(bench, "recorded.kind.cast_received") in answer.text


def test_a_reader_sees_the_steps(bench, reader):
    mounted(bench)

    for step in STEPS:
        assert reader.get(f"/case/{bench.code}/{step}").status_code == 200


def heads(bench):
    """The head of every page of the case by its address, up to the rail."""
    at = [f"/case/{bench.code}/{step}" for step in STEPS] + [f"/case/{bench.code}/remount"]
    return {address: bench.client.get(address).text.split('id="rail"')[0] for address in at}


def test_a_hold_for_the_law_stands_in_the_head_of_every_page_of_the_case(bench):
    mounted(bench)
    bench.state(HoldSet(), person="SUP", reason="Letter came")

    found = heads(bench)

    assert [] == [at for at, head in found.items() if "On hold for the law since" not in head]
    assert all(f'href="/case/{bench.code}/hold"' in head for head in found.values())


def test_a_recalled_case_says_so_on_every_page_and_leads_to_its_release(bench):
    setting = ready(bench)
    bench.state(Released(()), setting=setting.id)
    bench.state(Disturbed("cast_dropped"))

    found = heads(bench)

    assert all(words(bench, "steppages.frame.recalled") in head for head in found.values())
    assert all(f'href="/case/{bench.code}/release"' in head for head in found.values())


def test_a_record_past_its_time_says_so_unless_it_is_on_hold(bench, hands):
    mounted(bench)
    before = heads(bench)
    hands.forward(31 * 366 * 86_400)
    bench.client.sit("TEC")

    after = heads(bench)

    assert not any("That day is past" in head for head in before.values())
    assert all("That day is past" in head for head in after.values())
