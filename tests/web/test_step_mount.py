from __future__ import annotations

from bench.core.entries import InstrumentAdded, Mounted, UndercutRead
from bench.web.speech import say
from tests.web.sentforms import shown
from tests.web.surveyedcases import mounted, opened, tilted


def words(bench, key, **params):
    with bench.app.test_request_context():
        return say(key, **params)


def bodies(bench):
    return [entry.body for entry in bench.entries("mounted")]


def test_mounting_makes_the_zero_setting(bench):
    opened(bench)

    answer = bench.at("mount").form("mounted").send(bench.client)

    page = shown(bench.client.get(answer.location))
    assert bodies(bench) == [Mounted()]
    assert words(bench, "steppages.frame.zero", number=0) in page.text


def test_the_only_surveyor_and_table_need_no_tap(bench):
    opened(bench)
    bench.say(InstrumentAdded("S1", "surveyor"), person="SUP")
    bench.say(InstrumentAdded("T1", "table"), person="SUP")

    bench.at("mount").form("mounted").send(bench.client)

    assert bodies(bench) == [Mounted("S1", "T1")]


def test_of_several_surveyors_one_is_chosen_by_a_key(bench):
    opened(bench)
    for tag in ("S1", "S2"):
        bench.say(InstrumentAdded(tag, "surveyor"), person="SUP")

    form = bench.at("mount").form("mounted")
    form.send(bench.client, surveyor="S2")

    assert form.choices("surveyor") == ["S1", "S2"]
    assert bodies(bench) == [Mounted("S2")]


def test_without_registered_instruments_a_tag_is_typed(bench):
    opened(bench)

    bench.at("mount").form("mounted").send(bench.client, surveyor="old one", table="")

    assert bodies(bench) == [Mounted("old one")]


def test_a_refused_mounting_keeps_what_was_typed(bench):
    opened(bench)

    typed = {"surveyor": "a name that is far too long", "remark": "on the window bench"}
    page = shown(bench.at("mount").form("mounted").send(bench.client, **typed))

    assert page.status == 422
    assert page.form("mounted").value("surveyor") == typed["surveyor"]
    assert page.form("mounted").value("remark") == typed["remark"]
    assert 'id="surveyor-error"' in page.text


def test_a_mounted_cast_leads_to_the_undercuts_already_there(bench):
    mounted(bench)

    page = bench.at("mount")

    assert f"/case/{bench.code}/undercuts" in page.links
    assert words(bench, "steppages.mount.take_note") in page.text


def test_mounting_again_says_what_becomes_stale_and_makes_a_new_zero(bench):
    zero = mounted(bench)
    away = tilted(bench, zero)
    bench.state(UndercutRead(37, "ML", 0.25, "both"), setting=away.id)

    page = bench.at("mount")
    answer = page.form("mounted").send(bench.client)

    after = shown(bench.client.get(answer.location))
    assert words(bench, "steppages.tilt.becomes_stale_1") in page.text
    assert words(bench, "steppages.frame.zero", number=2) in after.text
    assert words(bench, "steppages.frame.standing_0") in after.text


def test_a_page_from_before_the_table_was_set_is_out_of_date_and_keeps_the_remark(bench):
    zero = mounted(bench)
    form = bench.at("mount").form("mounted")
    tilted(bench, zero)

    page = shown(form.send(bench.client, remark="wax under the heel"))

    assert page.status == 409
    assert page.form("mounted").value("remark") == "wax under the heel"
    assert len(bodies(bench)) == 1


def test_a_double_tap_mounts_once(bench):
    opened(bench)
    form = bench.at("mount").form("mounted")

    answers = [form.send(bench.client) for _ in range(2)]

    assert [303, 303] == [answer.status_code for answer in answers]
    assert len(bodies(bench)) == 1
