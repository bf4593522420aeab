"""Drawing over a photo: by finger, by keyboard alone, and on a tablet without the bench PC."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, Playwright, expect

from bench.core.entries import PhotoDrawn, PhotoKept
from bench.core.entries.photos import Shape
from tests.browser import looks, tripodphotos
from tests.browser.conftest import NewHand, Served
from tests.browser.hand import Hand, say
from tests.browser.tablets import TabletHand, pair, persistent, started_again, watching
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.surveyedcases import OnBench, mounted


@pytest.fixture
def at(served: Served, onbench: OnBench) -> str:
    """The page that draws over a photo of a tripod."""
    zero = mounted(onbench)
    marks = onbench.state(tripodphotos.tripod_marked(), setting=zero.id)
    kept = tripodphotos.keep(served.app, served.say, onbench.code, marks.id)
    assert isinstance(kept.body, PhotoKept)
    return f"/case/{onbench.code}/photo/{kept.body.sha256}/draw"


@pytest.fixture
def drawer(served: Served, hand: NewHand, at: str) -> Hand:
    return hand(reduced_motion="reduce").sit(served.app, "TEC").goto(at)


def drag(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    """Draw with a finger from one share of the picture to another."""
    box = page.locator("[data-draw-stage]").bounding_box()
    assert box is not None
    (x1, y1), (x2, y2) = (
        (box["x"] + x * box["width"], box["y"] + y * box["height"]) for x, y in (start, end)
    )
    finger = page.context.new_cdp_session(page)
    middle = ((x1 + x2) / 2, (y1 + y2) / 2)
    for sort, points in (
        ("touchStart", [(x1, y1)]), ("touchMove", [middle]), ("touchMove", [(x2, y2)]), ("touchEnd", []),
    ):  # fmt: skip
        touched = [{"x": x, "y": y} for x, y in points]
        finger.send("Input.dispatchTouchEvent", {"type": sort, "touchPoints": touched})
    finger.detach()


def drawn(bench: OnBench) -> tuple[Shape, ...]:
    """Return the newest drawing."""
    body = bench.entries("photo_drawn")[-1].body
    assert isinstance(body, PhotoDrawn)
    return body.drawn


def near(place: tuple[float, float], wanted: tuple[float, float]) -> bool:
    return max(abs(a - b) for a, b in zip(place, wanted, strict=True)) < 0.01


def test_by_finger_an_arrow_and_a_circle_are_drawn_moved_and_kept(
    drawer: Hand, onbench: OnBench
) -> None:
    page = drawer.page
    drag(page, (0.4, 0.2), (0.22, 0.27))
    page.locator('input[value="circle"]').check(force=True)
    drag(page, (0.24, 0.78), (0.29, 0.78))
    drag(page, (0.31, 0.235), (0.41, 0.335))
    page.get_by_label(say("drawing.arrow_n", n=1), exact=True).fill("rubbed off")
    with page.expect_navigation():
        drawer.button("drawing.keep").click()

    arrow, circle = drawn(onbench)
    assert ("arrow", "rubbed off", "circle", "") == (
        arrow.sort,
        arrow.text,
        circle.sort,
        circle.text,
    )
    assert near(arrow.start, (0.5, 0.3))
    assert near(arrow.end, (0.32, 0.37))
    assert near(circle.end, (0.29, 0.78))
    drawer.sees("recorded.said", what=say("recorded.kind.photo_drawn"))


def test_by_keyboard_alone_it_is_added_moved_sized_named_removed_and_kept(
    drawer: Hand, onbench: OnBench
) -> None:
    page = drawer.page
    drawer.button("drawing.add_circle").press("Enter")
    expect(page.locator("[data-draw-stage]")).to_be_focused()
    for key in ("ArrowLeft", "ArrowLeft", "Shift+ArrowRight", "Alt+ArrowUp"):
        page.keyboard.press(key)
    drawer.button("drawing.add_arrow").press("Enter")
    expect(page.locator("[data-draw-says]")).to_have_text(
        say("drawing.says.added", name=say("drawing.arrow_n", n=2))
    )
    page.keyboard.press("Delete")
    expect(page.locator("[data-draw-list] > li")).to_have_count(1)
    page.get_by_label(say("drawing.circle_n", n=1), exact=True).press("End")
    page.keyboard.type("chip")
    with page.expect_navigation():
        drawer.button("drawing.keep").press("Enter")

    (circle,) = drawn(onbench)
    assert ("circle", "chip") == (circle.sort, circle.text)
    assert near(circle.start, (0.40, 0.416))
    assert near(circle.end, (0.49, 0.416))


def test_a_step_back_undoes_the_last_change_first(drawer: Hand) -> None:
    page = drawer.page
    drag(page, (0.4, 0.2), (0.2, 0.3))
    drag(page, (0.8, 0.8), (0.7, 0.6))
    expect(page.locator("[data-draw-list] > li")).to_have_count(2)
    drawer.button("drawing.undo").click()
    expect(page.locator("[data-draw-list] > li")).to_have_count(1)
    drawer.button("drawing.undo").click()

    expect(page.locator("[data-draw-none]")).to_be_visible()
    expect(drawer.button("drawing.undo")).to_be_disabled()


def test_axe_finds_nothing_and_a_finger_every_key(drawer: Hand) -> None:
    page = drawer.page
    drag(page, (0.4, 0.2), (0.2, 0.3))

    assert looks.faults_in_light_and_dark(page) == []
    assert looks.too_small(page) == []
    assert list(looks.beyond_the_edge(page)) == []


def test_a_tablet_keeps_drawings_until_the_bench_pc_is_back(
    playwright: Playwright, tmp_path: Path, served: Served, onbench: OnBench, at: str, watch: Watch
) -> None:
    tablet = persistent(playwright, tmp_path / "browser", served)
    page = watching(tablet, watch)
    hand = TabletHand(page)
    pair(page, served)
    hand.sign_in("TEC", PINS["TEC"]).goto(at)
    served.stop()
    hand.button("drawing.add_arrow").tap()
    hand.keep(hand.button("drawing.keep"), "photo_drawn")
    hand.button("drawing.add_circle").tap()
    hand.keep(hand.button("drawing.keep"), "photo_drawn")
    hand.waiting(2)
    started_again(served)

    page.evaluate("() => globalThis.dispatchEvent(new Event('online'))")
    hand.sent()

    first, second = onbench.entries("photo_drawn")
    assert (first.id,) == second.supersedes
    assert ["arrow", "circle"] == [shape.sort for shape in drawn(onbench)]
    tablet.close()
