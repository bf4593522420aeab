"""Kill the server while cases are opened: what was answered must be there, once, and nothing half."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from threading import Lock, Thread

import httpx

from bench.core.entries import CaseOpened, Draft, PersonAdded
from bench.core.ids import entry_id
from bench.store import integrity
from bench.store.credentials import Credentials
from bench.store.log import Log
from bench.store.open import open_store
from bench.web.clock import SYSTEM
from tests.conftest import PINS

TOKEN = re.compile(r'name="csrf_token" value="([0-9a-f]+)"')
HANDS = 3
TAKING = Lock()
LEAST_S, MOST_S = 0.15, 0.6


def run(folder: Path, rounds: int) -> list[str]:
    """Kill so many times and return what was lost, doubled or damaged."""
    _people(folder)
    answered: set[str] = set()
    troubles: list[str] = []
    numbers = (f"{n // 10_000:02d}-{n % 10_000:04d}" for n in count())
    for number in range(rounds):
        answered |= _round(folder, numbers, LEAST_S + (MOST_S - LEAST_S) * number / rounds)
        troubles += [f"round {number}: {trouble}" for trouble in _looked_at(folder, answered)]
    print(
        f"{rounds} kills, {len(answered)} cases answered for, {len(troubles)} troubles", flush=True
    )
    return troubles


def _people(folder: Path) -> None:
    store = open_store(folder)

    draft = Draft(PersonAdded("SUP", "supervisor"), "SUP")
    Log(store).record([draft], now_ms=SYSTEM.now_ms(), random_bits=lambda: SYSTEM.random_bits(74))
    Credentials(store).set_pin("SUP", PINS["SUP"])
    store.close()


def _round(folder: Path, numbers: Iterator[str], seconds: float) -> set[str]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "bench", "serve", "--data", str(folder), "--port", str(port)]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    assert server.stdout is not None
    server.stdout.readline()
    answered: set[str] = set()
    hands = [Thread(target=_open_cases, args=(port, numbers, answered)) for _ in range(HANDS)]
    for hand in hands:
        hand.start()
    time.sleep(0.5 + seconds)
    server.kill()
    server.wait()
    server.stdout.close()
    for hand in hands:
        hand.join()
    return answered


def _open_cases(port: int, numbers: Iterator[str], answered: set[str]) -> None:
    """Open one case after another until the server is gone; each is sent twice, as by a double tap."""
    try:
        with httpx.Client(base_url=f"http://127.0.0.1:{port}", timeout=5) as client:
            found = TOKEN.search(client.get("/who").text)
            assert found is not None
            said = {"csrf_token": found[1]}
            client.post("/who", data={**said, "initials": "SUP", "pin": PINS["SUP"]})
            while True:
                with TAKING:
                    case = next(numbers)
                _open_one(client, said, case, answered)
    except httpx.HTTPError:
        return


def _open_one(client: httpx.Client, said: dict[str, str], case: str, answered: set[str]) -> None:
    form_id = entry_id(SYSTEM.now_ms(), SYSTEM.random_bits(74))
    form = {**said, "number": case, "arch": "lower", "cast_kind": "master", "entry_id": form_id}
    for _ in range(2):
        if client.post("/case/new", data=form).status_code == 303:
            answered.add(case)


def _looked_at(folder: Path, answered: set[str]) -> list[str]:
    store = open_store(folder)
    try:
        log = Log(store)
        codes = [line.code for line in log.models.board(limit=1_000_000)]
        opened = Counter(
            said.body.number for code in codes for said in log.case(code).said(CaseOpened)
        )
        lost = [f"lost {case}" for case in answered - set(opened)]
        twice = [f"twice {case}" for case, times in opened.items() if times > 1]
        return [*lost, *twice, *(str(one) for one in integrity.check(store).problems)]
    finally:
        store.close()
