from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from argon2 import PasswordHasher
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import settings as hypothesis_settings
from werkzeug.test import TestResponse

from bench.app import create_app
from bench.core.entries import Body, CaseOpened, DevicePaired, Draft, Entry, PersonAdded
from bench.core.entries.vocabulary import Role
from bench.core.ids import case_code
from bench.settings import Settings
from bench.web.clock import Clock
from tests.sync.sealing import Device

# How long an example takes says how busy the machine is, not whether the code is right.
hypothesis_settings.register_profile("bench", deadline=None)
hypothesis_settings.load_profile("bench")

BROWSER_FOLDER = "browser"
START_MS = 1_773_043_200_000  # 2026-03-09T08:00:00Z
PINS = {"SUP": "7294", "TEC": "8351", "REA": "6402"}
ROLE_OF: dict[str, Role] = {"SUP": "supervisor", "TEC": "technician", "REA": "reader"}


# First, because pytest-xdist reads the groups in the same hook.
@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Keep the browser tests in one process, so that they never compete with each other."""
    for item in items:
        if item.path.parent.name == BROWSER_FOLDER:
            item.add_marker(pytest.mark.xdist_group("browser"))


class Hands:
    """A clock that a test turns: it moves on by one millisecond at each look."""

    def __init__(self) -> None:
        self.ms = START_MS

    def now_ms(self) -> int:
        self.ms += 1
        return self.ms

    def forward(self, seconds: float) -> None:
        self.ms += int(seconds * 1000)


class Tablet(FlaskClient):
    """A browser that sends its token with every form, as the pages make it do."""

    def open(self, *args: Any, **rest: Any) -> TestResponse:
        """Ask, and read the whole answer, so that no file stays open."""
        return super().open(*args, **{"buffered": True, **rest})

    def token(self) -> str:
        with self.session_transaction() as session:
            return "0" * 64 + session.setdefault("csrf", "c" * 64)

    def send(self, path: str, data: dict[str, Any] | None = None, **rest: Any) -> TestResponse:
        return self.post(path, data={"csrf_token": self.token(), **(data or {})}, **rest)

    def sit(self, initials: str) -> Tablet:
        """Sign somebody in without asking for the PIN."""
        seat = f"{initials:>064}"
        seats, clock = self.application.extensions["seats"], self.application.extensions["clock"]
        seats.take(initials, seat, clock.now_ms(), 600_000)
        with self.session_transaction() as session:
            session.update(seat=seat, last=initials)
        self.token()
        return self


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(data=tmp_path / "data")


@pytest.fixture
def hands() -> Hands:
    return Hands()


@pytest.fixture
def empty_app(settings: Settings, hands: Hands) -> Iterator[Flask]:
    """A bench before its first start."""
    chance = random.Random(8480)
    app = create_app(
        settings,
        clock=Clock(hands.now_ms, chance.getrandbits),
        hasher=PasswordHasher(time_cost=1, memory_cost=8, parallelism=1),
    )
    app.config["TESTING"] = True
    app.config["PROPAGATE_EXCEPTIONS"] = False
    app.test_client_class = Tablet
    yield app
    app.extensions["store"].close()


@pytest.fixture
def state(empty_app: Flask, hands: Hands) -> Callable[..., Entry]:
    """Record a statement straight into the log, without the checks of pages."""

    def said(body: Body, *, person: str = "TEC", **rest: Any) -> Entry:
        bits = empty_app.extensions["clock"].random_bits
        draft = Draft(body, person, **rest)
        log = empty_app.extensions["log"]
        return log.record([draft], now_ms=hands.now_ms(), random_bits=lambda: bits(74))[0]

    return said


@pytest.fixture
def app(empty_app: Flask, state: Callable[..., Entry]) -> Flask:
    """A bench with a supervisor, a technician and a reader."""
    for initials, role in ROLE_OF.items():
        state(PersonAdded(initials, role), person="SUP")
        empty_app.extensions["credentials"].set_pin(initials, PINS[initials])
    return empty_app


@pytest.fixture
def stranger(app: Flask) -> Tablet:
    return app.test_client()


@pytest.fixture
def client(stranger: Tablet) -> Tablet:
    return stranger


@pytest.fixture
def supervisor(app: Flask) -> Tablet:
    return app.test_client().sit("SUP")


@pytest.fixture
def technician(app: Flask) -> Tablet:
    return app.test_client().sit("TEC")


@pytest.fixture
def reader(app: Flask) -> Tablet:
    return app.test_client().sit("REA")


@pytest.fixture
def code() -> str:
    """A label code that nothing is recorded of yet."""
    return case_code(20_260_309)


@pytest.fixture
def device(app: Flask, state: Callable[..., Entry]) -> Device:
    """A tablet that is paired."""
    made = Device()
    state(DevicePaired(made.device, "table by the window", made.public_key), person="SUP")
    return made


@pytest.fixture
def opened_case(state: Callable[..., Entry], code: str) -> str:
    """The code of a case that is open."""
    state(CaseOpened(code, "26-0001", "lower", "master"), case=code)
    return code
