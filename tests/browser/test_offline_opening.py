"""Without the bench PC a case is opened, disturbed and put back; the bench PC works the figures out."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from bench.core.entries import Disturbed, RemountRead
from bench.core.ids import case_code
from tests.browser.conftest import NewHand, Served
from tests.browser.hand import say
from tests.browser.tablets import AWAY, TabletHand, at_hand, choose, pair, started_again
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.latercases import locked, marks
from tests.web.surveyedcases import OnBench

NewTablet = Callable[[], TabletHand]
PRINTED = case_code(1_234_567)
RECEIVED = ("cast_received", "disinfection_recorded", "prescription_recorded", "teeth_recorded")


@pytest.fixture
def tablet(hand: NewHand, served: Served, watch: Watch) -> NewTablet:
    """Make a paired tablet with the technician signed in."""
    watch.expected += AWAY

    def made() -> TabletHand:
        page = hand().page
        pair(page, served)
        return TabletHand(page).sign_in("TEC", PINS["TEC"])  # type: ignore[return-value]

    return made


def back_again(hand: TabletHand, served: Served) -> None:
    started_again(served)
    hand.page.evaluate("() => dispatchEvent(new Event('online'))")
    hand.sent()


def heights(hand: TabletHand, part: str, *texts: str) -> None:
    for name, text in zip(("h_a_mm", "h_b_mm", "h_c_mm"), texts, strict=True):
        hand.part(part).locator(f'input[name="{name}"]').fill(text)


def receive(hand: TabletHand) -> None:
    """Record what the step of receiving asks for."""
    cast = hand.part("cast_received").locator('button[value="sound"]')
    hand.keep(cast, "cast_received")
    clean = hand.part("disinfection_recorded").locator('button[value="disinfected"]')
    hand.keep(clean, "disinfection_recorded")
    paper = hand.part("prescription_recorded")
    paper.locator("#reference").fill("Rx 777")
    paper.locator("#dated").fill("2026-03-02")
    hand.keep(paper.get_by_role("button"), "prescription_recorded")
    teeth = hand.part("teeth_recorded")
    choose(teeth, "replaced", "36")
    choose(teeth, "missing", "37")
    hand.keep(teeth.get_by_role("button"), "teeth_recorded")


def test_a_printed_label_is_opened_without_the_bench_pc(tablet: NewTablet, served: Served) -> None:
    hand = tablet().goto("/")
    at_hand(hand.page, "/offline/label")
    served.stop()
    hand.goto(f"/offline/label?code={PRINTED}")
    part = hand.part("case_opened")
    number, go = part.locator('input[name="number"]'), part.get_by_role("button").last
    choose(part, "arch", "lower")
    number.fill("Gomez")
    go.click()
    expect(part.locator("[data-opening-says]")).to_contain_text("Gomez")
    number.fill("26-0777")
    hand.keep(go, "case_opened")
    receive(hand)
    hand.keep(hand.part("mounted").get_by_role("button").last, "mounted")
    for kind in ("case_opened", "teeth_recorded"):
        expect(hand.page.locator(f'[data-part="{kind}"]')).to_be_hidden()
    back_again(hand, served)

    case = served.app.extensions["log"].case(PRINTED)
    assert ("26-0777", "lower") == (case.opened.body.number, case.arch)
    assert ([36, 37], (36,)) == (sorted(case.teeth.missing), case.teeth.replaced)
    assert {"case_opened", *RECEIVED, "mounted"} == {entry.kind for entry in case.entries}


def test_a_case_opened_on_a_tablet_in_reach_gets_a_code_and_goes_on_at_the_bench(
    tablet: NewTablet, served: Served
) -> None:
    hand = tablet().goto("/case/new")
    hand.page.locator("#number").fill("26-0778")
    choose(hand.page.locator("main"), "arch", "upper")
    hand.page.get_by_role("button", name=say("cases.new.go")).click()
    hand.page.wait_for_url("**/case/*/receive")

    code = hand.page.url.split("/")[-2]
    opened = served.app.extensions["log"].case(code).opened
    assert ("26-0778", "tablet") == (opened.body.number, opened.entry.device.split("-")[0])


def test_a_re_mount_read_without_the_bench_pc_settles_what_was_disturbed_meanwhile(
    tablet: NewTablet, served: Served, onbench: OnBench
) -> None:
    setting = locked(onbench)
    tripod = onbench.state(marks(), setting=setting.id)
    hand = tablet().goto(f"/case/{onbench.code}/offline")
    at_hand(hand.page, f"/case/{onbench.code}/offline")
    served.stop()
    fell = hand.part("disturbed").locator('button[name="what"][value="arm_moved"]')
    hand.keep(fell, "disturbed")
    part = hand.part("remount_marks")
    heights(hand, "remount_marks", "0", "", "0.1")
    part.get_by_role("button", name=say("offline.act.record")).click()
    expect(hand.page.locator("#said")).to_contain_text("height of B")
    heights(hand, "remount_marks", "0", "0.05", "0.1")
    hand.keep(part.get_by_role("button", name=say("offline.act.record")), "remount_read")
    back_again(hand, served)

    case = served.app.extensions["log"].case(onbench.code)
    (said,) = case.said(RemountRead)
    assert (tripod.id, (0, 0.05, 0.1)) == (said.body.tripod, said.body.heights_mm)
    assert [one.entry.id for one in case.said(Disturbed)] == list(said.body.answers)
    assert () == case.disturbances


def test_the_page_of_a_re_mount_keeps_it_here_first_and_shows_its_figures(
    tablet: NewTablet, served: Served, onbench: OnBench
) -> None:
    setting = locked(onbench)
    onbench.state(marks(), setting=setting.id)
    hand = tablet().goto(f"/case/{onbench.code}/remount")
    for name, text in (("h_a_mm", "0"), ("h_b_mm", "0.2"), ("h_c_mm", "0.1")):
        hand.number(name, text)
    hand.page.get_by_role("button", name=say("remount.record_it")).click()
    expect(hand.page.locator("#said")).to_contain_text(say("recorded.kind.remount_read"))
    hand.sent()
    expect(hand.page.locator("ol.rounds li")).to_have_count(1)

    (entry,) = onbench.entries("remount_read")
    assert entry.device.startswith("tablet-")
