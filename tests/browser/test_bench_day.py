"""What a day at the bench brings: two tablets at once, a double tap, a nudge, a scan, no scripts."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from bench.core.entries import CaseOpened
from bench.core.release import judge
from bench.core.survey import Survey
from tests.browser.conftest import NewHand
from tests.browser.film import CODE
from tests.browser.hand import Hand, say
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.latercases import locked, moved_on, ready
from tests.web.surveyedcases import OnBench

PHOTO_OF_THE_STORY = "404.*/photo/0{64}/"  # the invented story names a photo that was never taken


def technician(hand: NewHand, bench: OnBench) -> Hand:
    return hand().sit(bench.app, "TEC")


def at(hand: Hand, bench: OnBench, step: str, asked: str = "") -> Hand:
    return hand.goto(f"/case/{bench.code}/{step}{asked}")


def stops(bench: OnBench) -> set[str]:
    """Return the rules that stop the release."""
    log = bench.app.extensions["log"]
    verdict = judge(Survey(log.case(bench.code), log.lab()))
    return {one.reason.rule for one in verdict.judged if one.force == "blocks"}


def test_a_page_left_behind_by_another_tablet_is_refused_in_words_with_all_typed_kept(
    hand: NewHand, onbench: OnBench
) -> None:
    setting = locked(onbench)
    mine, other = technician(hand, onbench), technician(hand, onbench)
    at(mine, onbench, "undercuts", "?tooth=35&surface=MB&gauge_mm=0.5")
    mine.number("drop_mm", "1.85")
    at(other, onbench, "tilt")
    other.number("ap_deg", "6")
    other.page.locator("#instrument").fill("T1")
    other.number("resolution_deg", "0.5")
    other.record(other.button("steppages.tilt.take"))
    answer = mine.submit_key("contact", "both")

    assert 409 == answer.status
    assert "" != mine.page.locator(".notice.stop").first.inner_text().strip()
    expect(mine.page.locator("#drop_mm:visible")).to_have_value("1.85")
    assert [] == onbench.entries("undercut_read")
    assert setting.id != onbench.entries("setting_taken")[-1].id
    mine.submit_key("contact", "both")
    assert [1.85] == [entry.body.drop_mm for entry in onbench.entries("undercut_read")]


def test_two_tablets_that_read_one_site_do_not_overwrite_each_other(
    hand: NewHand, onbench: OnBench
) -> None:
    locked(onbench)
    mine, other = technician(hand, onbench), technician(hand, onbench)
    for tablet in (mine, other):
        at(tablet, onbench, "undercuts", "?tooth=35&surface=MB&gauge_mm=0.5")
    other.submit_key("contact", "both")
    answer = mine.submit_key("contact", "none")

    assert 409 == answer.status
    assert ["both"] == [entry.body.contact for entry in onbench.entries("undercut_read")]


def test_a_double_tap_makes_one_entry(hand: NewHand, onbench: OnBench) -> None:
    locked(onbench)
    tablet = at(
        technician(hand, onbench), onbench, "undercuts", "?tooth=35&surface=MB&gauge_mm=0.5"
    )
    key = tablet.page.locator('button[name="contact"][value="both"]:visible')
    middle = key.bounding_box()
    assert middle is not None
    for _ in range(2):
        tablet.page.touchscreen.tap(middle["x"] + 20, middle["y"] + 20)
    tablet.sees("steppages.undercut.again")

    assert 1 == len(onbench.entries("undercut_read"))


def test_an_entry_is_taken_back_with_one_tap(hand: NewHand, onbench: OnBench) -> None:
    locked(onbench)
    tablet = at(
        technician(hand, onbench), onbench, "undercuts", "?tooth=35&surface=MB&gauge_mm=0.5"
    )
    tablet.submit_key("contact", "both")
    tablet.record(tablet.button("recorded.undo"))

    (taken_back,) = onbench.entries("withdrawn")
    assert onbench.entries("undercut_read")[0].id == taken_back.body.entry
    expect(tablet.page.locator('button[name="contact"][value="both"]:visible')).to_be_visible()


def test_a_disturbed_table_stops_the_release_until_the_cast_is_put_back(
    hand: NewHand, onbench: OnBench, watch: Watch
) -> None:
    watch.expected.append(PHOTO_OF_THE_STORY)
    ready(onbench)
    tablet = at(technician(hand, onbench), onbench, "release")
    tablet.open(tablet.page.get_by_role("link", name=say("steppages.disturbed.key")))
    tablet.submit_key("what", "table_moved")
    at(tablet, onbench, "release")
    assert 0 == tablet.button("releasepage.go").count()
    assert {"S5"} == stops(onbench)

    at(tablet, onbench, "tripod")
    tablet.open(tablet.page.get_by_role("link", name=say("tripod.to_remount")))
    for name, height in (("h_a_mm", "0.1"), ("h_b_mm", "0"), ("h_c_mm", "-0.1")):
        tablet.number(name, height)
    tablet.choose("second_check", "gauge_touches")
    tablet.record(tablet.button("remount.record_it"))
    at(tablet, onbench, "release")
    tablet.record(tablet.button("releasepage.go"))
    tablet.sees("releasepage.released")


def test_a_cast_put_back_too_far_off_stays_stopped(
    hand: NewHand, onbench: OnBench, watch: Watch
) -> None:
    watch.expected.append(PHOTO_OF_THE_STORY)
    ready(onbench)
    tablet = at(technician(hand, onbench), onbench, "release")
    tablet.open(tablet.page.get_by_role("link", name=say("steppages.disturbed.key")))
    tablet.submit_key("what", "table_moved")
    tablet.goto(f"/case/{onbench.code}/remount")
    for name, height in (("h_a_mm", "3"), ("h_b_mm", "0"), ("h_c_mm", "0")):
        tablet.number(name, height)
    tablet.record(tablet.button("remount.record_it"))

    tablet.sees("remount.verdict.repeat")
    assert {"S5"} == stops(onbench)


def test_a_label_before_the_camera_opens_its_case(hand: NewHand, onbench: OnBench) -> None:
    onbench.say(CaseOpened(CODE, "26-0077", "lower", "master"), case=CODE)
    tablet = technician(hand, onbench).goto("/scan")
    tablet.button("shell.scan.start").tap()

    expect(tablet.page).to_have_url(re.compile(f"/case/{CODE}/receive$"), timeout=15_000)


def test_the_keyboard_alone_records_an_undercut(hand: NewHand, onbench: OnBench) -> None:
    locked(onbench)
    page = at(technician(hand, onbench), onbench, "undercuts").page
    press = page.keyboard.press
    focus_by_tab(page, "a[data-tooth]")
    press("Home")
    for _ in range(20):
        if page.evaluate("document.activeElement.dataset.tooth") == "35":
            break
        press("ArrowRight")
    enter_and_wait(page)
    focus_by_tab(page, "a[data-surface]")
    for _ in range(8):
        if page.evaluate("document.activeElement.dataset.surface") == "MB":
            break
        press("ArrowRight")
    enter_and_wait(page)
    focus_by_tab(page, 'button[name="contact"][value="both"]')
    enter_and_wait(page)

    (entry,) = onbench.entries("undercut_read")
    assert (35, "MB", "both") == (entry.body.tooth, entry.body.surface, entry.body.contact)


def focus_by_tab(page: Page, selector: str) -> None:
    """Press the tab key until the focus is on what is wanted; fail when it never comes there."""
    for _ in range(80):
        if page.evaluate("wanted => document.activeElement.matches(wanted)", selector):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"the tab key never comes to {selector}")


def enter_and_wait(page: Page) -> None:
    with page.expect_response("**/case/**"):
        page.keyboard.press("Enter")
    Hand(page).settle()


def test_without_scripts_an_undercut_is_recorded(hand: NewHand, onbench: OnBench) -> None:
    locked(onbench)
    tablet = without_scripts(hand)
    at(tablet, onbench, "undercuts")
    tablet.tooth(35)
    tablet.surface("MB")
    tablet.page.locator("#drop_mm").fill("1.85")
    tablet.submit_key("contact", "both")

    (entry,) = onbench.entries("undercut_read")
    assert (35, "MB", 1.85) == (entry.body.tooth, entry.body.surface, entry.body.drop_mm)


def test_without_scripts_the_cast_is_released(hand: NewHand, onbench: OnBench) -> None:
    ready(onbench)
    tablet = without_scripts(hand)
    at(tablet, onbench, "release")
    tablet.record(tablet.button("releasepage.go"))

    tablet.sees("releasepage.released")
    assert 1 == len(onbench.entries("released"))


def without_scripts(hand: NewHand) -> Hand:
    tablet = hand(java_script_enabled=False).goto("/who")
    tablet.choose("initials", "TEC")
    tablet.page.locator("#pin").fill(PINS["TEC"])
    tablet.record(tablet.button("people.who.go"))
    return tablet


def test_a_setting_taken_elsewhere_leaves_the_release_to_those_who_see_it(
    hand: NewHand, onbench: OnBench
) -> None:
    setting = ready(onbench)
    tablet = at(technician(hand, onbench), onbench, "release")
    moved_on(onbench, setting)
    tablet.record(tablet.button("releasepage.go"))

    assert [] == onbench.entries("released")
    assert 0 < tablet.page.locator(".finding.blocks").count()
