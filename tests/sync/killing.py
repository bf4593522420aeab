"""A served bench that is killed again and again while a paired device pushes its chain."""

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

from bench.core.entries import CaseOpened, DevicePaired, Draft, PersonAdded
from bench.core.ids import case_code
from bench.store.log import Log
from bench.store.open import open_store
from tests.lan.served import free_ports
from tests.sync.plainclient import PlainClient

ROOT = Path(__file__).resolve().parents[2]
PER_PUSH = 10
PER_CASE = 60


class Bench:
    """The served program in a process of its own, to be killed and started again."""

    def __init__(self, data: Path, port: int) -> None:
        self.data, self.port = data, port

    def start(self) -> None:
        """Start it and wait until it listens."""
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
        """Kill it as a power cut would."""
        self.process.kill()
        self.process.wait(20)


def paired_client(data: Path, entries: int) -> PlainClient:
    """Make a data folder with a lab, cases and a paired device; return the device with its chain sealed.

    A case has as many entries as a real one may, so that a long chain costs no more for each of them.
    """
    made = PlainClient(free_ports())
    store = open_store(data)
    codes = [case_code(4712 + number) for number in range(-(-entries // PER_CASE))]
    drafts = (
        Draft(PersonAdded("TEC", "supervisor"), "TEC"),
        Draft(DevicePaired(made.own.device, "one", made.own.public_key), "TEC"),
        *(
            Draft(CaseOpened(code, f"26-{number + 1:04d}", "lower", "master"), "TEC", case=code)
            for number, code in enumerate(codes)
        ),
    )
    now_ms = time.time_ns() // 1_000_000 - 60_000
    for number, draft in enumerate(drafts):
        Log(store).record([draft], now_ms=now_ms + number, random_bits=lambda: 1)
    made.epoch = store.epoch
    store.close()
    for number in range(entries):
        body = {"tooth": 34, "seat": ("mesial", "distal")[number % 2]}
        made.own.seal("rest_wished", body, now_ms + 100 + number, case=codes[number // PER_CASE])
    return made


def pushed_through(
    client: PlainClient, bench: Bench, most_kills: int, dice: random.Random
) -> tuple[set[str], int]:
    """Push the whole chain, the bench killed so many times on the way; return what was receipted, and kills."""
    receipted: set[str] = set()
    sent, kills, whole = 0, 0, len(client.own.sealed)
    bench.start()
    try:
        while sent < whole:
            if kills < most_kills:
                kills += 1
                threading.Timer(dice.uniform(0.05, 0.3), bench.kill).start()
            try:
                while sent < whole:
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
    return receipted, kills
