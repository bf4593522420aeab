"""A hand at a tablet: it taps what a person sees, by its words or its place on the map."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from flask import Flask
from playwright.sync_api import Locator, Page, Response, expect

from bench.words import Words
from tests.conftest import Tablet

say = Words("en").say
BUSY = ".htmx-request, .htmx-swapping, .htmx-settling"


class Hand:
    """Taps on one page; every wait is for what the page shows, never for a time."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def goto(self, path: str) -> Hand:
        self.page.goto(path)
        return self

    def button(self, key: str, **params: Any) -> Locator:
        return self.page.get_by_role("button", name=say(key, **params), exact=True)

    def sees(self, key: str, **params: Any) -> None:
        """Expect words of the catalogue anywhere on the page."""
        expect(self.page.locator("body")).to_contain_text(say(key, **params))

    def summary(self, text: str) -> None:
        """Open a fold by its words."""
        self.page.locator("summary", has_text=text).first.tap()

    def record(self, what: Locator) -> Response:
        """Tap what sends a form, wait for the answer and for the page to show it."""
        with self.page.expect_response(lambda one: one.request.method == "POST") as answer:
            what.tap()
        self.settle()
        return answer.value

    def record_sure(self, what: Locator) -> Response:
        """Tap what asks first, and go on."""
        what.tap()
        expect(self.page.locator("#ask")).to_be_visible()
        return self.record(self.page.locator('#ask button[value="go"]'))

    def open(self, what: Locator) -> None:
        """Tap what leads to another page or part of one."""
        with self.page.expect_response(lambda one: one.request.method == "GET"):
            what.tap()
        self.settle()

    def settle(self) -> None:
        self.page.wait_for_load_state("load")
        expect(self.page.locator(BUSY)).to_have_count(0)

    def tooth(self, tooth: int) -> None:
        self.open(self.page.locator(f'[data-archmap] a[data-tooth="{tooth}"]'))

    def surface(self, surface: str) -> None:
        """Tap a surface on the enlarged tooth."""
        self.open(self.page.locator(f'[data-archmap] a[data-surface="{surface}"]'))

    def choose(self, name: str, value: str) -> None:
        """Tap one key of several."""
        self.page.locator(f'label:has(input[name="{name}"][value="{value}"]):visible').first.tap()

    def submit_key(self, name: str, value: str) -> Response:
        """Tap a key that records at once."""
        return self.record(
            self.page.locator(f'button[name="{name}"][value="{value}"]:visible').first
        )

    def number(self, name: str, text: str) -> None:
        """Type a number on the pad that opens over its field."""
        self.page.locator(f"#{name}:visible").tap()
        for sign in text.removeprefix("-"):
            self.page.locator(f'#pad [data-pad-key="{sign}"]').tap()
        if text.startswith("-"):
            self.page.locator('#pad [data-pad-key="sign"]').tap()
        with self._live(name):
            self.page.locator('#pad [data-pad-key="take"]').tap()
        expect(self.page.locator("#pad")).to_be_hidden()

    @contextmanager
    def _live(self, name: str) -> Iterator[None]:
        """Where a number is looked at as it changes, wait for what is said of it."""
        looked_at = self.page.locator(f"[hx-trigger^=change]:has(#{name})")
        if not looked_at.count():
            yield
            return
        with self.page.expect_response(lambda one: one.request.method == "GET"):
            yield
        self.settle()

    def sign_in(self, initials: str, pin: str) -> Hand:
        """Say who it is and type the PIN on the big keys."""
        if not self.page.url.partition("/who")[1]:
            self.page.goto("/who")
        self.choose("initials", initials)
        for digit in pin:
            self.page.locator(f'[data-pin="pin"] [data-pin-key="{digit}"]').tap()
        self.record(self.button("people.who.go"))
        return self

    def sit(self, app: Flask, initials: str) -> Hand:
        """Sit somebody down without asking for the PIN, as the cookie of an earlier sign-in does."""
        tablet = Tablet(app, app.response_class, use_cookies=True).sit(initials)
        cookie = tablet.get_cookie("tiltbook")
        assert cookie is not None
        address = app.config["SETTINGS"].served_at
        self.page.context.add_cookies([{"name": "tiltbook", "value": cookie.value, "url": address}])
        return self
