"""Without the bench PC: a contradiction is settled, a gauge checked, a drill read; all of it arrives once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Locator, Playwright, expect

from bench.core.drills import drills_from
from bench.core.entries import DrillPlanned, Entry, InstrumentAdded, UndercutRead
from bench.core.lab import Instrument
from tests.browser.conftest import Served
from tests.browser.hand import say
from tests.browser.tablets import (
    TabletHand,
    at_hand,
    killed,
    pair,
    persistent,
    started_again,
    watching,
)
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.surveyedcases import OnBench, mounted


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "browser"


@pytest.fixture
def tablet(
    playwright: Playwright, folder: Path, served: Served, watch: Watch
) -> Iterator[BrowserContext]:
    context = persistent(playwright, folder, served)
    yield context
    context.close()


@pytest.fixture
def hand(tablet: BrowserContext, served: Served, watch: Watch) -> TabletHand:
    """A paired tablet with the technician signed in."""
    page = watching(tablet, watch)
    pair(page, served)
    return TabletHand(page).sign_in("TEC", PINS["TEC"])  # type: ignore[return-value]


def disputed(onbench: OnBench) -> tuple[Entry, Entry]:
    setting = mounted(onbench)
    told = [UndercutRead(34, "MB", 0.25, contact) for contact in ("both", "lip_short")]
    first, second = (
        onbench.state(body, setting=setting.id, person=person)
        for body, person in zip(told, ("TEC", "SUP"), strict=True)
    )
    return first, second


def gauge(served: Served) -> Instrument:
    return served.app.extensions["log"].lab().instruments["G1"]


def check(hand: TabletHand) -> Locator:
    """Fill in the check of the gauge, and return the key that records it."""
    card = hand.page.locator('section[aria-labelledby="h-G1"]')
    card.locator("details", has=hand.page.locator("form")).last.locator("summary").click()
    for name, text in (("reading", "0.26"), ("reference", "0.25"), ("uncertainty", "0,01")):
        card.locator(f'input[name="{name}"]').fill(text)
    card.locator('input[name="passed"]').check()
    return card.get_by_role("button", name=say("instruments.check_go", tag="G1"))


def sent(hand: TabletHand) -> None:
    hand.page.evaluate("() => dispatchEvent(new Event('online'))")
    hand.sent()


def sent_and_asked(hand: TabletHand) -> None:
    """Send what waits; the page is then shown anew by a bench PC that knows nobody yet, and asks who it is."""
    sent(hand)
    hand.page.wait_for_url("**/who**")


def test_what_is_settled_and_checked_meanwhile_outlives_the_browser_and_arrives_once(
    playwright: Playwright,
    folder: Path,
    hand: TabletHand,
    served: Served,
    onbench: OnBench,
    watch: Watch,
) -> None:
    first, second = disputed(onbench)
    served.say(InstrumentAdded("G1", "gauge", 0.25), person="SUP")
    trail = f"/case/{onbench.code}/trail"
    hand.goto(trail)
    at_hand(hand.page, trail, "/instruments")
    served.stop()

    hand.goto(trail)
    expect(hand.page.locator("[data-seated-says]")).to_contain_text("TEC")
    form = hand.page.locator("form[data-settles]")
    form.locator(f'input[value="{second.id}"]').check()
    form.locator('input[name="reason"]').fill("  ")
    go = form.get_by_role("button", name=say("trail.settle.go"))
    go.click()
    expect(hand.page.locator("#said")).to_have_text(
        say("errors.entry.missing", field=say("fields.reason"))
    )
    form.locator('input[name="reason"]').fill("Read again together")
    hand.keep(go, "undercut_read")
    expect(form).to_be_hidden()
    hand.sees("strip.here.settled")
    hand.goto("/instruments")
    hand.keep(check(hand), "instrument_checked")
    expect(hand.page.locator('[data-checks-of="G1"] li')).to_contain_text(
        say("strip.offline.waits")
    )
    hand.waiting(3)
    killed(folder)
    again = persistent(playwright, folder, served)
    other = TabletHand(watching(again, watch))
    other.goto(trail)
    expect(other.page.locator("form[data-settles]")).to_be_hidden()
    other.goto("/outbox")
    expect(other.page.locator("[data-waiting] li")).to_have_count(3)
    started_again(served)
    sent(other)
    other.sign_in("TEC", PINS["TEC"]).goto("/instruments")

    case = served.app.extensions["log"].case(onbench.code)
    (said,) = case.said(UndercutRead)
    (checked,) = gauge(served).checks
    assert () == case.contradictions
    assert (second.body, "Read again together") == (said.body, said.entry.reason)
    assert {first.id, second.id} == set(case.aside)
    assert {checked.id: 0.01} == gauge(served).uncertainties
    assert () == case.unconfirmed + served.app.extensions["log"].lab().unconfirmed
    card = other.page.locator('section[aria-labelledby="h-G1"]')
    expect(card).to_contain_text("0.26 / 0.25 ± 0.01")
    again.close()


def test_a_check_by_somebody_the_tablet_could_not_ask_counts_once_they_confirm_it(
    hand: TabletHand, served: Served, onbench: OnBench
) -> None:
    served.say(InstrumentAdded("G1", "gauge", 0.25), person="SUP")
    hand.goto("/instruments")
    at_hand(hand.page, "/instruments")
    served.stop()
    hand.goto("/instruments")
    hand.page.locator("#person-here").select_option("SUP")
    expect(hand.page.locator("[data-unseated-says]")).to_contain_text("SUP")
    hand.keep(check(hand), "instrument_checked")
    started_again(served)
    sent_and_asked(hand)
    before = gauge(served)
    hand.sign_in("SUP", PINS["SUP"]).goto("/instruments")
    hand.page.get_by_role("button", name=say("instruments.confirm.go")).click()
    hand.sees("instruments.said.confirmed")

    assert [(), 1] == [before.checks, len(before.unproved)]
    assert before.unproved == gauge(served).checks


def test_a_contradiction_is_settled_here_then_sent_then_shown(
    hand: TabletHand, served: Served, onbench: OnBench
) -> None:
    first, _ = disputed(onbench)
    hand.goto(f"/case/{onbench.code}/trail")
    form = hand.page.locator("form[data-settles]")
    form.locator(f'input[value="{first.id}"]').check()
    form.locator('input[name="reason"]').fill("The gauge slipped")
    form.get_by_role("button", name=say("trail.settle.go")).click()

    expect(hand.page.locator("#said")).to_have_text(say("trail.said_settled"))
    expect(hand.page.locator("[data-settles]")).to_have_count(0)
    (said,) = onbench.entries("undercut_read")[2:]
    assert said.device.startswith("tablet-")


def test_where_statements_disagree_the_trail_is_at_hand_though_nobody_opened_it(
    hand: TabletHand, served: Served, onbench: OnBench
) -> None:
    disputed(onbench)
    hand.goto("/")
    at_hand(hand.page, f"/case/{onbench.code}/trail")
    served.stop()

    hand.goto(f"/case/{onbench.code}/trail")
    expect(hand.page.locator("form[data-settles]")).to_be_visible()


def test_a_settlement_that_waits_may_be_taken_back_and_the_question_is_open_again(
    hand: TabletHand, served: Served, onbench: OnBench
) -> None:
    first, second = disputed(onbench)
    hand.goto(f"/case/{onbench.code}/trail")
    served.stop()
    form = hand.page.locator("form[data-settles]")
    form.locator(f'input[value="{first.id}"]').check()
    form.locator('input[name="reason"]').fill("The gauge slipped")
    hand.keep(form.get_by_role("button", name=say("trail.settle.go")), "undercut_read")
    hand.page.get_by_role("button", name=say("strip.said.undo")).click()

    expect(form).to_be_visible()
    started_again(served)
    sent(hand)
    (found,) = served.app.extensions["log"].case(onbench.code).contradictions
    assert (first, second) == found.entries


def test_a_drill_asks_for_the_next_reading_once_the_one_before_has_arrived(
    hand: TabletHand, served: Served
) -> None:
    plan = served.say(DrillPlanned("distance", ("P", "Q"), ("TEC", "SUP"), 2, 8), person="SUP")
    page = hand.page
    title = page.locator("h1")
    hand.goto(f"/drills/{plan.id}/next")
    page.locator('input[name="d_mm"]').fill("40.2")
    page.get_by_role("button", name=say("drills.next.go")).click()
    expect(title).to_have_text(say("drills.next.title", turn=2, wanted=4))
    expect(page.locator('input[name="d_mm"]')).to_have_value("")
    served.stop()
    page.locator('input[name="d_mm"]').fill("38.9")
    page.get_by_role("button", name=say("drills.next.go")).click()
    hand.sees("strip.here.read")
    hand.waiting(1)
    expect(page.locator("form[data-proved]")).to_be_hidden()
    started_again(served)
    sent_and_asked(hand)
    hand.sign_in("TEC", PINS["TEC"]).goto(f"/drills/{plan.id}/next")
    expect(title).to_have_text(say("drills.next.title", turn=3, wanted=4))

    drill = drills_from(served.app.extensions["log"].lab_entries())[plan.id]
    read = {turn: one.body.values_mm for turn, one in drill.read["TEC"].items()}
    assert {1: (40.2,), 2: (38.9,)} == read
    assert () == drill.uncounted
