"""Run rules: which readings in a row are too seldom chance, and how often chance does it all the same."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, NamedTuple

from bench.core.distributions import normal_tail

Side = Literal["high", "low"]


class Rule(NamedTuple):
    """So many of so many readings in a row beyond so many SDs on one side of the centre."""

    name: str
    hits: int
    window: int
    beyond_sd: float


BEYOND_THREE = Rule("one_beyond_three", 1, 1, 3.0)
BEYOND_TWO = Rule("two_of_three_beyond_two", 2, 3, 2.0)
BEYOND_ONE = Rule("four_of_five_beyond_one", 4, 5, 1.0)
ONE_SIDE = Rule("eight_on_one_side", 8, 8, 0.0)
# The four rules in general use, as the NIST/SEMATECH e-Handbook describes them (6.3.2).
USUAL = (BEYOND_THREE, BEYOND_TWO, BEYOND_ONE, ONE_SIDE)


@dataclass(frozen=True)
class Signal:
    """A rule that was met: the readings behind it by index, and the index at which it first was."""

    rule: str
    side: Side
    indexes: tuple[int, ...]
    at: int


@dataclass(frozen=True)
class FalseAlarms:
    """How often rules are met by chance while nothing has changed, with limits known exactly.

    `average_run` is the mean number of readings until the first; `chance` is that of one or more
    within `readings`.
    """

    readings: int
    chance: float
    average_run: float


def signals_of(deviations_sd: Sequence[float], rules: Iterable[Rule] = USUAL) -> tuple[Signal, ...]:
    """Return where the rules are met, from deviations from the centre in SDs, by first index.

    Overlapping meetings of one rule on one side are one signal with all the readings behind it.
    """
    found = [
        signal
        for rule in rules
        for side in ("high", "low")
        for signal in _met(deviations_sd, rule, "high" if side == "high" else "low")
    ]
    return tuple(sorted(found, key=lambda signal: (signal.at, signal.rule)))


def false_alarms(readings: int, rules: Iterable[Rule] = USUAL) -> FalseAlarms:
    """Return how often chance meets the rules, for independent normal readings.

    Limits estimated from few readings alarm more often than this. Source: the run length as a
    Markov chain over the last readings (Champ and Woodall 1987).
    """
    survival = _survival(tuple(rules))
    stays = survival[-1] / survival[-2]
    average = sum(survival[:-1]) + survival[-1] / (1 - stays)
    beyond = max(0, readings - _SETTLED)
    quiet = survival[readings - beyond] * stays**beyond
    return FalseAlarms(readings, 1 - quiet, average)


# After this many readings each further one leaves the same share of series without an alarm.
_SETTLED = 50
# What a reading is for each rule: 1 beyond its line above, -1 below, 0 neither; oldest first.
_Memory = tuple[tuple[int, ...], ...]


def _met(deviations_sd: Sequence[float], rule: Rule, side: Side) -> list[Signal]:
    sign = 1 if side == "high" else -1
    beyond = [sign * value > rule.beyond_sd for value in deviations_sd]
    met: list[tuple[int, list[int]]] = []
    for at in (i for i, is_beyond in enumerate(beyond) if is_beyond):
        behind = [i for i in range(max(0, at - rule.window + 1), at + 1) if beyond[i]]
        if len(behind) < rule.hits:
            continue
        if met and behind[0] <= met[-1][1][-1]:
            met[-1][1].extend([i for i in behind if i > met[-1][1][-1]])
        else:
            met.append((at, behind))
    return [Signal(rule.name, side, tuple(behind), at) for at, behind in met]


@lru_cache(maxsize=32)
def _survival(rules: tuple[Rule, ...]) -> tuple[float, ...]:
    """Return the shares of series without an alarm after 0, 1, 2 ... readings."""
    cuts = sorted({rule.beyond_sd for rule in rules} | {0.0})
    states: dict[_Memory, float] = {(): 1.0}
    shares = [1.0]
    for _ in range(_SETTLED):
        states = _step(states, rules, cuts)
        shares.append(sum(states.values()))
    return tuple(shares)


def _step(
    states: dict[_Memory, float], rules: tuple[Rule, ...], cuts: list[float]
) -> dict[_Memory, float]:
    after: dict[_Memory, float] = defaultdict(float)
    zones = [
        (sign, zone, _zone_chance(cuts, zone)) for sign in (1, -1) for zone in range(len(cuts))
    ]
    for memory, weight in states.items():
        for sign, zone, chance in zones:
            following = _remember(memory, rules, sign, cuts[zone])
            if following is not None:
                after[following] += weight * chance
    return after


def _zone_chance(cuts: list[float], zone: int) -> float:
    beyond = normal_tail(cuts[zone + 1]) if zone + 1 < len(cuts) else 0.0
    return normal_tail(cuts[zone]) - beyond


def _remember(
    memory: _Memory, rules: tuple[Rule, ...], sign: int, least_sd: float
) -> _Memory | None:
    """Return what is remembered after one more reading, or None when a rule is met."""
    following = []
    for rule, marks in zip(rules, memory or ((),) * len(rules), strict=True):
        mark = sign if least_sd >= rule.beyond_sd else 0
        window = (*marks, mark)[-rule.window :]
        if mark and window.count(mark) >= rule.hits:
            return None
        following.append(_needed(window, rule))
    return tuple(following)


def _needed(window: tuple[int, ...], rule: Rule) -> tuple[int, ...]:
    """Return the marks that still can meet the rule: fewer states to follow, same chances."""
    kept = window[1:] if len(window) == rule.window else window
    if rule.hits == rule.window and kept:
        run = next((i for i, mark in enumerate(reversed(kept)) if mark != kept[-1]), len(kept))
        kept = kept[len(kept) - run :]
    while kept and kept[0] == 0:
        kept = kept[1:]
    return kept
