"""A bench that dies in the middle of a push loses nothing it gave a receipt for, and repeats nothing."""

from __future__ import annotations

import json
import random
import socket
import subprocess
import sys
import threading
import time
from contextlib import closing, suppress
from http.client import HTTPException
from pathlib import Path

import pytest

from bench.core.entries import CaseOpened, DevicePaired, Draft, PersonAdded
from bench.core.ids import case_code
from bench.store.integrity import check
from bench.store.log import Log
from bench.store.open import open_store
from tests.lan.served import free_ports
from tests.sync.plainclient import PlainClient

CODE = case_code(4712)
ROOT = Path(__file__).resolve().parents[2]
KILLS, PER_PUSH, ENTRIES = 2, 10, 400


class Bench:
    """The served program in a process of its own, to be killed and started again."""

    def __init__(self, data: Path, port: int) -> None:
        self.data, self.port = data, port

    def start(self) -> None:
        command = [sys.executable, "-m", "bench", "serve", "--data", self.data, "--port", self.port]
        self.process = subprocess.Popen(
            [str(part) for part in command], cwd=ROOT, stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        until = time.monotonic() + 30
        while time.monotonic() < until:
            with suppress(OSError), closing(socket.create_connection(("127.0.0.1", self.port), 1)):
                return
            time.sleep(0.05)
        raise AssertionError("the bench did not start")

    def kill(self) -> None:
        self.process.kill()
        self.process.wait(20)


@pytest.fixture
def client(tmp_path):
    """A paired device of a bench that is not served yet."""
    made = PlainClient(free_ports())
    store = open_store(tmp_path / "data")
    drafts = (
        Draft(PersonAdded("TEC", "supervisor"), "TEC"),
        Draft(DevicePaired(made.own.device, "one", made.own.public_key), "TEC"),
        Draft(CaseOpened(CODE, "26-0001", "lower", "master"), "TEC", case=CODE),
    )
    now_ms = time.time_ns() // 1_000_000 - 60_000
    for number, draft in enumerate(drafts):
        Log(store).record([draft], now_ms=now_ms + number, random_bits=lambda: 1)
    made.epoch = store.epoch
    store.close()
    for number in range(ENTRIES):
        body = {"tooth": 34, "seat": ("mesial", "distal")[number % 2]}
        made.own.seal("rest_wished", body, now_ms + 100 + number, case=CODE)
    return made


def test_a_push_cut_off_by_a_kill_is_taken_up_where_the_bench_stands(client, tmp_path):
    bench, dice = Bench(tmp_path / "data", client.port), random.Random(4)
    receipted: set[str] = set()
    sent, kills = 0, 0
    bench.start()
    try:
        while sent < ENTRIES:
            if kills < KILLS:
                kills += 1
                threading.Timer(dice.uniform(0.05, 0.3), bench.kill).start()
            try:
                while sent < ENTRIES:
                    status, answer = client.push(client.own.sealed[sent : sent + PER_PUSH])
                    assert status == 200
                    assert {one["verdict"] for one in answer["receipts"]} <= {"stored", "already"}
                    receipted |= {one["digest"] for one in answer["receipts"]}
                    sent = answer["cursor"]["seq"]
            except (OSError, HTTPException, json.JSONDecodeError):
                bench.process.wait(20)
                bench.start()
                sent = client.push([])[1]["cursor"]["seq"]
    finally:
        bench.kill()

    store = open_store(tmp_path / "data")
    held = [stored.decode() for stored in Log(store).after(client.own.device, 0, 5000)]
    report = check(store)
    store.close()
    assert held == client.own.sealed
    assert len(receipted) <= len(held)
    assert report.clean
    assert kills == KILLS
