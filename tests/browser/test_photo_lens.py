"""Photos chosen on a paired tablet: the lens their file states arrives, nothing else that it says does."""

from __future__ import annotations

import io
from dataclasses import replace
from math import hypot
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import BrowserContext, Playwright, expect

from bench.core.entries import PhotoKept, TripodMarked
from bench.store.photos import PhotoShelf
from tests.browser.conftest import Served
from tests.browser.hand import say
from tests.browser.tablets import TabletHand, pair, persistent, watching
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.pictures import files, photomaker
from tests.pictures.lensfiles import FILM, OWN
from tests.web.surveyedcases import OnBench, mounted

MARKS = TripodMarked(40.0, 41.0, 39.0, "clockwise", True, True, True, True)
FILM_MM = 31


@pytest.fixture
def hand(
    playwright: Playwright, tmp_path: Path, served: Served, onbench: OnBench, watch: Watch
) -> TabletHand:
    """A hand at a paired tablet, before a case whose tripod is marked."""
    onbench.state(MARKS, setting=mounted(onbench).id)
    tablet: BrowserContext = persistent(playwright, tmp_path / "browser", served)
    hand = TabletHand(watching(tablet, watch))
    pair(hand.page, served)
    return hand.sign_in("TEC", PINS["TEC"])  # type: ignore[return-value]


def shelf_of(onbench: OnBench) -> PhotoShelf:
    return PhotoShelf(onbench.app.config["SETTINGS"].data / "photos")


def chosen(hand: TabletHand, onbench: OnBench, picture: bytes) -> PhotoKept:
    """Choose a file as a photo of the tripod, wait until it has arrived, and return what is kept."""
    hand.goto(f"/case/{onbench.code}/photos")
    hand.page.locator("#add").locator('[name="shows"][value="tripod"]').check()
    hand.page.locator("#photo").set_input_files(
        {"name": "IMG_7.JPG", "mimeType": "image/jpeg", "buffer": picture}  # type: ignore[arg-type]
    )
    before = len(onbench.entries("photo_kept"))
    hand.page.locator("#add").get_by_role("button", name=say("trail.keep.go")).click()
    for _ in range(200):
        body = next((one.body for one in onbench.entries("photo_kept")[before:]), None)
        if isinstance(body, PhotoKept) and shelf_of(onbench).has(body.sha256):
            hand.page.locator(f'a[href*="{body.sha256}"]').first.wait_for()
            return body
        hand.page.wait_for_timeout(100)
    raise AssertionError("the photo did not arrive")


def talkative() -> bytes:
    """A photo as a tablet on its side takes it: turned, with its lens, its place and its maker."""
    exif = Image.Exif()
    exif[files.ORIENTATION] = 6
    exif[files.MAKE] = "Invented Camera Works"
    exif.get_ifd(OWN)[FILM] = FILM_MM
    exif.get_ifd(files.GPS_IFD).update({1: "N", 2: (48.0, 12.0, 30.0)})
    return files.saved(files.four_corners(1200, 900), exif=exif)


def leaning(seed: int) -> bytes:
    """A photo of the invented camera, from well aside, whose file states nothing."""
    conditions = replace(photomaker.LEVEL, tilt_deg=(16, 20), marks=0)
    data, _ = photomaker.photo(seed, conditions)
    return files.saved(Image.open(io.BytesIO(data)), quality=92)


def test_the_lens_that_a_file_states_arrives_without_the_rest_of_what_it_says(
    hand: TabletHand, onbench: OnBench
) -> None:
    body = chosen(hand, onbench, talkative())

    assert (900, 1200) == (body.width_px, body.height_px)
    assert pytest.approx(FILM_MM / hypot(36, 24) * 1500, abs=0.1) == body.focal_px
    with shelf_of(onbench).open(body.sha256) as source:
        kept = source.read()
    assert not any(said in kept for said in (b"Exif", b"Invented", b"GPS"))
    hand.page.context.close()


def test_photos_that_state_nothing_tell_the_lens_of_their_tablet_by_the_label(
    hand: TabletHand, onbench: OnBench
) -> None:
    page = hand.page
    for count, seed in enumerate((97_001, 97_002), start=1):
        body = chosen(hand, onbench, leaning(seed))
        assert body.focal_px is None
        hand.goto(f"/case/{onbench.code}/photo/{body.sha256}")

        lens = page.locator('input[name="lens_photos"]')
        expect(lens).to_have_value(str(count), timeout=30_000)
    focal_px = float(page.locator('input[name="focal_px"]').input_value())
    assert 0.5 < focal_px / hypot(2000, 1500) < 0.85
    page.context.close()
