from __future__ import annotations

from bench.core.entries import InterferenceNoted, InterferencesLooked
from tests.web.latercases import form_to, locked, moved_on, received
from tests.web.sentforms import shown

TORUS = {"place": "front_lingual", "nature": "torus"}


def test_none_seen_takes_one_tap(bench):
    locked(bench)

    answer = bench.at("interferences").form("interferences_looked").send(bench.client)

    assert 303 == answer.status_code
    assert [InterferencesLooked()] == [e.body for e in bench.entries("interferences_looked")]


def test_a_double_tap_on_none_seen_states_once(bench):
    locked(bench)
    form = bench.at("interferences").form("interferences_looked")
    form.send(bench.client)
    again = form.send(bench.client)

    assert 303 == again.status_code
    assert 1 == len(bench.entries("interferences_looked"))


def test_an_interference_is_noted_by_place_and_nature(bench):
    locked(bench)
    form = bench.at("interferences").form("interference_noted")
    form.send(bench.client, **TORUS, remark="low bar")

    page = bench.at("interferences")

    assert [InterferenceNoted("front_lingual", "torus", None, "low bar")] == [
        e.body for e in bench.entries("interference_noted")
    ]
    assert 1 == page.text.count("<strong>torus</strong>")


def test_a_tap_on_a_place_of_the_map_chooses_it(bench):
    locked(bench)
    page = bench.at("interferences")
    link = next(one for one in page.links if "place=left_lingual" in one)

    form = shown(bench.client.get(link)).form("interference_noted")

    assert "left_lingual" == form.value("place")


def test_a_tap_on_a_tooth_means_that_it_leans(bench):
    locked(bench)

    page = bench.at("interferences", tooth=44)

    assert "leaning_tooth" == page.form("interference_noted").value("nature")
    assert '<option value="44" selected>' in page.text


def test_only_an_upper_cast_has_a_palate(bench):
    locked(bench)

    assert "palate" not in bench.at("interferences").form("interference_noted").choices("place")


def test_a_leaning_tooth_without_its_tooth_keeps_what_was_typed(bench):
    locked(bench)
    form = bench.at("interferences").form("interference_noted")

    answer = form.send(
        bench.client, place="right_lingual", nature="leaning_tooth", remark="tips in", tooth=""
    )

    page = shown(answer)
    kept = page.form("interference_noted")
    assert 422 == answer.status_code
    assert "tooth-error" in page.ids
    assert ("right_lingual", "leaning_tooth", "tips in") == tuple(
        kept.value(name) for name in ("place", "nature", "remark")
    )


def test_something_else_wants_a_remark(bench):
    locked(bench)
    form = bench.at("interferences").form("interference_noted")

    page = shown(form.send(bench.client, place="right_buccal", nature="other"))

    assert 422 == page.status
    assert "remark-error" in page.ids


def test_while_one_is_noted_none_seen_is_not_offered_and_it_says_what_to_do(bench):
    setting = locked(bench)
    bench.state(InterferenceNoted(**TORUS), setting=setting.id)

    page = bench.at("interferences")

    assert not page.has("interferences_looked")
    assert "take the note back first" in page.text


def test_none_seen_from_a_page_of_before_the_note_is_refused(bench):
    setting = locked(bench)
    form = bench.at("interferences").form("interferences_looked")
    bench.state(InterferenceNoted(**TORUS), setting=setting.id)

    answer = form.send(bench.client)

    assert 409 == answer.status_code
    assert [] == bench.entries("interferences_looked")
    assert "Something else stands here already" in answer.text


def test_a_note_replaces_none_seen(bench):
    setting = locked(bench)
    looked = bench.state(InterferencesLooked(), setting=setting.id)
    form = bench.at("interferences").form("interference_noted")

    answer = form.send(bench.client, **TORUS)

    assert 303 == answer.status_code
    noted = bench.entries("interference_noted")[0]
    assert (looked.id,) == noted.supersedes
    assert noted.reason


def test_a_note_is_taken_back_with_one_tap_also_after_its_minute(bench, hands):
    setting = locked(bench)
    noted = bench.state(InterferenceNoted(**TORUS), setting=setting.id)
    hands.forward(120)

    form_to(bench.at("interferences"), f"/withdraw/{noted.id}").send(bench.client)

    assert bench.at("interferences").has("interferences_looked")


def test_a_note_of_an_earlier_setting_is_stale_and_confirmed_with_one_tap(bench):
    setting = locked(bench)
    noted = bench.state(InterferenceNoted(**TORUS), setting=setting.id)
    moved_on(bench, setting)
    form = form_to(bench.at("interferences"), "/record/confirmed", finding=noted.id)

    answer = form.send(bench.client)

    assert 303 == answer.status_code
    assert "confirmed" in [e.kind for e in bench.entries()]


def test_a_page_of_an_earlier_setting_records_nothing_and_keeps_what_was_typed(bench):
    setting = locked(bench)
    form = bench.at("interferences").form("interference_noted")
    moved_on(bench, setting)

    answer = form.send(bench.client, **TORUS, remark="low bar")

    assert 409 == answer.status_code
    assert "low bar" == shown(answer).form("interference_noted").value("remark")
    assert [] == bench.entries("interference_noted")


def test_before_the_mounting_the_page_leads_to_it(bench):
    received(bench)

    page = bench.at("interferences")

    assert 200 == page.status
    assert f"/case/{bench.code}/mount" in page.links


def test_a_remark_typed_before_a_place_is_tapped_is_kept(bench):
    locked(bench)

    page = bench.at("interferences", place="front_lingual", remark="low bar", nature="torus")

    form = page.form("interference_noted")
    assert ("front_lingual", "torus", "low bar") == tuple(
        form.value(name) for name in ("place", "nature", "remark")
    )
    assert 'hx-include="#controls [name=remark], #controls [name=nature]:checked"' in page.text
