"""Send hostile requests to an app, as technician and as supervisor, and look at the logbook after."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from random import Random
from typing import Any

from argon2 import PasswordHasher
from flask import Flask

from bench.app import create_app
from bench.core.entries import Body, Draft, Entry, PersonAdded
from bench.core.ids import case_code
from bench.settings import Settings
from bench.store import integrity
from bench.web.clock import SYSTEM
from tests.conftest import PINS, ROLE_OF, Tablet
from tests.web.fuzzing import Fuzzer, count, parts_known, trouble_with
from tests.web.latercases import ready
from tests.web.surveyedcases import OnBench

A_CASE_EVERY = 250


def run(folder: Path, requests: int, seed: int) -> list[str]:
    """Send so many requests and return what went wrong."""
    app = _bench(folder)
    chance, troubles, tally = Random(seed), [], Counter[str]()
    client, codes = app.test_client(), [case_code(9)]
    fuzzer = Fuzzer(app, {}, [])
    for number in range(requests):
        if number % A_CASE_EVERY == 0:
            codes = [*codes[-3:], _case(app, number)]
            entries = [entry.id for entry in app.extensions["log"].entries_of(codes[-1])]
            fuzzer = Fuzzer(app, parts_known(app, codes), entries)
        client.sit(("TEC", "SUP")[number % 2])
        asked = fuzzer.asked(chance)
        tally[asked.method] += 1
        trouble = trouble_with(app, client, asked)
        troubles += [f"request {number}: {trouble}"] if trouble else []
    troubles += [str(problem) for problem in integrity.check(app.extensions["store"]).problems]
    print(
        f"{requests} requests {dict(tally)}, {count(app)} entries, {len(troubles)} troubles",
        flush=True,
    )
    app.extensions["store"].close()
    return troubles


def _bench(folder: Path) -> Flask:
    weak = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    app = create_app(Settings(data=folder), hasher=weak)
    app.config["PROPAGATE_EXCEPTIONS"] = False
    app.test_client_class = Tablet
    for initials, role in ROLE_OF.items():
        _say(app, PersonAdded(initials, role), person="SUP")
        app.extensions["credentials"].set_pin(initials, PINS[initials])
    return app


def _say(app: Flask, body: Body, *, person: str = "TEC", **rest: Any) -> Entry:
    draft = Draft(body, person, **rest)
    return app.extensions["log"].record(
        [draft], now_ms=SYSTEM.now_ms(), random_bits=lambda: SYSTEM.random_bits(74)
    )[0]


def _case(app: Flask, number: int) -> str:
    code = case_code(1_000_000 + number)
    ready(OnBench(app, None, code, lambda body, **rest: _say(app, body, **rest)))
    return code
