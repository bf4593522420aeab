"""The record's photo beside the live camera on the page of a re-mount: by touch and by keyboard."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Locator, Page, Playwright, expect

from bench.core.policy import Policy
from bench.web.camera import of_policy
from tests.browser import looks, tripodphotos
from tests.browser.conftest import NewHand, Served, launched
from tests.browser.hand import say
from tests.browser.tripodfilm import tripod_film
from tests.web.surveyedcases import OnBench, mounted


@pytest.fixture(scope="module")
def browser(playwright: Playwright, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    lab, film = of_policy(Policy()), tmp_path_factory.mktemp("camera") / "tripod.mjpeg"
    film.write_bytes(tripod_film("22QY4JDS", str(lab["mark_colour"]), str(lab["ring_colour"])))
    chromium = launched(playwright, film)
    yield chromium
    chromium.close()


@pytest.fixture
def page(served: Served, onbench: OnBench, hand: NewHand) -> Page:
    """The page of a re-mount of a cast whose record has a photo with its marks."""
    zero = mounted(onbench)
    marks = onbench.state(tripodphotos.tripod_marked(), setting=zero.id)
    kept = tripodphotos.keep(served.app, served.say, onbench.code, marks.id)
    tripodphotos.confirm(served.say, onbench.code, kept, marks.id)
    return (
        hand(reduced_motion="reduce")
        .sit(served.app, "TEC")
        .goto(f"/case/{onbench.code}/remount")
        .page
    )


def view(page: Page) -> Locator:
    return page.locator("[data-overlook-view]")


def camera_share(page: Page) -> str:
    return page.evaluate(  # type: ignore[no-any-return]
        "() => getComputedStyle(document.querySelector('[data-layer=\"camera\"]')).opacity"
    )


def runs(page: Page) -> bool:
    """Say whether the live picture has come."""
    return page.evaluate(  # type: ignore[no-any-return]
        """async () => { const video = document.querySelector("[data-overlook-view] video");
        for (let n = 0; n < 100 && !video.videoWidth; n += 1) await new Promise((go) => setTimeout(go, 50));
        return video.videoWidth > 0; }"""
    )


def test_by_touch_the_camera_is_laid_over_the_record_and_a_tap_goes_closer(page: Page) -> None:
    page.get_by_role("button", name=say("overlook.open")).tap()
    expect(view(page)).to_be_visible()
    assert runs(page)
    assert "0" == camera_share(page)
    box = page.locator("#overlook-share").bounding_box()
    assert box is not None
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    assert 0.4 <= float(camera_share(page)) <= 0.6

    page.locator("[data-layers]").tap(position={"x": 120, "y": 90})
    expect(view(page)).to_have_attribute("data-closer", "")
    page.locator("[data-layers]").tap(position={"x": 120, "y": 90})
    expect(view(page)).not_to_have_attribute("data-closer", re.compile(".*"))

    page.get_by_role("button", name=say("overlook.view.close")).tap()
    expect(view(page)).to_be_hidden()
    expect(page.locator("[data-overlook-view] video")).to_have_js_property("srcObject", None)


def test_by_keyboard_alone_it_is_mixed_laid_side_by_side_looked_at_closely_and_closed(
    page: Page,
) -> None:
    page.get_by_role("button", name=say("overlook.open")).press("Enter")
    slider = page.locator("#overlook-share")
    slider.focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    assert "0.15" == camera_share(page)
    expect(slider).to_have_attribute("aria-valuetext", say("overlook.view.share", share=15))

    page.locator('input[name="overlook-how"]:checked').focus()
    page.keyboard.press("ArrowRight")
    expect(view(page)).to_have_attribute("data-how", "beside")
    assert "1" == camera_share(page)
    page.locator('input[name="overlook-zoom"]:checked').focus()
    page.keyboard.press("ArrowRight")
    mark = page.locator('[data-layer="record"] [data-mark="A"] circle').first.bounding_box()
    place = page.locator('[data-layer="record"]').bounding_box()
    assert mark is not None
    assert place is not None
    assert mark["width"] > 40
    assert place["x"] < mark["x"] < place["x"] + place["width"]
    page.keyboard.press("Escape")
    expect(view(page)).to_be_hidden()


def test_without_a_camera_the_record_is_shown_alone(page: Page) -> None:
    page.evaluate("() => Object.defineProperty(navigator, 'mediaDevices', { value: undefined })")
    page.get_by_role("button", name=say("overlook.open")).tap()

    expect(page.locator("[data-overlook-says]")).to_have_text(say("overlook.view.no_camera"))
    expect(page.locator("#overlook-share")).to_be_hidden()


def test_axe_finds_nothing_and_a_finger_every_key(page: Page) -> None:
    assert looks.faults_in_light_and_dark(page) == []
    page.get_by_role("button", name=say("overlook.open")).tap()
    assert runs(page)

    assert looks.faults_in_light_and_dark(page) == []
    assert looks.too_small(page) == []
    assert list(looks.beyond_the_edge(page)) == []


def test_axe_finds_nothing_in_what_a_newer_photo_says(
    page: Page, served: Served, onbench: OnBench
) -> None:
    about = onbench.entries("tripod_marked")[0].id
    newer = tripodphotos.keep(served.app, served.say, onbench.code, about, turn=1)
    tripodphotos.confirm(served.say, onbench.code, newer, about, (3.1, 0.0))
    page.reload()
    expect(page.locator("[data-overlook] .verdict")).to_contain_text("B")
    looks.open_folds(page)

    assert looks.faults_in_light_and_dark(page) == []
    assert list(looks.beyond_the_edge(page)) == []


def test_the_way_leads_to_the_camera_for_the_same_marks(page: Page) -> None:
    page.get_by_role("link", name=say("overlook.photograph")).tap()

    expect(page).to_have_url(re.compile(r"/photo/camera\?shows=tripod&about=[0-9a-f-]{36}$"))
