"""The camera page before a film: hints follow what is seen; photos kept with and without the bench PC."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Playwright, expect

from bench.core.entries import PhotoKept, TripodMarked
from bench.core.ids import case_code
from bench.core.policy import Policy
from bench.web.camera import HINTS, of_policy
from tests.browser import looks
from tests.browser.conftest import CAMERA, NewHand, Served, launched
from tests.browser.hand import say
from tests.browser.tablets import TabletHand, at_hand, pair, persistent, started_again, watching
from tests.browser.tripodfilm import FRAME, tripod_film
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.surveyedcases import OnBench, mounted

CODE = case_code(20_260_309)
PHOTO_PAGE = re.compile("/photo/[0-9a-f]{64}$")
MARKS = TripodMarked(40.0, 41.0, 39.0, "clockwise", True, True, True, True)


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    lab = of_policy(Policy())
    film = tmp_path_factory.mktemp("camera") / "tripod.mjpeg"
    film.write_bytes(tripod_film(CODE, str(lab["mark_colour"]), str(lab["ring_colour"])))
    return film


@pytest.fixture(scope="module")
def browser(playwright: Playwright, film: Path) -> Iterator[Browser]:
    chromium = launched(playwright, film)
    yield chromium
    chromium.close()


@pytest.fixture
def marked(onbench: OnBench) -> str:
    """The id of the marks of a tripod."""
    zero = mounted(onbench)
    return onbench.state(MARKS, setting=zero.id).id


def hint(page: Page, name: str, key: str) -> None:
    expect(page.locator(f'[data-hint="{name}"]')).to_have_text(
        say(f"camera.hint.{name}.{key}"), timeout=15_000
    )


def all_is_well(page: Page) -> None:
    """Wait until nothing is lacking any more."""
    for name in HINTS:
        hint(page, name, "good")


def kept(bench: OnBench) -> PhotoKept:
    (entry,) = bench.entries("photo_kept")
    assert isinstance(entry.body, PhotoKept)
    return entry.body


def test_the_hints_follow_what_the_camera_sees_and_the_photo_is_kept(
    served: Served, onbench: OnBench, marked: str, hand: NewHand
) -> None:
    at = hand().sit(served.app, "TEC").goto(f"/case/{CODE}/tripod")
    # A tablet is slower than the film: what is read has to be one and the same frame all through.
    slow = at.page.context.new_cdp_session(at.page)
    slow.send("Emulation.setCPUThrottlingRate", {"rate": 3})
    at.page.get_by_role("link", name=say("camera.open")).tap()
    hint(at.page, "label", "none")
    hint(at.page, "straight", "needs")
    all_is_well(at.page)
    expect(at.page.locator("[data-camera-over] circle")).to_have_count(3)
    expect(at.page.locator("[data-camera-says]")).to_have_text(say("camera.ready"), timeout=15_000)

    at.page.get_by_role("button", name=say("camera.shutter")).tap()
    expect(at.page.locator("[data-camera-verdict]")).to_have_text(say("camera.verdict.good"))
    at.button("camera.keep").tap()
    at.page.wait_for_url(PHOTO_PAGE, timeout=30_000)

    photo = kept(onbench)
    assert (*FRAME, "tripod", marked) == (photo.width_px, photo.height_px, photo.shows, photo.about)
    assert at.page.url.endswith(f"/case/{CODE}/photo/{photo.sha256}")


def test_by_keyboard_alone_a_photo_is_taken_again_and_kept(
    served: Served, onbench: OnBench, marked: str, hand: NewHand
) -> None:
    page = hand().sit(served.app, "TEC").goto(f"/case/{CODE}/photo/camera?shows=tripod").page
    all_is_well(page)
    page.get_by_role("button", name=say("camera.shutter")).press("Enter")
    expect(page.get_by_role("button", name=say("camera.keep"))).to_be_focused()
    page.keyboard.press("Shift+Tab")
    expect(page.get_by_role("button", name=say("camera.again"))).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name=say("camera.shutter"))).to_be_focused()
    all_is_well(page)
    page.keyboard.press("Space")
    with page.expect_response(lambda one: one.request.method == "POST"):
        page.get_by_role("button", name=say("camera.keep")).press("Enter")

    assert "tripod" == kept(onbench).shows


def test_axe_finds_nothing_and_a_finger_every_key_before_and_after_the_photo(
    served: Served, onbench: OnBench, marked: str, hand: NewHand
) -> None:
    at = hand(reduced_motion="reduce").sit(served.app, "TEC")
    page = at.goto(f"/case/{CODE}/photo/camera?shows=tripod").page
    all_is_well(page)
    faults = looks.faults_in_light_and_dark(page) + looks.too_small(page)
    faults += looks.beyond_the_edge(page)
    page.set_viewport_size({"width": 1024, "height": 768})
    page.get_by_role("button", name=say("camera.shutter")).press("Enter")
    expect(page.locator("[data-camera-verdict]")).not_to_be_empty()
    faults += looks.faults_in_light_and_dark(page) + looks.too_small(page)
    faults += looks.beyond_the_edge(page)

    assert faults == []


def test_the_camera_is_given_back_when_the_page_is_left_from_sight(
    served: Served, onbench: OnBench, marked: str, hand: NewHand
) -> None:
    page = hand().sit(served.app, "TEC").goto(f"/case/{CODE}/photo/camera?shows=tripod").page
    hint(page, "label", "good")
    ended = page.evaluate("""() => {
      const track = document.querySelector("[data-camera] video").srcObject.getVideoTracks()[0];
      Object.defineProperty(document, "hidden", { value: true, configurable: true });
      document.dispatchEvent(new Event("visibilitychange"));
      delete document.hidden;
      return track.readyState;
    }""")

    assert "ended" == ended
    page.get_by_role("button", name=say("camera.start")).tap()
    hint(page, "label", "good")


def test_without_a_camera_a_picture_is_chosen_instead(
    served: Served, onbench: OnBench, marked: str, hand: NewHand
) -> None:
    at = hand().sit(served.app, "TEC")
    at.page.add_init_script("delete Navigator.prototype.mediaDevices")
    at.goto(f"/case/{CODE}/photo/camera?shows=tripod")
    expect(at.page.locator("[data-camera-says]")).to_have_text(say("camera.no_camera"))
    expect(at.page.locator("#photo")).to_be_visible()


def test_a_photo_taken_without_the_bench_pc_arrives_once_it_is_back(
    playwright: Playwright, tmp_path: Path, served: Served, onbench: OnBench, marked: str,
    watch: Watch, film: Path,
) -> None:  # fmt: skip
    camera = (*CAMERA, f"--use-file-for-fake-video-capture={film}")
    tablet = persistent(playwright, tmp_path / "browser", served, *camera)
    page = watching(tablet, watch)
    hand = TabletHand(page)
    pair(page, served)
    hand.sign_in("TEC", PINS["TEC"]).goto(f"/case/{CODE}/tripod")
    at_hand(page, f"/case/{CODE}/photo/camera?shows=tripod")
    served.stop()

    hand.goto(f"/case/{CODE}/photo/camera?shows=tripod&about={marked}")
    all_is_well(page)
    page.get_by_role("button", name=say("camera.shutter")).tap()
    hand.keep(page.get_by_role("button", name=say("camera.keep")), "photo_kept")
    expect(page.locator(".camera .notice.done")).to_have_text(say("camera.kept"))
    hand.waiting(1)
    started_again(served)

    page.evaluate("() => globalThis.dispatchEvent(new Event('online'))")
    page.wait_for_url(PHOTO_PAGE, timeout=30_000)
    photo = kept(onbench)
    assert (marked, "image/jpeg") == (photo.about, photo.media_type)
    assert served.app.extensions["shelf"].has(photo.sha256)
    tablet.close()
