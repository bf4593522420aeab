"""The whole survey while the bench PC is off, the browser killed in the middle; then everything arrives once."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from playwright.sync_api import Page, Playwright, expect

from bench.core.entries import (
    CaseOpened,
    CastReceived,
    ClaspWished,
    DisinfectionRecorded,
    IndirectRetainerWished,
    PhotoKept,
    PrescriptionRecorded,
    RestWished,
    TeethRecorded,
)
from tests.browser import job
from tests.browser.conftest import Served
from tests.browser.hand import say
from tests.browser.tablets import (
    TabletHand,
    at_hand,
    choose,
    killed,
    pair,
    persistent,
    site,
    started_again,
    watching,
)
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.surveyedcases import OnBench

LINES = ("43B", "43L", "34B", "34L", "35B", "35L", "44B", "44L", "45B", "45L")


def received(bench: OnBench) -> None:
    """A lower cast as the bench PC has it before it goes away."""
    bench.state(CaseOpened(bench.code, "26-0042", "lower", "master"))
    bench.state(CastReceived("sound"))
    bench.state(DisinfectionRecorded("disinfected"))
    bench.state(PrescriptionRecorded("Rx 42", "2026-03-02"))
    bench.state(TeethRecorded((36, 37, 38, 46, 47, 48), replaced=(36, 37, 46, 47)))
    for tooth, surface in job.CLASPS:
        bench.state(ClaspWished(tooth, surface, "circumferential", "wrought_wire", 0.5, 9))
        bench.state(RestWished(tooth, "mesial"))
    bench.state(IndirectRetainerWished(43))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "browser"


def undercuts(hand: TabletHand) -> None:
    part = hand.part("undercut_read")
    for tooth, surface in job.CLASPS:
        site(part, tooth, surface)
        choose(part, "gauge_mm", "0.5")
        hand.keep(part.locator('button[name="contact"][value="both"]'), "undercut_read")


def first_half(hand: TabletHand) -> None:
    hand.keep(hand.part("mounted").get_by_role("button").last, "mounted")
    undercuts(hand)
    tilt = hand.part("setting_taken")
    for name, text in (("ap_deg", "4"), ("lat_deg", "-1.5"), ("instrument", "T1")):
        tilt.locator(f'input[name="{name}"]').fill(text)
    hand.keep(tilt.get_by_role("button", name=say("steppages.tilt.take")), "setting_taken")
    hand.keep(hand.part("setting_made_final").get_by_role("button"), "setting_made_final")
    undercuts(hand)


def second_half(hand: TabletHand) -> None:
    plane = hand.part("guide_plane_read")
    for tooth in (35, 45):
        site(plane, tooth, "D")
        choose(plane, "light", "gingival")
        plane.locator('input[name="gap_mm"]').fill("0.3")
        plane.locator('input[name="height_mm"]').fill("2.5")
        hand.keep(plane.get_by_role("button", name=say("offline.act.record")), "guide_plane_read")
    hand.keep(hand.part("interferences_looked").get_by_role("button"), "interferences_looked")
    lines = hand.part("survey_lines_drawn")
    for one in LINES:
        choose(lines, "sites", one)
    choose(lines, "lead_at_gingival", "yes")
    hand.keep(lines.get_by_role("button"), "survey_lines_drawn")
    tripod(hand)
    tip = hand.part("tip_chosen")
    for tooth, surface in job.CLASPS:
        site(tip, tooth, surface)
        choose(tip, "material", "wrought_wire")
        choose(tip, "reciprocation", "plate")
        tip.locator('input[name="arm_mm"]').fill("9")
        hand.keep(tip.get_by_role("button", name=say("retentionpage.choose")), "tip_chosen")


def tripod(hand: TabletHand) -> None:
    part = hand.part("tripod_marked")
    for name, text in job.SIDES_MM.items():
        part.locator(f'input[name="{name}"]').fill(text)
    choose(part, "sense", "clockwise")
    for name in ("one_tip_height", "arm_locked", "table_locked", "ringed"):
        part.locator(f'input[name="{name}"]').check()
    hand.keep(part.get_by_role("button", name=say("tripod.record")), "tripod_marked")
    photo = hand.part("photo_kept")
    picture = {"name": "IMG_1.JPG", "mimeType": "image/jpeg", "buffer": job.photo_from_a_tablet()}
    photo.locator('input[type="file"]').set_input_files(picture)  # type: ignore[arg-type]
    hand.keep(photo.get_by_role("button", name=say("offline.keep_photo")), "photo_kept")


def test_a_whole_survey_without_the_bench_pc_arrives_once_and_is_released(
    playwright: Playwright, folder: Path, served: Served, onbench: OnBench, watch: Watch
) -> None:
    received(onbench)
    offline = f"/case/{onbench.code}/offline"
    context = persistent(playwright, folder, served)
    page = watching(context, watch)
    device = pair(page, served)
    TabletHand(page).sign_in("TEC", PINS["TEC"])
    TabletHand(page).goto(f"/case/{onbench.code}/receive")
    at_hand(page, offline, "/offline/label", "/outbox")
    served.stop()

    hand = TabletHand(page).goto(f"/case/{onbench.code}/mount")
    expect(page.locator("[data-copy]")).to_be_visible()
    hand.goto(offline)
    first_half(hand)
    hand.waiting(7)
    killed(folder)
    context = persistent(playwright, folder, served)
    page = watching(context, watch)
    hand = TabletHand(page).goto(offline)
    expect(page.locator("[data-waits]")).to_have_count(7)
    second_half(hand)
    # The browser was started anew, so each of the eight bears a note that no PIN was asked for.
    hand.waiting(7 + 8 + 8)
    started_again(served)
    hand.goto("/outbox")
    page.locator("[data-send]").click()
    hand.sent()

    of_tablet = [
        e for e in served.app.extensions["log"].entries_of(onbench.code) if e.device == device
    ]
    assert Counter(range(1, 24)) == Counter(e.seq for e in of_tablet)
    assert {"TEC"} == {e.person for e in of_tablet}
    (photo,) = [e.body for e in of_tablet if isinstance(e.body, PhotoKept)]
    assert served.app.extensions["shelf"].has(photo.sha256)
    assert (900, 1200) == (photo.width_px, photo.height_px)
    is_released(page, hand, onbench.code)
    context.close()


def is_released(page: Page, hand: TabletHand, code: str) -> None:
    hand.sign_in("TEC", PINS["TEC"]).goto(f"/case/{code}/release")
    page.get_by_role("button", name=say("releasepage.confirm.go")).click()
    expect(page.locator("#to-confirm")).to_have_count(0)
    against = page.locator(".finding.blocks .sentence").all_inner_texts()
    assert against == []
    page.get_by_role("button", name=say("releasepage.go"), exact=True).click()
    expect(page.locator("body")).to_contain_text(say("releasepage.released"))
