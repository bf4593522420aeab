"""The tablet's records held by a page of an older version: said, passed by, and taken up again by itself."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import NewHand, Served
from tests.browser.hand import say
from tests.browser.tablets import AWAY, READY, TabletHand, pair
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.surveyedcases import OnBench, mounted

# The version after this one, as far as the store can tell: the records are to be opened in it.
NEWER = """const open = IDBFactory.prototype.open;
IDBFactory.prototype.open = function (name, version) { return open.call(this, name, (version ?? 1) + 1); };"""
# A page that holds the records and does not let go when asked to.
HOLD = """() => new Promise((done) => {
  const asked = indexedDB.open("tiltbook");
  asked.onsuccess = () => { globalThis.held = asked.result; done(true); };
})"""


@pytest.fixture
def old(hand: NewHand, served: Served, onbench: OnBench, watch: Watch) -> TabletHand:
    """A tab of a paired tablet, the technician signed in."""
    watch.expected += AWAY
    mounted(onbench)
    page = hand().page
    pair(page, served)
    return TabletHand(page).sign_in("TEC", PINS["TEC"])  # type: ignore[return-value]


def newer_tab(old: TabletHand) -> Page:
    page = old.page.context.new_page()
    page.add_init_script(NEWER)
    return page


def test_a_tab_of_the_older_version_lets_the_newer_one_have_the_records(
    old: TabletHand, onbench: OnBench
) -> None:
    old.goto("/")
    page = newer_tab(old)
    page.goto(f"/case/{onbench.code}/offline")

    expect(page.locator(READY)).to_be_attached()


def test_records_held_by_another_page_are_said_and_taken_up_once_it_is_gone(
    old: TabletHand, served: Served, onbench: OnBench
) -> None:
    holding = old.page.context.new_page()
    holding.goto("/health")
    holding.evaluate(HOLD)
    page = newer_tab(old)
    page.goto(f"/case/{onbench.code}/undercuts?tooth=35&surface=MB")
    strip = page.locator("[data-strip]").first
    expect(strip).to_have_text(say("strip.strip.no_store"))
    page.locator('button[name="contact"][value="both"]').click()
    expect(page.locator("#said")).to_contain_text(say("recorded.kind.undercut_read"))
    (read,) = onbench.entries("undercut_read")
    assert read.device.startswith("bench-")
    holding.close()

    expect(page.locator(READY)).to_be_attached(timeout=12_000)
    expect(strip).not_to_have_text(say("strip.strip.no_store"))
