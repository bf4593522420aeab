"""Marks on a photo, moved by finger and by keys in a real browser: the verdict follows, and is recorded."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Page, Playwright, expect

from bench.core.entries import PhotoMarksConfirmed
from bench.pictures.seen import MarkSeen
from bench.web import photolook
from bench.web.photolook import Look
from tests.browser import looks
from tests.browser.conftest import NewHand, Served
from tests.browser.tablets import TabletHand, pair, persistent, watching
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.photographed import SWAPPED, Photographed, photographed


@pytest.fixture
def photo(served: Served, monkeypatch: pytest.MonkeyPatch) -> Photographed:
    kept = photographed(served.app, served.say)
    monkeypatch.setattr(photolook, "looked", lambda sha, code: Look(kept.seen()))
    x, y = kept.places.marks[0]
    monkeypatch.setattr(
        photolook, "settled", lambda sha, x_px, y_px, scale: MarkSeen(x, y, 24.0, 0.9)
    )
    return kept


@pytest.fixture
def page(hand: NewHand, served: Served, photo: Photographed) -> Page:
    shown = hand().sit(served.app, "TEC").goto(photo.at).page
    expect(shown.locator("[data-verdict]")).to_have_attribute("data-verdict", "done")
    expect(shown.locator("[data-close]")).to_be_visible()
    return shown


def verdict(page: Page, mark: str) -> None:
    expect(page.locator("[data-verdict]")).to_have_attribute("data-verdict", mark)


def no_longer_fits(page: Page) -> None:
    expect(page.locator("[data-verdict]")).not_to_have_attribute("data-verdict", "done")


def middle(page: Page, spot: str) -> tuple[float, float]:
    page.locator("[data-stage]").scroll_into_view_if_needed()
    box = page.locator(f"[data-stage] [data-spot={spot}] .line").bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def finger(page: Page, start: tuple[float, float], by: tuple[float, float]) -> None:
    """Put a finger down, move it, and lift it."""
    touch = page.context.new_cdp_session(page)
    for step in range(5):
        kind = "touchStart" if step == 0 else "touchMove"
        at = {"x": start[0] + by[0] * step / 4, "y": start[1] + by[1] * step / 4}
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [at]})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def x_of(page: Page, spot: str) -> float:
    return float(page.locator(f"[data-x={spot}]").input_value())


def recorded(served: Served, photo: Photographed) -> list[PhotoMarksConfirmed]:
    return [
        one.body for one in served.app.extensions["log"].case(photo.code).said(PhotoMarksConfirmed)
    ]


def test_a_finger_drags_a_mark_away_and_keys_bring_it_back(
    page: Page, served: Served, photo: Photographed
) -> None:
    before = x_of(page, "b")
    finger(page, middle(page, "b"), (40, 0))
    no_longer_fits(page)
    page.locator("[data-stage]").focus()

    while x_of(page, "b") > before + 5:
        page.keyboard.press("Shift+ArrowLeft")
    while x_of(page, "b") > before:
        page.keyboard.press("ArrowLeft")
    verdict(page, "done")
    page.get_by_role("button", name="Confirm the marks", exact=True).tap()

    expect(page.locator("#said")).to_contain_text("Recorded where the marks are")
    (body,) = recorded(served, photo)
    assert body.came == ("found", "moved", "found")
    assert abs(body.marks_px[2] - before) < 1


def test_a_tap_near_a_mark_settles_on_its_middle(page: Page, photo: Photographed) -> None:
    page.locator('label:has(input[name=active][value="a"])').tap()
    for _ in range(4):
        page.locator('[data-nudge="ArrowUp"]').tap()
    x, y = middle(page, "a")
    finger(page, (x, y), (60, -60))
    no_longer_fits(page)

    page.touchscreen.tap(x + 5, y + 4)

    expect(page.locator("[data-x=a]")).to_have_value(f"{photo.places.marks[0][0]:.2f}")
    verdict(page, "done")


def test_the_closer_view_is_a_sheet_under_the_cross(page: Page) -> None:
    page.locator('label:has(input[name=active][value="c"])').tap()
    before = x_of(page, "c")
    page.locator("[data-close]").scroll_into_view_if_needed()
    box = page.locator("[data-close]").bounding_box()
    assert box is not None

    finger(page, (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2), (-40, 0))

    assert before < x_of(page, "c") < before + 40


def test_letters_exchanged_turn_the_verdict(page: Page) -> None:
    page.locator("summary", has_text="Letters").tap()

    page.get_by_role("button", name="Exchange B and C").tap()

    verdict(page, "stopped")
    expect(page.locator("[data-verdict]")).to_contain_text("named in each other's place")


def test_swapped_distances_are_told_on_a_phone_without_anything_off_its_edge(
    hand: NewHand, served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = photographed(served.app, served.say, SWAPPED)
    monkeypatch.setattr(photolook, "looked", lambda sha, code: Look(kept.seen()))
    page = hand((390, 844)).sit(served.app, "TEC").goto(kept.at).page

    expect(page.locator("[data-verdict]")).to_contain_text("change places")
    assert list(looks.beyond_the_edge(page)) == []
    assert looks.too_small(page) == []


def test_without_scripts_a_tap_on_the_picture_places_what_was_chosen(
    hand: NewHand, served: Served, photo: Photographed
) -> None:
    page = hand(java_script_enabled=False).sit(served.app, "TEC").goto(f"{photo.at}?look=1").page
    page.locator('label:has(input[name=active][value="b"])').click()

    page.locator("input[type=image]").click(position={"x": 400, "y": 80})

    expect(page.locator("[data-x=b]")).to_have_value("500.62")
    expect(page.locator("[data-verdict]")).to_have_attribute("data-verdict", "stopped")
    page.get_by_role("button", name="Confirm the marks", exact=True).click()
    expect(page.locator("main")).to_contain_text("Confirmed by TEC")


def test_a_paired_tablet_saves_the_places_here_and_shows_the_verdict_once_they_arrive(
    playwright: Playwright, tmp_path: Path, served: Served, photo: Photographed, watch: Watch
) -> None:
    with closing(persistent(playwright, tmp_path / "browser", served)) as tablet:
        page = watching(tablet, watch)
        hand = TabletHand(page)
        device = pair(page, served)
        hand.sign_in("TEC", PINS["TEC"])
        hand.goto(photo.at)
        expect(page.locator("[data-close]")).to_be_visible()

        page.get_by_role("button", name="Confirm the marks", exact=True).tap()

        expect(page.locator("main")).to_contain_text("Confirmed by TEC")
        log = served.app.extensions["log"]
        (said,) = log.case(photo.code).said(PhotoMarksConfirmed)
        assert said.entry.device == device
        assert said.body.marks_px == pytest.approx(photo.places.marks_px, abs=0.01)
