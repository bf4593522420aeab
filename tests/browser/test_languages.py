"""The bench in German, whose words are longer: nothing leaves the screen, every key stays large enough."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from playwright.sync_api import Browser, Page, expect

from bench.core.steps import STEPS
from bench.demo.fill import fill
from bench.demo.stories import STORIES
from bench.words import Words
from tests.browser import looks
from tests.browser.conftest import serving
from tests.browser.hand import Hand
from tests.browser.watch import Watch

LANGUAGE = "de"
_SEEN = """() => Promise.all([...document.images].map(picture => {
  picture.loading = "eager"; return picture.decode().catch(() => null); }))"""
say = Words(LANGUAGE).say
SIZES = [(1024, 768), (390, 844)]
OF_THE_LAB = (
    "/", "/?layout=list", "/case/new", "/scan", "/labels", "/desk", "/audit", "/drills", "/instruments",
    "/policy", "/people", "/devices", "/display", "/about", "/outbox", "/pin", "/who",
)  # fmt: skip
OF_A_CASE = ("trail", "sheet", "remount", "photos", "offline", "hold")
ASKING = (
    "receive?sheet=arrival", "receive?sheet=teeth&chart=36r", "receive?sheet=wishes&wish=clasp&tooth={t}",
    "undercuts?tooth={t}&surface=MB", "tilt?disturbed=1", "guide_planes?tooth={t}&surface=M",
    "tripod?again=1", "retention?tooth={t}&surface=MB", "interferences?place=left_lingual",
)  # fmt: skip


@dataclass(frozen=True)
class German:
    """A tablet of a supervisor who chose German, and the main pages it opens."""

    page: Page
    paths: tuple[str, ...]
    address: str

    def at(self, path: str) -> Page:
        self.page.goto(path)
        looks.open_folds(self.page)
        self.page.evaluate(_SEEN)
        return self.page


@pytest.fixture(scope="module")
def german(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[German]:
    with serving(tmp_path_factory.mktemp("german")) as served:
        filled = fill(served.app.extensions["store"], len(STORIES))
        context = browser.new_context(
            base_url=served.address, has_touch=True, reduced_motion="reduce", locale="en-GB",
        )  # fmt: skip
        context.set_default_timeout(10_000)
        watch = Watch()
        watch.over(context)
        hand = Hand(context.new_page())
        who = next(one for one in filled.people if one.role == "supervisor")
        hand.sign_in(who.initials, who.pin)
        hand.goto("/display").choose("language", LANGUAGE)
        hand.page.locator("main button.action").first.tap()
        hand.settle()
        code = next(case.code for case in filled.cases if case.story == "stale")
        tooth = served.app.extensions["log"].case(code).present[2]
        of_the_case = (path.format(t=tooth) for path in (*STEPS, *OF_A_CASE, *ASKING))
        paths = (*OF_THE_LAB, *(f"/case/{code}/{path}" for path in of_the_case))
        yield German(hand.page, paths, served.address)
        context.close()
        assert watch.troubles == []


def test_the_language_chosen_is_spoken_on_the_next_page(german: German) -> None:
    page = german.at("/display")

    assert page.locator("html").get_attribute("lang") == LANGUAGE
    assert page.locator("h1").inner_text() == say("display.title")


def test_the_sign_in_page_leads_to_the_languages(browser: Browser, german: German) -> None:
    stranger = browser.new_context(base_url=german.address, locale="de-AT", has_touch=True)
    page = stranger.new_page()
    page.goto("/who")
    page.get_by_role("link", name=say("display.other_language")).tap()
    page.locator('label:has(input[name="language"][value="en"])').tap()
    page.locator("main button.action").first.tap()
    page.wait_for_url(re.compile(r"//[^/]+/who"))

    expect(page.locator("html")).to_have_attribute("lang", "en")
    stranger.close()


@pytest.mark.parametrize("size", SIZES, ids=["on its side", "phone"])
def test_nothing_in_german_reaches_beyond_the_edge(german: German, size: tuple[int, int]) -> None:
    german.page.set_viewport_size({"width": size[0], "height": size[1]})
    found = {path: looks.beyond(german.at(path)) for path in german.paths}

    assert {path: faults for path, faults in found.items() if faults} == {}


@pytest.mark.parametrize("size", SIZES, ids=["on its side", "phone"])
def test_a_finger_hits_every_key_in_german(german: German, size: tuple[int, int]) -> None:
    # Each point of a plot is a line of the table beside it.
    german.page.set_viewport_size({"width": size[0], "height": size[1]})
    found = {path: looks.too_small(german.at(path), beside=".plot a") for path in german.paths}

    assert {path: small for path, small in found.items() if small} == {}
