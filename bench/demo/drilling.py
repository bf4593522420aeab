"""The drills of the invented laboratory: one complete, of heights on marks, and one of undercuts broken off."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from bench.core.drills import order_of
from bench.core.entries import (
    Body,
    DrillClosed,
    DrillPlanned,
    DrillReading,
    UncertaintyStated,
)
from bench.core.ids import RANDOM_BITS, entry_id
from bench.core.lab import Lab
from bench.demo.people import FIRST, TECHNICIANS
from bench.demo.walk import DAY_MS

Said = tuple[int, str, Body, str]
HEIGHT_SD_MM = 0.12
_HEIGHTS = DrillPlanned(
    "tripod_heights", ("Stone 1", "Stone 2", "Stone 3"), TECHNICIANS[:3], 3, 20_260_105,
    distances_mm=(41.0, 39.5, 42.0, 38.0, 40.0, 39.0, 43.5, 41.0, 40.5),
)  # fmt: skip
_UNDERCUTS = DrillPlanned(
    "undercut", ("A", "B", "C", "D", "E", "F"), TECHNICIANS[:2], 2, 20_260_219,
    sites=("34MB", "45MB", "16DB", "24MB", "35DB", "44MB"), gauge_mm=0.25,
)  # fmt: skip
_SEEN = ("both", "lip_short", "both", "none", "both", "lip_first")
_READ_OF_THE_SECOND = 8


def said_of_drills(at_ms: int, random: Random, lab: Lab) -> Iterator[Said]:
    """Yield what is said of drills and of an uncertainty: (Unix ms, id, body, person), in order."""
    check = lab.instruments["G50-1"].checks[-1]
    yield _said(at_ms - 27 * DAY_MS, random, UncertaintyStated(check.id, 0.01), FIRST)
    yield from _complete(at_ms - 26 * DAY_MS, random)
    yield from _broken_off(at_ms - 4 * DAY_MS, random)


def _said(at_ms: int, random: Random, body: Body, person: str) -> Said:
    return at_ms, entry_id(at_ms, random.getrandbits(RANDOM_BITS)), body, person


def _complete(at_ms: int, random: Random) -> Iterator[Said]:
    planned = _said(at_ms, random, _HEIGHTS, FIRST)
    yield planned
    for place, name in enumerate(_HEIGHTS.technicians):
        for turn in order_of(_HEIGHTS, name):
            said_ms = at_ms + (place * 40 + turn.number) * 180_000
            heights_mm = tuple(round(random.gauss(0, HEIGHT_SD_MM), 2) for _ in range(3))
            body = DrillReading(planned[1], turn.number, turn.cast, "", heights_mm, "S1")
            yield _said(said_ms, random, body, name)
    yield _said(at_ms + DAY_MS, random, DrillClosed(planned[1], "Complete"), FIRST)


def _broken_off(at_ms: int, random: Random) -> Iterator[Said]:
    planned = _said(at_ms, random, _UNDERCUTS, FIRST)
    yield planned
    for place, name in enumerate(_UNDERCUTS.technicians):
        for turn in order_of(_UNDERCUTS, name)[: _READ_OF_THE_SECOND + 4 * (1 - place)]:
            said_ms = at_ms + (place * 40 + turn.number) * 90_000
            seen = _SEEN[_UNDERCUTS.casts.index(turn.cast)]
            contact = seen if random.random() < 0.85 else "both"
            body = DrillReading(planned[1], turn.number, turn.cast, contact, (), "G25-1")
            yield _said(said_ms, random, body, name)
