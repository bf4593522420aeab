"""A bench served on loopback and a Chromium before it; whatever goes wrong on a page fails the test."""

from __future__ import annotations

import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
from argon2 import PasswordHasher
from flask import Flask
from playwright.sync_api import Browser, BrowserContext, Playwright, sync_playwright

from bench.app import create_app
from bench.core.entries import Body, Draft, Entry, PersonAdded
from bench.core.ids import case_code
from bench.serving import server_of
from bench.settings import Settings
from bench.web.clock import SYSTEM
from tests.browser.film import film_of_a_label
from tests.browser.hand import Hand
from tests.browser.watch import Watch
from tests.conftest import PINS, ROLE_OF
from tests.web.surveyedcases import OnBench

TABLET = (1024, 768)
CAMERA = ("--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream")
NewHand = Callable[..., Hand]


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as started:
        yield started


def launched(playwright: Playwright, film: Path) -> Browser:
    """Start Debian's Chromium, or else Playwright's own, with a film in place of the camera."""
    debian = Path("/usr/bin/chromium")
    return playwright.chromium.launch(
        executable_path=str(debian) if debian.exists() else None,
        args=["--no-sandbox", *CAMERA, f"--use-file-for-fake-video-capture={film}"],
    )


@pytest.fixture(scope="session")
def browser(playwright: Playwright, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    film = tmp_path_factory.mktemp("camera") / "label.mjpeg"
    film.write_bytes(film_of_a_label())
    chromium = launched(playwright, film)
    yield chromium
    chromium.close()


class Served:
    """An app behind the bench's own server on a free port of loopback, with a fresh folder."""

    def __init__(self, folder: Path) -> None:
        settings = Settings(data=folder / "data", port=free_port())
        weak = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
        self.app: Flask = create_app(settings, hasher=weak)
        self.address = settings.served_at
        self._server = server_of(self.app, settings)
        self._server.shutdown_timeout = 1
        self._server.prepare()
        self._thread = Thread(target=self._server.serve, daemon=True)
        self._thread.start()

    def stop(self) -> None:
        self._server.stop()
        self._thread.join()
        self.app.extensions["store"].close()

    def say(self, body: Body, *, person: str = "TEC", **rest: Any) -> Entry:
        """Record a statement straight into the log, without the checks of pages."""
        draft = Draft(body, person, **rest)
        return self.app.extensions["log"].record(
            [draft], now_ms=SYSTEM.now_ms(), random_bits=lambda: SYSTEM.random_bits(74)
        )[0]

    def with_people(self) -> Served:
        """Add a supervisor, a technician and a reader with their PINs."""
        for initials, role in ROLE_OF.items():
            self.say(PersonAdded(initials, role), person="SUP")
            self.app.extensions["credentials"].set_pin(initials, PINS[initials])
        return self


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextmanager
def serving(folder: Path) -> Iterator[Served]:
    served = Served(folder)
    try:
        yield served
    finally:
        served.stop()


@pytest.fixture
def new_bench(tmp_path: Path) -> Iterator[Served]:
    """A bench before its first start."""
    with serving(tmp_path) as served:
        yield served


@pytest.fixture
def served(new_bench: Served) -> Served:
    """A bench with a supervisor, a technician and a reader."""
    return new_bench.with_people()


@pytest.fixture
def onbench(served: Served) -> OnBench:
    """A case at the bench, nothing recorded of it yet."""
    return OnBench(served.app, None, case_code(20_260_309), served.say)


@pytest.fixture
def watch() -> Iterator[Watch]:
    """Whoever looks on while pages are open; what they saw go wrong fails the test at its end."""
    seen = Watch()
    yield seen
    assert seen.troubles == []


@pytest.fixture
def hand(browser: Browser, new_bench: Served, watch: Watch) -> Iterator[NewHand]:
    """Make hands at tablets of their own: `hand(size, **more for the context)`."""
    contexts: list[BrowserContext] = []

    def made(size: tuple[int, int] = TABLET, **more: Any) -> Hand:
        asked = {"has_touch": True, "viewport": {"width": size[0], "height": size[1]}, **more}
        context = browser.new_context(base_url=new_bench.address, **asked)
        context.set_default_timeout(8000)
        contexts.append(context)
        watch.over(context)
        return Hand(context.new_page())

    yield made
    for context in contexts:
        context.close()
