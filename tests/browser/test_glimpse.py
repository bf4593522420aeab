"""The quick look while framing, given photos of the invented camera, of which the truth is known.

The tilt is held against OpenCV's solution of the same square (solvePnP, SOLVEPNP_IPPE).
"""

from __future__ import annotations

from base64 import b64encode
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import pytest
from playwright.sync_api import Page

from tests.browser.conftest import NewHand, Served
from tests.pictures.photomaker import Conditions, Truth, photo

SEEDS = range(900, 908)
UP_TO_350_MM = Conditions(distance_mm=(200, 350))
LOOKED = """async ([data, mark, ring, code]) => {
  const beside = (name) => document.querySelector('script[type="module"]').src.replace("tiltbook.js", name);
  const [{ glimpser }, { finder }, { judged }, { tiltDeg }] = await Promise.all(
    ["glimpse.js", "qrread.js", "framing.js", "squareplane.js"].map((name) => import(beside(name))));
  const bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0));
  const image = await createImageBitmap(new Blob([bytes], { type: "image/jpeg" }));
  const look = glimpser(await finder(), { mark, ring }, 20);
  let seen = await look(image, image.width, image.height);
  if (!seen.label) seen = await look(image, image.width, image.height);
  const hints = Object.fromEntries(Object.entries(judged(seen, code)).map(([name, one]) => [name, one.state]));
  const middle = { x: image.width / 2, y: image.height / 2 };
  return { code: seen.label?.code, corners: seen.label?.corners.map(({ x, y }) => [x, y]), marks: seen.marks,
    hints, size: [image.width, image.height] };
}"""


@dataclass(frozen=True)
class Looked:
    """What was seen in a photo, and what is so."""

    seen: dict[str, Any]
    truth: Truth

    @property
    def off_px(self) -> float:
        return float(np.abs(np.array(self.seen["corners"]) - self.truth.corners_px).max())


@pytest.fixture
def page(served: Served, hand: NewHand) -> Page:
    return hand().sit(served.app, "TEC").goto("/scan").page


def looked(page: Page, seed: int, conditions: Conditions = UP_TO_350_MM) -> Looked:
    data, truth = photo(seed, conditions)
    inks = [list(truth.colours.mark_rgb), list(truth.colours.ring_rgb)]
    return Looked(page.evaluate(LOOKED, [b64encode(data).decode(), *inks, truth.code]), truth)


def tilt_deg(found: Looked) -> float:
    """Return how far the label's plane is from the picture's, by OpenCV."""
    half = found.truth.label_mm / 2
    square = np.array([[-half, half, 0], [half, half, 0], [half, -half, 0], [-half, -half, 0]])
    wide, high = found.seen["size"]
    # The lens the page takes for granted: 28 mm on a film 36 mm wide.
    focal = max(wide, high) * 28 / 36
    lens = np.array([[focal, 0, wide / 2], [0, focal, high / 2], [0, 0, 1]])
    _, turn, _ = cv2.solvePnP(square, found.truth.corners_px, lens, None, flags=cv2.SOLVEPNP_IPPE)
    return float(np.degrees(np.arccos(abs(cv2.Rodrigues(turn)[0][2, 2]))))


def test_labels_are_read_placed_and_their_tilt_and_marks_told(page: Page) -> None:
    found = [looked(page, seed) for seed in SEEDS]

    assert [one.truth.code for one in found] == [one.seen["code"] for one in found]
    assert max(one.off_px for one in found) < 0.3
    for one in found:
        told = one.seen["hints"]["straight"]
        tilt = tilt_deg(one)
        wanted = {"good"} if tilt < 8 else {"good", "fair"} if tilt < 12 else {"fair"}
        assert told in (wanted if tilt < 18 else {"fair", "poor"}), f"{told} at {tilt:.1f} degrees"
    three = [one.seen["marks"] == 3 for one in found]
    # A quick look: a faint or broken ring is now and then missed, seldom is one seen too many.
    assert sum(three) >= 0.7 * len(three)
    assert sum(one.seen["marks"] > 3 for one in found) <= 1


def test_a_photo_far_too_soft_is_not_called_sharp(page: Page) -> None:
    soft = Conditions(distance_mm=(200, 250), blur_px=(3.2, 3.4), tilt_deg=(0, 4))

    states = [looked(page, seed, soft).seen["hints"]["sharp"] for seed in (1, 2)]

    assert "good" not in states


def test_bare_stone_beside_a_label_shows_no_ringed_mark(page: Page) -> None:
    bare = Conditions(marks=0, strokes=3, distance_mm=(200, 300))

    counts = [looked(page, seed, bare).seen["marks"] for seed in (1, 2, 3)]

    assert sum(counts) <= 1
