"""Invented casts, brought to the step a test needs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from flask import Flask

from bench.core.entries import (
    CaseOpened,
    ClaspWished,
    Entry,
    Mounted,
    SettingTaken,
    TeethRecorded,
)

State = Callable[..., Entry]


@dataclass(frozen=True)
class OnBench:
    """A case at the bench: its code, the way to its pages, and what is recorded of it."""

    app: Flask
    client: Any
    code: str
    say: State

    def state(self, body: object, **rest: Any) -> Entry:
        return self.say(body, case=self.code, **rest)

    def at(self, step: str, **asked: Any) -> Any:
        from tests.web.sentforms import shown

        return shown(self.client.get(f"/case/{self.code}/{step}", query_string=asked))

    def entries(self, kind: str = "") -> list[Entry]:
        found = self.app.extensions["log"].entries_of(self.code)
        return [entry for entry in found if kind in ("", entry.kind)]


def opened(bench: OnBench, arch: str = "lower") -> Entry:
    return bench.state(CaseOpened(bench.code, "26-0042", arch, "master"))


def with_teeth(bench: OnBench) -> None:
    """A lower cast, 36 to be replaced, clasps wished on both its neighbours."""
    opened(bench)
    bench.state(TeethRecorded(missing=(36,), replaced=(36,)))
    bench.state(ClaspWished(37, "ML", "circumferential", "co_cr", 0.25))
    bench.state(ClaspWished(35, "DB", "circumferential", "wrought_wire", 0.5))


def mounted(bench: OnBench) -> Entry:
    with_teeth(bench)
    return bench.state(Mounted())


def tilted(bench: OnBench, before: Entry, ap_deg: float = 4.0, lat_deg: float = 0.0) -> Entry:
    body = SettingTaken(ap_deg, lat_deg, "I1", 0.1)
    return bench.state(body, setting=before.id)
