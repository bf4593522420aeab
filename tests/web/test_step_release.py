from __future__ import annotations

from bench.core.case import fold
from bench.core.entries import Disturbed, PersonUnconfirmed, UndercutRead
from bench.core.release import grounds, judge
from bench.core.survey import Survey
from tests.web.latercases import form_to, moved_on, read, ready
from tests.web.sentforms import shown
from tests.web.surveyedcases import mounted


def verdict(bench):
    lab = bench.app.extensions["log"].lab()
    return judge(Survey(fold(bench.code, bench.entries()), lab))


def page_for(bench, client):
    return shown(client.get(f"/case/{bench.code}/release"))


def overruling(page, key):
    return page.form("overruled", key)


def overrule_all(bench, supervisor, reason="The dentist asked for it"):
    for one in verdict(bench).blocking:
        overruling(page_for(bench, supervisor), one.reason.key).send(supervisor, reason=reason)


def released(bench):
    setting = ready(bench)
    bench.at("release").form("released").send(bench.client)
    return setting


def test_everything_that_blocks_is_listed_with_its_remedy_and_the_way_there(bench):
    read(bench)

    page = bench.at("release")

    blocking = verdict(bench).blocking
    assert len(blocking) > 3
    assert len(blocking) == page.text.count('class="finding blocks"')
    assert f"{len(blocking)} reasons stop the release" in page.text
    assert page.text.count('class="finding ') == page.text.count('class="remedy"')
    assert {f"/case/{bench.code}/{one.reason.step}" for one in blocking} <= {
        link.split("?")[0] for link in page.links
    }
    assert not page.has("released")


def test_a_reason_names_the_entries_it_rests_on(bench):
    setting = ready(bench)
    moved_on(bench, setting)

    text = bench.at("release").text

    assert "Rests on" in text
    assert "TEC read 35 MB with the 0.50\u00a0mm gauge" in text


def test_a_technician_releases_when_nothing_blocks(bench):
    ready(bench)
    case = fold(bench.code, bench.entries())

    answer = bench.at("release").form("released").send(bench.client)

    made = bench.entries("released")
    assert 303 == answer.status_code
    assert set(grounds(case)) == set(made[0].body.grounds)
    page = bench.at("release")
    assert "Released to design" in page.text
    assert "TEC, 2026-03-09" in page.text
    assert f"/case/{bench.code}/sheet" in page.links


def test_a_double_tap_releases_once(bench):
    ready(bench)
    form = bench.at("release").form("released")
    form.send(bench.client)
    again = form.send(bench.client)

    assert 303 == again.status_code
    assert 1 == len(bench.entries("released"))


def test_a_release_is_checked_again_when_it_is_recorded(bench):
    ready(bench)
    form = bench.at("release").form("released")
    bench.client.send(
        f"/case/{bench.code}/withdraw/{bench.entries('tripod_marked')[0].id}", {"reason": "smudged"}
    )

    answer = form.send(bench.client)

    assert answer.status_code in (409, 422)
    assert [] == bench.entries("released")
    assert "cannot go to design" in answer.text


def test_a_release_of_a_page_that_saw_less_is_out_of_date(bench):
    setting = ready(bench)
    form = bench.at("release").form("released")
    bench.state(UndercutRead(34, "MB", 0.25, "both"), setting=setting.id)

    answer = form.send(bench.client)

    assert 409 == answer.status_code
    assert [] == bench.entries("released")


def test_a_supervisor_overrules_each_reason_and_then_it_may_be_released(bench, supervisor):
    read(bench)
    count = len(verdict(bench).blocking)

    overrule_all(bench, supervisor)

    page = bench.at("release")
    assert (count, 0) == (len(bench.entries("overruled")), len(verdict(bench).blocking))
    assert "Overruled by SUP: The dentist asked for it" in page.text
    assert page.has("released")


def test_an_overruling_covers_that_reason_alone(bench, supervisor):
    read(bench)
    before = [one.reason.key for one in verdict(bench).blocking]

    overruling(page_for(bench, supervisor), before[0]).send(supervisor, reason="On loan")

    assert before[1:] == [one.reason.key for one in verdict(bench).blocking]


