"""An invented lab whose casts were put back often, recorded into a bench for the tests of the audit."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from flask import Flask

from bench.core.entries import (
    CaseOpened,
    Draft,
    Entry,
    InstrumentAdded,
    Mounted,
    PersonAdded,
    Remounted,
    TripodMarked,
    UndercutRead,
    sealed,
)
from bench.core.ids import case_code, entry_id
from bench.core.tilt import Tilt, total_deg
from bench.core.wire import seal
from bench.store.log import iso

TECHNICIANS = ("AA", "BB", "CC")
SURVEYORS = ("S1", "S2")
CASES = 12
FIRST_MS = 1_772_000_000_000
_STEP_MS = 5 * 3_600_000


class Chain:
    """A tablet's chain of statements, taken into the log in one go."""

    def __init__(self, device: str = "tablet-0000000000aa") -> None:
        self.device, self.made, self.bytes = device, list[Entry](), list[bytes]()

    def say(self, body: object, person: str, case: str, setting: str | None = None) -> Entry:
        seq = len(self.made) + 1
        at_ms = FIRST_MS + seq * _STEP_MS
        prev = self.made[-1].digest if self.made else ""
        draft = Draft(body, person, case, setting)  # type: ignore[arg-type]
        entry, stored = seal(
            sealed(
                draft,
                entry_id=entry_id(at_ms, seq),
                device=self.device,
                at=iso(at_ms),
                seq=seq,
                prev=prev,
            )
        )
        self.made.append(entry)
        self.bytes.append(stored)
        return entry


def remounted(ap_deg: float, lat_deg: float, surveyor: str = "S1", **rest: object) -> Remounted:
    """Return a re-mount by scored lines that far off."""
    ap_deg, lat_deg = round(ap_deg, 4), round(lat_deg, 4)
    total = round(total_deg(Tilt(ap_deg, lat_deg)), 4)
    return Remounted("scored_lines", ap_deg, lat_deg, total, 1.0, surveyor=surveyor, **rest)  # type: ignore[arg-type]


def opened(chain: Chain, number: int) -> tuple[str, str]:
    """Open a case and mount its cast; return its code and setting."""
    code = case_code(number)
    chain.say(CaseOpened(code, f"26-{number:04}", "lower", "master"), "AA", code)
    return code, chain.say(Mounted(), "AA", code).id


def audited(app: Flask, state: Callable[..., Entry], each: int = 9, seed: int = 5) -> Chain:
    """Put 12 casts back by three technicians on two surveyors; BB is far worse, S2's last ones drift."""
    for name in TECHNICIANS:
        state(PersonAdded(name, "technician"), person="SUP")
    for tag in SURVEYORS:
        state(InstrumentAdded(tag, "surveyor"), person="SUP")
    dice, chain, made = Random(seed), Chain(), 0
    casts = [opened(chain, 500 + n) for n in range(CASES)]
    whole = CASES * each
    for _ in range(each):
        for code, setting in casts:
            name, surveyor = TECHNICIANS[made % 3], SURVEYORS[made // 3 % 2]
            spread = 0.9 if name == "BB" else 0.2
            drift = max(0.0, made - whole * 0.75) * 0.02 if surveyor == "S2" else 0.0
            body = remounted(dice.gauss(0.1 + drift, spread), dice.gauss(0, spread), surveyor)
            chain.say(body, name, code, setting)
            made += 1
    _read_twice(chain, casts)
    _take_in(app, chain)
    return chain


def _read_twice(chain: Chain, casts: list[tuple[str, str]]) -> None:
    for place, (code, setting) in enumerate(casts):
        for name in TECHNICIANS[:2]:
            contact = (
                "lip_short" if name == "BB" and place % 4 == 0 else "both" if place % 2 else "none"
            )
            chain.say(UndercutRead(34, "MB", 0.25, contact), name, code, setting)
        for shift in (0.0, 0.2):
            marks = TripodMarked(40.0 + shift, 40.0, 40.0, "clockwise", True, True, True, True)
            chain.say(marks, "CC", code, setting)


def _take_in(app: Flask, chain: Chain) -> None:
    for start in range(0, len(chain.bytes), 400):
        receipts = app.extensions["log"].append(chain.bytes[start : start + 400])
        assert {"stored"} == {one.verdict for one in receipts}
