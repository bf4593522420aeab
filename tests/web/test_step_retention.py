from __future__ import annotations

import re

import pytest

from bench.core.entries import ClaspWished, Exempted, PolicySet, TipChosen, UndercutRead
from bench.words import Words
from tests.facts.retention_cells import CELLS
from tests.web.latercases import form_to, locked, moved_on, read
from tests.web.sentforms import shown

TIP = {"material": "wrought_wire", "reciprocation": "plate", "arm_mm": "9"}
SITES = {"B": "MB", "L": "ML"}


def chosen(bench):
    return [entry.body for entry in bench.entries("tip_chosen")]


def at_site(bench, tooth=35, surface="MB"):
    return bench.at("retention", tooth=tooth, surface=surface)


def with_tips(bench, setting, *sites, material="wrought_wire", arm_mm=9.0):
    for tooth, surface in sites:
        tip = TipChosen(tooth, surface, material, "plate", arm_mm)
        bench.state(tip, setting=setting.id)


def test_readings_that_touch_are_offered_wished_clasps_first(bench):
    read(bench)

    links = [one for one in bench.at("retention").links if "surface=" in one]

    offered = [
        one.split("?")[1]
        for one in links
        if "tooth=45&surface=" in one or "tooth=35&surface=" in one
    ]
    assert ["tooth=45&surface=MB", "tooth=35&surface=MB", "tooth=45&surface=ML"] == offered


def test_a_tip_is_chosen_with_what_the_wish_proposes(bench):
    read(bench)
    form = at_site(bench).form("tip_chosen")

    answer = form.send(bench.client, reciprocation="plate")

    assert 303 == answer.status_code
    assert [TipChosen(35, "MB", "wrought_wire", "plate", 9.0)] == chosen(bench)


def test_after_a_choice_the_readings_are_offered_again(bench):
    read(bench)
    answer = at_site(bench).form("tip_chosen").send(bench.client, **TIP)

    page = shown(bench.client.get(answer.location))

    assert "Readings that touch" in page.text
    assert not page.has("tip_chosen")


def test_a_double_tap_chooses_once(bench):
    read(bench)
    form = at_site(bench).form("tip_chosen")
    form.send(bench.client, **TIP)
    form.send(bench.client, **TIP)

    assert 1 == len(chosen(bench))


def test_a_site_where_nothing_touches_is_sent_to_the_undercuts(bench):
    read(bench)

    page = at_site(bench, 35, "B")

    assert not page.has("tip_chosen")
    assert "No gauge touches on 35 B" in page.text
    assert any("/undercuts?tooth=35&surface=B" in one for one in page.links)


def test_missing_reciprocation_keeps_what_was_typed(bench):
    read(bench)
    form = at_site(bench).form("tip_chosen")

    page = shown(form.send(bench.client, material="co_cr", arm_mm="16,5"))

    kept = page.form("tip_chosen")
    assert 422 == page.status
    assert "reciprocation-error" in page.ids
    assert ("co_cr", "16,5") == (kept.value("material"), kept.value("arm_mm"))


def test_a_tip_is_changed_with_a_reason(bench):
    setting = read(bench)
    with_tips(bench, setting, (35, "MB"))
    form = at_site(bench).form("tip_chosen")

    form.send(bench.client, material="co_cr", reason="It was entered wrong")

    assert bench.entries("tip_chosen")[0].id in bench.entries("tip_chosen")[1].supersedes
    assert "co_cr" == chosen(bench)[1].material


def test_a_tip_is_taken_back_with_one_tap(bench, hands):
    setting = read(bench)
    with_tips(bench, setting, (35, "MB"))
    hands.forward(120)
    tip = bench.entries("tip_chosen")[0]

    form_to(bench.at("retention"), f"/withdraw/{tip.id}").send(bench.client)

    assert "No tip chosen yet" in bench.at("retention").text


def letters_read(bench, setting, tooth, letters):
    for letter in letters:
        site = SITES[letter]
        if (tooth, site) not in {(35, "MB"), (45, "MB"), (45, "ML")}:
            bench.state(UndercutRead(tooth, site, 0.25, "both"), setting=setting.id)
        with_tips(bench, setting, (tooth, site))


@pytest.mark.parametrize(("right", "left", "balanced"), CELLS)
def test_the_verdict_is_that_of_the_textbook_table(bench, right, left, balanced):
    setting = read(bench)
    letters_read(bench, setting, 45, right)
    letters_read(bench, setting, 35, left)

    text = bench.at("retention").text

    assert balanced == ("<strong>Balanced</strong>" in text)
    assert balanced != ("<strong>Not balanced</strong>" in text)