def test_overruling_without_a_reason_is_refused_beside_its_field(bench, supervisor):
    read(bench)
    key = verdict(bench).blocking[0].reason.key

    page = shown(overruling(page_for(bench, supervisor), key).send(supervisor, reason=" "))

    assert 422 == page.status
    assert f"why-{key.replace(':', '-')}-error" in page.ids
    assert 1 == sum(one.endswith("-error") for one in page.ids)
    assert [] == bench.entries("overruled")


def test_a_technician_is_offered_no_overruling_and_refused_one(bench):
    setting = read(bench)
    page = bench.at("release")
    key = verdict(bench).blocking[0].reason.key

    answer = bench.client.send(
        f"/case/{bench.code}/record/overruled",
        {
            "rule": key.split(":")[0],
            "covers": key,
            "reason": "x",
            "setting": setting.id,
            "step": "release",
        },
    )

    assert not any(form.action.endswith("/overruled") for form in page.forms)
    assert 403 == answer.status_code


def test_a_supervisor_lifts_an_overruling(bench, supervisor, hands):
    read(bench)
    key = verdict(bench).blocking[0].reason.key
    overruling(page_for(bench, supervisor), key).send(supervisor, reason="On loan")
    hands.forward(120)
    made = bench.entries("overruled")[0]

    form_to(page_for(bench, supervisor), f"/withdraw/{made.id}").send(supervisor)

    assert key in [one.reason.key for one in verdict(bench).blocking]


def test_what_changed_after_a_release_recalls_the_cast_and_is_told(bench):
    released(bench)
    bench.client.send(
        f"/case/{bench.code}/withdraw/{bench.entries('undercut_read')[0].id}",
        {"reason": "read too fast"},
    )

    page = bench.at("release")

    assert "Recalled" in page.text
    assert "read too fast" in page.text
    assert "A supervisor takes the cast back" in page.text
    assert not page.has("recall_taken")


def test_a_new_setting_after_a_release_recalls_the_cast(bench):
    setting = released(bench)
    moved_on(bench, setting)

    page = bench.at("release")

    assert "Came since" in page.text
    assert "tilted the table" in page.text
    assert '<span class="name">Release</span><span class="word">recalled</span>' in page.text


def test_a_supervisor_takes_the_cast_back_and_it_is_released_again(bench, supervisor):
    setting = released(bench)
    bench.state(UndercutRead(34, "MB", 0.25, "both"), setting=setting.id)
    page_for(bench, supervisor).form("recall_taken").send(supervisor)

    page = bench.at("release")
    page.form("released").send(bench.client)

    assert "Release to design again" in page.text
    assert ["released", "recall_taken", "released"] == [
        e.kind for e in bench.entries() if e.kind in ("released", "recall_taken")
    ]
    assert "The records it rests on stand unchanged" in bench.at("release").text


def test_a_technician_cannot_take_a_recalled_cast_back(bench):
    setting = released(bench)
    moved_on(bench, setting)
    release = bench.entries("released")[0]

    answer = bench.client.send(
        f"/case/{bench.code}/record/recall_taken", {"release": release.id, "step": "release"}
    )

    assert 403 == answer.status_code
    assert [] == bench.entries("recall_taken")


def test_the_page_says_once_who_decides_and_praises_nothing(bench):
    released(bench)

    text = bench.at("release").text

    assert 1 == text.count("for the prescribing dentist to decide")
    assert not any(word in text.lower() for word in (" good", " safe"))


def test_a_reader_sees_what_blocks_and_is_offered_nothing(bench, reader):
    ready(bench)

    page = page_for(bench, reader)

    assert 200 == page.status
    assert not page.has("released")


def test_the_person_named_without_a_pin_confirms_on_the_page_of_release(bench):
    said = bench.state(Disturbed("arm_moved"), setting=mounted(bench).id)
    bench.state(PersonUnconfirmed((said.id,)))
    page = bench.at("release")
    assert "1 entry names TEC without a PIN" in page.text

    page.form("person_confirmed").send(bench.client)

    assert [one.body.entries for one in bench.entries("person_confirmed")] == [(said.id,)]
    assert "person_confirmed" not in bench.at("release").text
