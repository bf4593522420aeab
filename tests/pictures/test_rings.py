from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFilter

from bench.pictures.crossing import middle_of
from bench.pictures.inks import ink_shares, shown_with_stone
from bench.pictures.rings import Finder, Ringed
from bench.pictures.seen import MarkColours

RED, BLUE, BLACK = (190, 40, 45), (45, 70, 160), (45, 42, 44)
BUFF = (222, 201, 160)
FINE = 10  # drawn so much finer than it is looked at
CENTRE = (150.45, 119.75)


def fine(px: float) -> int:
    """The fine pixel that Pillow has to draw at: it counts from the middle of the first one."""
    return round(px * FINE - 0.5)


class Slate:
    """A drawing by Pillow, not by the invented camera: strokes on plain stone."""

    def __init__(self, stone: tuple[int, int, int] = BUFF) -> None:
        self.picture = Image.new("RGB", (300 * FINE, 240 * FINE), stone)
        self.draw = ImageDraw.Draw(self.picture)

    def ring(self, ink, *, radius=16.0, arc=(0, 360), at=CENTRE) -> Slate:
        x, y = at
        box = [fine(x - radius), fine(y - radius), fine(x + radius), fine(y + radius)]
        self.draw.arc(box, *arc, fill=ink, width=3 * FINE)
        return self

    def stroke(self, ink, start, end, at=CENTRE) -> Slate:
        ends = [tuple(fine(a + b) for a, b in zip(at, end, strict=True)) for end in (start, end)]
        self.draw.line(ends, fill=ink, width=2 * FINE + 1)
        return self

    def cross(self, ink, at=CENTRE) -> Slate:
        return self.stroke(ink, (-7, -4), (7, 4), at).stroke(ink, (4, -7), (-4, 7), at)

    def shown(self) -> Image.Image:
        small = self.picture.reduce(FINE).filter(ImageFilter.GaussianBlur(0.7))
        grain = np.random.default_rng(3).normal(0, 2.5, (240, 300, 3))
        return Image.fromarray(np.uint8(np.clip(np.asarray(small, float) + grain, 0, 255)))

    def marks(self, mark=RED, ring=BLUE) -> list[Ringed]:
        shown = shown_with_stone(self.shown(), 36)
        return Finder(shown, MarkColours(mark, ring), (7.0, 28.0)).marks(None)


def off_px(mark: Ringed) -> float:
    return float(np.hypot(mark.x_px - CENTRE[0], mark.y_px - CENTRE[1]))


@pytest.mark.parametrize(
    ("mark", "ring"), [(RED, BLUE), (BLUE, RED), (BLACK, RED), (RED, (40, 120, 70))]
)
def test_a_cross_in_a_ring_of_another_colour_is_found(mark, ring):
    (seen,) = Slate().ring(ring).cross(mark).marks(mark, ring)

    assert off_px(seen) < 0.15
    assert 13 < seen.radius_px < 17
    assert seen.confidence > 0.9


def test_the_middle_is_that_of_the_stroke_and_not_of_the_ring():
    (seen,) = Slate().ring(BLUE, at=(154, 117)).cross(RED).marks()

    assert off_px(seen) < 0.15


def test_the_middle_of_a_dash_lies_half_way_along_it():
    (seen,) = Slate().ring(BLUE).stroke(RED, (-7, -3), (7, 3)).marks()

    assert off_px(seen) < 0.4
    assert not seen.crossed


@pytest.mark.parametrize("arc", [(30, 330), (80, 330), (120, 345)])
def test_a_ring_may_be_open(arc):
    (seen,) = Slate().ring(BLUE, arc=arc).cross(RED).marks()

    assert off_px(seen) < 0.15


@pytest.mark.parametrize(
    "slate",
    [
        Slate().ring(BLUE),
        Slate().cross(RED),
        Slate().ring(RED).cross(BLUE),
        Slate().ring(BLUE).stroke(RED, (-60, 5), (60, -5)),
        Slate().ring(BLUE, arc=(0, 100)).cross(RED),
        Slate().stroke(BLUE, (-30, -12), (30, -12)).stroke(BLUE, (-30, 12), (30, 12)).cross(RED),
        Slate().ring((70, 70, 72)).cross(RED),
        Slate(),
    ],
    ids=[
        "no stroke",
        "no ring",
        "colours the other way round",
        "a stroke that passes through",
        "a piece of a ring",
        "between two lines",
        "a ring of lead",
        "nothing",
    ],
)
def test_what_is_no_ringed_mark_is_none(slate):
    assert [] == slate.marks()


def test_every_mark_is_found_once():
    slate = Slate()
    for at in ((60, 60), (230, 70), (150, 180)):
        slate.ring(BLUE, at=at).cross(RED, at=at)

    assert [60, 150, 230] == sorted(round(mark.x_px) for mark in slate.marks())


def test_nothing_is_looked_for_inside_the_label():
    shown = shown_with_stone(Slate().ring(BLUE).cross(RED).shown(), 36)
    finder = Finder(shown, MarkColours(RED, BLUE), (7.0, 28.0))
    label = np.array([[100, 70], [200, 70], [200, 170], [100, 170.0]])

    assert [] == finder.marks(label)


def test_a_tap_finds_a_stroke_without_a_ring():
    shown = shown_with_stone(Slate().cross(RED).shown(), 36)
    finder = Finder(shown, MarkColours(RED, BLUE), (7.0, 28.0))

    seen = finder.settled(CENTRE[0] + 3, CENTRE[1] - 2, 11.0)

    assert seen is not None
    assert off_px(seen) < 0.3
    assert seen.confidence < 0.5


def test_a_tap_on_bare_stone_finds_nothing():
    shown = shown_with_stone(Slate().shown(), 36)

    assert Finder(shown, MarkColours(RED, BLUE), (7.0, 28.0)).settled(90, 90, 11.0) is None


@pytest.mark.parametrize("light", [0.4, 0.7, 1.1])
def test_light_and_shadow_show_no_ink(light):
    stone = np.full((4, 4, 3), BUFF, np.float32)

    mark, ring = ink_shares(MarkColours(RED, BLUE), stone * light, stone)

    assert np.abs(mark).max() < 1e-4
    assert np.abs(ring).max() < 1e-4


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9])
def test_the_share_of_an_ink_is_what_covers_the_stone(share):
    stone = np.full((2, 2, 3), (230, 226, 221), np.float32)
    seen = (1 - share) * stone + share * np.array(RED, np.float32)

    mark, ring = ink_shares(MarkColours(RED, BLUE), seen, stone)

    assert abs(mark.mean() - share) < 0.12
    assert ring.max() < 0.02


def test_two_bent_strokes_cross_where_they_were_drawn():
    y, x = np.mgrid[0:41, 0:41] + 0.5
    x, y = x - 21.3, y - 19.8
    first = np.exp(-(((y - 0.3 * x - 0.01 * x**2) / 1.4) ** 2)) * (np.abs(x) < 12)
    second = np.exp(-(((x + 0.2 * y - 0.012 * y**2) / 1.4) ** 2)) * (np.abs(y) < 12)
    looked = np.hypot(x, y) < 17

    found = middle_of(np.maximum(first, second), looked, (20.0, 21.0))

    assert found is not None
    assert found.crossed
    assert np.hypot(found.x_px - 21.3, found.y_px - 19.8) < 0.1


def test_there_is_no_middle_where_nothing_was_looked_at():
    assert middle_of(np.zeros((9, 9)), np.zeros((9, 9), bool), (4.0, 4.0)) is None
