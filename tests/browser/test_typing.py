"""What is typed in the instant before a part of the page is shown anew is still there afterwards."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Page, Playwright, Route, expect

from bench.core.entries import GuidePlaneRead, GuidePlaneWished, UndercutRead
from tests.browser.conftest import NewHand, Served
from tests.browser.hand import Hand, say
from tests.browser.tablets import TabletHand, pair, persistent, watching
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.surveyedcases import OnBench, mounted


@pytest.fixture
def technician(hand: NewHand, served: Served) -> Hand:
    return hand().sit(served.app, "TEC")


@contextmanager
def held_back(page: Page, what: str, method: str) -> Iterator[None]:
    """Keep the answers to requests of htmx back until what is done meanwhile is done."""
    held: list[Route] = []
    holding = [True]

    def hold(route: Route) -> None:
        asked = route.request
        if holding and asked.method == method and "hx-request" in asked.headers:
            held.append(route)
        else:
            route.fallback()

    page.route(what, hold)
    yield
    for _ in range(100):
        if held:
            break
        page.wait_for_timeout(50)
    assert held
    holding.clear()
    for route in held:
        route.continue_()


def typed(hand: Hand, name: str, digits: str) -> None:
    """Take a number on the pad without waiting for any answer."""
    hand.page.locator(f"#{name}:visible").tap()
    for digit in digits:
        hand.page.locator(f'#pad [data-pad-key="{digit}"]').tap()
    hand.page.locator('#pad [data-pad-key="take"]').tap()
    expect(hand.page.locator("#pad")).to_be_hidden()


def test_a_gap_taken_before_the_light_is_answered_stands_and_is_reckoned_with(
    technician: Hand, onbench: OnBench
) -> None:
    mounted(onbench)
    onbench.state(GuidePlaneWished(35, "D"))
    page = technician.goto(f"/case/{onbench.code}/guide_planes?tooth=35&surface=D").page
    page.evaluate("document.getElementById('measured').dataset.old = ''")
    with held_back(page, "**/guide_planes?*", "GET"):
        technician.choose("light", "gingival")
        typed(technician, "gap_mm", "0.4")
        typed(technician, "height_mm", "2.5")
    expect(page.locator("#measured[data-old]")).to_have_count(0)

    expect(page.locator("#gap_mm")).to_have_value("0.4")
    expect(page.locator("#height_mm")).to_have_value("2.5")
    # 0.4 mm of light along 2.5 mm: the tangent of the wall's angle.
    expect(page.locator("#angle")).to_contain_text("9.1")
    technician.record(technician.button("steppages.plane.record"))
    (read,) = [e.body for e in onbench.entries() if isinstance(e.body, GuidePlaneRead)]
    assert (0.4, 2.5) == (read.gap_mm, read.height_mm)


def test_a_drop_taken_while_the_contact_is_being_recorded_is_there_to_be_added(
    technician: Hand, onbench: OnBench
) -> None:
    mounted(onbench)
    page = technician.goto(f"/case/{onbench.code}/undercuts?tooth=35&surface=MB").page
    with held_back(page, "**/record/undercut_read", "POST"):
        page.locator('button[name="contact"][value="both"]').tap()
        typed(technician, "drop_mm", "1.2")
    technician.sees("recorded.said", what=say("recorded.kind.undercut_read"))

    expect(page.locator("#drop_mm:visible")).to_have_value("1.2")
    technician.record(technician.button("steppages.undercut.add"))
    read = [e.body for e in onbench.entries() if isinstance(e.body, UndercutRead)]
    assert [None, 1.2] == [one.drop_mm for one in read]


def test_a_drop_taken_before_another_gauge_is_tapped_stays(
    technician: Hand, onbench: OnBench
) -> None:
    mounted(onbench)
    page = technician.goto(f"/case/{onbench.code}/undercuts?tooth=35&surface=MB").page
    typed(technician, "drop_mm", "1.2")
    technician.open(page.locator('.keys a[href*="gauge_mm=0.75"]'))
    expect(page.locator('form input[name="gauge_mm"]').first).to_have_value("0.75")

    expect(page.locator("#drop_mm:visible")).to_have_value("1.2")


def test_what_was_sent_is_not_typed_into_the_next_form(technician: Hand, onbench: OnBench) -> None:
    mounted(onbench)
    asked = "sheet=wishes&wish=clasp&tooth=34&surface=DB"
    page = technician.goto(f"/case/{onbench.code}/receive?{asked}").page
    typed(technician, "arm_mm", "9")
    technician.record(technician.button("steppages.wish.record"))
    technician.open(page.locator('.keys a[href*="wish=rest"]').first)
    technician.open(page.locator('.keys a[href*="wish=clasp"]').first)

    expect(page.locator("#arm_mm:visible")).to_have_value("")


def test_what_was_typed_of_one_site_does_not_go_along_to_another(
    technician: Hand, onbench: OnBench
) -> None:
    mounted(onbench)
    page = technician.goto(f"/case/{onbench.code}/undercuts?tooth=35&surface=MB").page
    with held_back(page, "**/undercuts?*", "GET"):
        page.locator('[data-archmap] a[data-surface="DB"]').tap()
        typed(technician, "drop_mm", "1.2")
    expect(page.locator('form input[name="surface"][value="DB"]').first).to_be_attached()

    expect(page.locator("#drop_mm:visible")).to_have_value("")


def test_a_drop_taken_before_a_paired_tablet_shows_the_page_anew_is_kept(
    playwright: Playwright, tmp_path: Path, served: Served, onbench: OnBench, watch: Watch
) -> None:
    mounted(onbench)
    context = persistent(playwright, tmp_path / "browser", served)
    page = watching(context, watch)
    pair(page, served)
    hand = TabletHand(page)
    hand.sign_in("TEC", PINS["TEC"]).goto(f"/case/{onbench.code}/undercuts?tooth=35&surface=MB")
    hand = TabletHand(page).ready()
    with held_back(page, "**/undercuts?*", "GET"):
        hand.keep(page.locator('button[name="contact"][value="both"]'), "undercut_read")
        hand.sent()
        typed(hand, "drop_mm", "1.2")
    expect(page.get_by_role("button", name=say("steppages.undercut.add"))).to_be_visible()

    expect(page.locator("#drop_mm:visible")).to_have_value("1.2")
    context.close()