def test_the_letters_of_both_sides_and_what_the_pushes_leave_are_said(bench):
    setting = read(bench)
    with_tips(bench, setting, (45, "ML"), (35, "MB"))

    text = bench.at("retention").text

    assert "<dd>L</dd>" in text
    assert "<dd>B</dd>" in text
    assert "go all one way" in text
    assert 'class="overlay resultant stops"' in text


def test_a_tip_shows_its_distance_from_the_fulcrum_line_without_praise(bench):
    setting = read(bench)
    with_tips(bench, setting, (35, "MB"))

    text = bench.at("retention").text

    assert "mm from the fulcrum line, on the side away from the base" in text
    assert 'class="overlay fulcrum"' in text
    main = text.split('id="main"')[1].split("</main>")[0].lower()
    assert not any(word in main for word in ("good", "safe", "well placed"))


def test_warnings_stand_beside_their_tip(bench):
    setting = read(bench)
    with_tips(bench, setting, (35, "MB"), material="co_cr", arm_mm=8.0)

    text = bench.at("retention").text.split("Tips chosen")[1].split("</li>")[0]

    assert "8.00\u00a0mm" in text
    assert text.count('class="small warn"') >= 2


def test_a_page_of_an_earlier_setting_keeps_the_choice(bench):
    setting = read(bench)
    form = at_site(bench).form("tip_chosen")
    moved_on(bench, setting)

    answer = form.send(bench.client, **TIP)

    assert 409 == answer.status_code
    assert [] == chosen(bench)
    assert "out of date" in answer.text or "set anew" in answer.text


def test_a_stale_tip_does_not_count_and_is_confirmed_with_one_tap(bench):
    setting = read(bench)
    with_tips(bench, setting, (35, "MB"))
    moved_on(bench, setting)
    page = bench.at("retention")

    form_to(page, "/record/confirmed", finding=bench.entries("tip_chosen")[0].id).send(bench.client)

    assert "chosen at an earlier setting" in page.text
    assert "the undercut was read at an earlier setting" in bench.at("retention").text


def test_a_supervisor_lets_named_guide_planes_stand_with_a_reason(bench, supervisor):
    read(bench)
    page = shown(supervisor.get(f"/case/{bench.code}/retention"))
    refused = page.form("exempted").send(supervisor, sites=["35D", "45D"])

    page.form("exempted").send(supervisor, sites=["35D", "45D"], reason="Long parallel planes")

    kept = shown(refused).form("exempted")
    assert 422 == refused.status_code
    assert ["35D", "45D"] == kept.values("sites")
    assert [Exempted(("35D", "45D"))] == [e.body for e in bench.entries("exempted")]
    assert "guide planes stand for it" in bench.at("retention").text


def test_a_technician_is_offered_no_exemption_and_refused_one(bench):
    setting = read(bench)
    page = bench.at("retention")

    answer = bench.client.send(
        f"/case/{bench.code}/record/exempted",
        {"sites": "35D", "reason": "so", "setting": setting.id, "step": "retention"},
    )

    assert not page.has("exempted")
    assert "A supervisor may let" in page.text
    assert 403 == answer.status_code
    assert [] == bench.entries("exempted")


def test_nothing_read_leads_to_the_undercuts(bench):
    locked(bench)
    bench.state(ClaspWished(34, "MB", "bar", "co_cr", 0.25))

    page = bench.at("retention")

    assert "Read the undercuts first" in page.text
    assert f"/case/{bench.code}/undercuts" in page.links


def test_each_tip_is_drawn_with_its_distance_from_the_fulcrum_line(bench):
    setting = read(bench)
    with_tips(bench, setting, (35, "MB"), (45, "MB"))

    page = bench.at("retention").text

    # Rests on 35 and 45, both tips on their mesial side: away from the bases behind.
    assert 2 == len(re.findall(r'class="overlay space"', page))
    assert re.search(r'class="overlay-label"[^>]*>\+\d\.\d<', page)
    assert "On the map + lies away from the base" in page


def test_arms_are_compared_only_where_the_lab_wishes_it(bench):
    setting = read(bench)
    with_tips(bench, setting, (35, "MB"), arm_mm=9.0)
    with_tips(bench, setting, (45, "MB"), arm_mm=12.0)

    before = bench.at("retention").text
    bench.say(PolicySet("compare_arms", "on"), person="SUP", reason="agreed")
    after = bench.at("retention").text

    # Theory of elastic beams: (12 / 9)³ = 2.37.
    said = "35 MB pushes 2.4 times as hard as 45 MB"
    assert said not in before
    assert said in after
    assert "No force is foretold." in after


def test_the_words_about_arms_name_no_force_and_praise_nothing():
    known = Words("en").keys()
    keys = [key for key in known if key.startswith("retentionpage.arms.")]
    said = " ".join(Words("en")._sentences[key].lower() for key in keys)

    assert not re.search(r"\b(n|newton|newtons|mpa|good|safe|ideal|better|best)\b", said)
