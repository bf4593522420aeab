"""Without the bench PC no PIN can be asked for: whose name stands unproved is noted, and confirmed there later."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from bench.core.entries import PersonUnconfirmed
from tests.browser.conftest import NewHand, Served
from tests.browser.hand import say
from tests.browser.tablets import AWAY, TabletHand, at_hand, pair, site, started_again
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.surveyedcases import OnBench, mounted


@pytest.fixture
def tablet(hand: NewHand, served: Served, onbench: OnBench, watch: Watch) -> TabletHand:
    """A paired tablet with the technician signed in, the offline page at hand, the clock in the test's hands."""
    watch.expected += AWAY
    mounted(onbench)
    page = hand().page
    pair(page, served)
    made = TabletHand(page).sign_in("TEC", PINS["TEC"])
    made.goto(f"/case/{onbench.code}/offline")
    at_hand(page, f"/case/{onbench.code}/offline")
    return made  # type: ignore[return-value]


def undercut(hand: TabletHand) -> None:
    part = hand.part("undercut_read")
    site(part, 35, "MB")
    hand.keep(part.locator('button[name="contact"][value="both"]'), "undercut_read")


def back_again(hand: TabletHand, served: Served) -> None:
    started_again(served)
    hand.page.evaluate("() => dispatchEvent(new Event('online'))")
    hand.sent()


def notes(served: Served, onbench: OnBench) -> list[PersonUnconfirmed]:
    found = served.app.extensions["log"].case(onbench.code).said(PersonUnconfirmed)
    return [said.body for said in found]


def test_whoever_has_shown_the_pin_lately_records_without_a_note(
    tablet: TabletHand, served: Served, onbench: OnBench
) -> None:
    served.stop()
    expect(tablet.page.locator("[data-seated-says]")).to_contain_text("TEC")
    undercut(tablet)
    back_again(tablet, served)

    assert [] == notes(served, onbench)


def test_another_name_than_the_one_signed_in_is_noted_until_that_person_confirms(
    tablet: TabletHand, served: Served, onbench: OnBench
) -> None:
    served.stop()
    tablet.page.locator("#person-here").select_option("SUP")
    expect(tablet.page.locator("[data-unseated-says]")).to_contain_text("SUP")
    undercut(tablet)
    back_again(tablet, served)
    case = served.app.extensions["log"].case(onbench.code)
    assert ["SUP"] == [entry.person for entry in case.unconfirmed]
    tablet.sign_in("SUP", PINS["SUP"]).goto(f"/case/{onbench.code}/release")
    tablet.page.get_by_role("button", name=say("releasepage.confirm.go")).click()
    expect(tablet.page.locator("#to-confirm")).to_have_count(0)

    assert () == served.app.extensions["log"].case(onbench.code).unconfirmed


def test_a_forgotten_page_leads_on_without_the_bench_pc_and_what_follows_is_noted(
    tablet: TabletHand, served: Served, onbench: OnBench
) -> None:
    tablet.page.clock.install()
    tablet.goto(f"/case/{onbench.code}/interferences")
    served.stop()
    tablet.page.clock.fast_forward(605_000)
    tablet.page.clock.run_for(6_000)
    cover = tablet.page.locator("#cover")
    expect(cover).to_be_visible()
    for digit in PINS["TEC"]:
        cover.locator(f'[data-pin-key="{digit}"]').tap()
    tablet.page.get_by_role("button", name=say("shell.cover.go")).tap()
    cover.get_by_role("link", name=say("shell.cover.without")).tap()
    tablet.page.wait_for_url("**/offline")
    tablet.ready()
    tablet.page.clock.resume()
    expect(tablet.page.locator("[data-unseated-says]")).to_contain_text("TEC")
    undercut(tablet)
    back_again(tablet, served)

    (note,) = notes(served, onbench)
    case = served.app.extensions["log"].case(onbench.code)
    assert note.entries == tuple(entry.id for entry in case.unconfirmed)
