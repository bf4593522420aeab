"""A page that nobody touches is covered; the PIN of its person brings it back as it was."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import NewHand, Served
from tests.browser.hand import Hand, say
from tests.conftest import PINS
from tests.web.latercases import locked
from tests.web.surveyedcases import OnBench

TYPED = "26-0099 typed before the pause"


@pytest.fixture
def forgotten(hand: NewHand, onbench: OnBench) -> Hand:
    """A page with something typed on it that nobody has touched for eleven minutes."""
    locked(onbench)
    tablet = hand()
    tablet.page.clock.install()
    tablet.sit(onbench.app, "TEC")
    tablet.goto(f"/case/{onbench.code}/interferences")
    tablet.page.locator("#remark").fill(TYPED)
    with tablet.page.expect_response("**/lock"):
        tablet.page.clock.fast_forward(605_000)
        tablet.page.clock.run_for(6_000)
    return tablet


def type_pin(hand: Hand, pin: str) -> None:
    for digit in pin:
        hand.page.locator(f'#cover [data-pin-key="{digit}"]').tap()
    with hand.page.expect_response(lambda answer: answer.request.method == "POST"):
        hand.button("shell.cover.go").tap()


def test_a_forgotten_page_is_covered_and_nothing_shows_through(forgotten: Hand) -> None:
    cover = forgotten.page.locator("#cover")
    expect(cover).to_be_visible()
    expect(forgotten.page.locator("#remark")).to_be_hidden()
    box = cover.bounding_box()
    ground = cover.evaluate("cover => getComputedStyle(cover).backgroundColor")

    assert box == {"x": 0, "y": 0, "width": 1024, "height": 768}
    assert re.fullmatch(r"rgb\(\d+, \d+, \d+\)", ground)


def test_escape_does_not_take_the_cover_away(forgotten: Hand) -> None:
    for _ in range(3):
        forgotten.page.keyboard.press("Escape")

    expect(forgotten.page.locator("#cover")).to_be_visible()
    expect(forgotten.page.locator("#remark")).to_be_hidden()


def test_the_pin_brings_the_page_back_with_everything_typed(
    forgotten: Hand, onbench: OnBench
) -> None:
    type_pin(forgotten, PINS["TEC"])
    expect(forgotten.page.locator("#cover")).to_be_hidden()
    expect(forgotten.page.locator("#remark")).to_have_value(TYPED)
    forgotten.page.locator("details.where > summary").tap()
    forgotten.choose("place", "right_lingual")
    forgotten.choose("nature", "torus")
    forgotten.record(forgotten.button("interferences.record"))

    assert [TYPED] == [entry.body.remark for entry in onbench.entries("interference_noted")]


def test_a_wrong_pin_leaves_the_cover_and_says_so(forgotten: Hand) -> None:
    type_pin(forgotten, PINS["SUP"])

    expect(forgotten.page.locator("[data-cover-says]")).to_have_text(re.compile(r"\w+ \w+"))
    expect(forgotten.page.locator("#remark")).to_be_hidden()


def test_without_the_bench_pc_the_cover_stays_and_says_why(forgotten: Hand, watch: object) -> None:
    watch.expected.append("ERR_FAILED")  # type: ignore[attr-defined]
    forgotten.page.route("**/who", lambda route: route.abort())
    for digit in PINS["TEC"]:
        forgotten.page.locator(f'#cover [data-pin-key="{digit}"]').tap()
    forgotten.button("shell.cover.go").tap()

    expect(forgotten.page.locator("[data-cover-says]")).to_have_text(
        say("shell.trouble.unreachable")
    )


def test_the_seat_is_free_while_the_page_is_covered(forgotten: Hand, served: Served) -> None:
    answer = forgotten.page.request.get("/", max_redirects=0)

    assert (303, f"{served.address}/who") == (
        answer.status, served.address + answer.headers["location"].partition("?")[0]
    )  # fmt: skip


def test_somebody_else_signs_in_and_comes_to_the_same_page(forgotten: Hand) -> None:
    there = forgotten.page.url
    forgotten.page.get_by_role("link", name=say("shell.cover.other")).tap()
    forgotten.page.wait_for_url("**/who**")
    forgotten.sign_in("SUP", PINS["SUP"])

    expect(forgotten.page).to_have_url(there)
    expect(forgotten.page.locator(".person").first).to_contain_text("SUP")


def test_a_page_in_use_is_not_covered(hand: NewHand, served: Served) -> None:
    tablet = hand()
    tablet.page.clock.install()
    tablet.sit(served.app, "TEC").goto("/")
    for _ in range(3):
        tablet.page.clock.run_for(400_000)
        tablet.page.locator("h1").first.tap()

    expect(tablet.page.locator("#cover")).to_be_hidden()


def test_a_tab_left_alone_is_not_covered_while_its_person_works_in_another(
    hand: NewHand, onbench: OnBench
) -> None:
    left = hand()
    left.page.clock.install()
    left.sit(onbench.app, "TEC").goto("/")
    used = Hand(left.page.context.new_page()).goto("/about")
    for _ in range(3):
        left.page.clock.run_for(400_000)
        used.page.locator("h1").first.tap()
    left.page.clock.run_for(6_000)

    expect(left.page.locator("#cover")).to_be_hidden()
    assert 200 == used.page.request.get("/", max_redirects=0).status


def test_a_forgotten_tab_leaves_the_seat_to_whoever_took_it_meanwhile(
    hand: NewHand, onbench: OnBench
) -> None:
    left = hand()
    left.page.clock.install()
    left.sit(onbench.app, "TEC").goto("/")
    other = Hand(left.page.context.new_page()).sign_in("SUP", PINS["SUP"])
    other.page.goto("about:blank")
    with left.page.expect_response("**/lock"):
        left.page.clock.fast_forward(605_000)
        left.page.clock.run_for(6_000)

    expect(left.page.locator("#cover")).to_be_visible()
    assert 200 == other.page.request.get("/people", max_redirects=0).status
