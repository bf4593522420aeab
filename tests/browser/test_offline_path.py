"""One write path: on a paired tablet whatever is recorded is saved there first, then sent, then shown."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Playwright, expect

from bench.core.entries import CaseOpened
from bench.core.ids import case_code
from tests.browser.conftest import Served
from tests.browser.hand import say
from tests.browser.tablets import TabletHand, at_hand, pair, persistent, started_again, watching
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.surveyedcases import OnBench, mounted

# A tab that is sending holds this lock, and others wait for their turn.
SENDING = """() => new Promise((held) => navigator.locks.request("tiltbook-drain",
  () => new Promise((done) => { globalThis.done = done; held(true); })))"""
COPIES_WAIT = """async () => (await navigator.locks.query()).pending.some(
  (one) => one.name === "tiltbook-drain" && one.mode === "shared")"""


@pytest.fixture
def tablet(
    playwright: Playwright, tmp_path: Path, served: Served, watch: Watch
) -> Iterator[BrowserContext]:
    context = persistent(playwright, tmp_path / "browser", served)
    yield context
    context.close()


def test_an_entry_is_saved_here_then_sent_then_shown(
    tablet: BrowserContext, served: Served, onbench: OnBench, watch: Watch
) -> None:
    mounted(onbench)
    page = watching(tablet, watch)
    hand = TabletHand(page)
    device = pair(page, served)
    hand.sign_in("TEC", PINS["TEC"])
    hand.goto(f"/case/{onbench.code}/undercuts?tooth=35&surface=MB")

    page.locator('button[name="contact"][value="both"]').click()

    expect(page.locator("#said")).to_contain_text(
        say("recorded.said", what=say("recorded.kind.undercut_read"))
    )
    (entry,) = onbench.entries("undercut_read")
    assert (device, 1, "TEC") == (entry.device, entry.seq, entry.person)
    expect(page.locator("[data-strip]").first).to_contain_text(say("strip.strip.sent"))


def test_an_own_case_is_at_hand_though_the_board_does_not_list_it(
    tablet: BrowserContext, served: Served, onbench: OnBench, watch: Watch
) -> None:
    mounted(onbench)
    for number in range(1, 60):
        code = case_code(number)
        served.say(
            CaseOpened(code, f"26-1{number:03d}", "lower", "master"), case=code, person="SUP"
        )
    hand = TabletHand(watching(tablet, watch))
    pair(hand.page, served)
    hand.sign_in("TEC", PINS["TEC"])
    hand.goto("/")
    expect(hand.page.locator(f'a[href^="/case/{onbench.code}/"]')).to_have_count(0)
    at_hand(hand.page, f"/case/{onbench.code}/offline")
    served.stop()
    hand.goto(f"/case/{onbench.code}/undercuts")

    expect(hand.part("undercut_read").locator('button[name="contact"]').first).to_be_visible()
    started_again(served)


def test_copies_wait_until_what_was_stated_is_sent(
    tablet: BrowserContext, served: Served, onbench: OnBench, watch: Watch
) -> None:
    mounted(onbench)
    hand = TabletHand(watching(tablet, watch))
    pair(hand.page, served)
    sending = tablet.new_page()
    sending.goto("/health")
    sending.evaluate(SENDING)
    hand.page.bring_to_front()
    hand.sign_in("TEC", PINS["TEC"])
    offline = f"/case/{onbench.code}/offline"
    hand.page.goto(f"/case/{onbench.code}/undercuts")
    hand.page.wait_for_function(COPIES_WAIT)
    assert not hand.page.evaluate("(path) => caches.match(path).then(Boolean)", offline)
    sending.evaluate("() => globalThis.done()")

    at_hand(hand.page, offline)
