"""Which person's readings stand out: in spread (Cochran, Mandel k) or in level (Grubbs, Mandel h)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import fsum, sqrt
from typing import Literal

from bench.core.distributions import f_value_at_tail, t_quantile
from bench.core.enough import Shortage, short_of
from bench.core.readings import Cells, filled, mean_of, sd_of, squares_of

Verdict = Literal["usual", "straggler", "outlier"]
STRAGGLER, OUTLIER = 0.05, 0.01
LEAST_FOR_H = 5
LEAST_FOR_GRUBBS = 3


@dataclass(frozen=True)
class Standout:
    """A person whose figure is the most extreme, and its critical values at 5 % and at 1 %.

    Without a person and a value there was no spread to judge, or `missing` says what it takes.
    """

    persons: int
    person: str | None = None
    value: float | None = None
    critical_5: float | None = None
    critical_1: float | None = None
    missing: tuple[Shortage, ...] = ()

    @property
    def verdict(self) -> Verdict | None:
        """Straggler beyond the 5 % value, outlier beyond the 1 % value (words of ISO 5725-2)."""
        if self.value is None or self.critical_5 is None or self.critical_1 is None:
            return None
        if self.value > self.critical_1:
            return "outlier"
        return "straggler" if self.value > self.critical_5 else "usual"


@dataclass(frozen=True)
class Grubbs:
    """Grubbs' test of the largest and of the smallest mean; each against two-sided values."""

    largest: Standout
    smallest: Standout


@dataclass(frozen=True)
class Consistency:
    """Mandel's figures of one person: level `h` and spread `k`, each with its critical values.

    `h` is None with fewer than five persons, and `k` without a repeat or any spread.
    """

    person: str
    readings: int
    h: float | None
    h_critical: Mapping[float, float]
    k: float | None
    k_critical: Mapping[float, float]


@dataclass(frozen=True)
class Mandel:
    """Mandel's h and k of all persons; `missing` says what either lacks."""

    persons: int
    rows: tuple[Consistency, ...]
    missing: tuple[Shortage, ...]


def cochran(cells: Cells) -> Standout:
    """Return the person with the most suspect spread, by the share of all squares within persons.

    With equal numbers of repeats this is Cochran's C of ISO 5725-2; with unequal numbers the
    person furthest beyond the own critical value counts ('t Lam 2010). Raises BadReading.
    """
    repeated = {name: row for name, row in filled(cells).items() if len(row) > 1}
    missing = short_of("persons with repeats", len(repeated), 2)
    squares = {name: squares_of(row) for name, row in repeated.items()}
    whole = fsum(squares.values())
    if missing or not whole:
        return Standout(len(repeated), missing=missing)
    dfs = {name: len(row) - 1 for name, row in repeated.items()}

    def excess(name: str) -> float:
        return squares[name] / whole / _critical_share(dfs, name, STRAGGLER)

    worst = max(repeated, key=excess)
    five, one = (_critical_share(dfs, worst, chance) for chance in (STRAGGLER, OUTLIER))
    return Standout(len(repeated), worst, squares[worst] / whole, five, one)


def grubbs(cells: Cells) -> Grubbs:
    """Return Grubbs' test of the persons' means, for the largest and for the smallest.

    Critical values by Student's t, two-sided as in ISO 5725-2. Raises BadReading.
    """
    means = {name: mean_of(row) for name, row in filled(cells).items()}
    missing = short_of("persons", len(means), LEAST_FOR_GRUBBS)
    if missing or not squares_of(list(means.values())):
        none = Standout(len(means), missing=missing)
        return Grubbs(none, none)
    middle, spread = mean_of(list(means.values())), sd_of(list(means.values()))
    high, low = max(means, key=means.__getitem__), min(means, key=means.__getitem__)
    return Grubbs(
        _mean_standout(len(means), high, (means[high] - middle) / spread),
        _mean_standout(len(means), low, (middle - means[low]) / spread),
    )


def mandel(cells: Cells, chances: Sequence[float] = (0.05, 0.01, 0.005)) -> Mandel:
    """Return Mandel's h and k of each person with critical values at the given chances.

    k is the person's SD over the pooled one, so that its critical value follows from the person's
    own number of repeats; with equal numbers this is the k of ISO 5725-2. h can never be reached
    with three or four persons at 0.5 %, so it takes five. Raises BadReading.
    """
    persons = filled(cells)
    levels, spreads = _levels(persons), _spreads(persons)
    dfs = {name: len(persons[name]) - 1 for name in spreads}
    rows = tuple(
        Consistency(
            person=name,
            readings=len(row),
            h=levels.get(name),
            h_critical={c: critical_h(len(persons), c) for c in chances} if levels else {},
            k=spreads.get(name),
            k_critical={c: _critical_k(dfs, name, c) for c in chances} if name in dfs else {},
        )
        for name, row in persons.items()
    )
    repeated = sum(len(row) > 1 for row in persons.values())
    missing = short_of("persons", len(persons), LEAST_FOR_H)
    return Mandel(len(persons), rows, missing + short_of("persons with repeats", repeated, 2))


def critical_h(persons: int, chance: float) -> float:
    """Return what Mandel's h exceeds, either way, with a chance. Source: ISO 5725-2, by t."""
    t = t_quantile(1 - chance / 2, persons - 2)
    return (persons - 1) * t / sqrt(persons * (persons - 2 + t * t))


def critical_k(persons: int, repeats: int, chance: float) -> float:
    """Return what Mandel's k exceeds with a chance, all having read equally often (by F)."""
    return _critical_k({str(i): repeats - 1 for i in range(persons)}, "0", chance)


def critical_c(persons: int, repeats: int, chance: float) -> float:
    """Return what Cochran's C exceeds with a chance, all having read equally often (by F)."""
    return _critical_share({str(i): repeats - 1 for i in range(persons)}, "0", chance)


def critical_g(persons: int, chance: float) -> float:
    """Return what Grubbs' figure exceeds with a chance, two-sided (by t)."""
    t = t_quantile(1 - chance / (2 * persons), persons - 2)
    return (persons - 1) / sqrt(persons) * sqrt(t * t / (persons - 2 + t * t))


def _mean_standout(persons: int, person: str, value: float) -> Standout:
    five, one = (critical_g(persons, chance) for chance in (STRAGGLER, OUTLIER))
    return Standout(persons, person, value, five, one)


def _critical_share(dfs: Mapping[str, int], name: str, chance: float) -> float:
    return _share_exceeded(dfs, name, chance / len(dfs))


def _critical_k(dfs: Mapping[str, int], name: str, chance: float) -> float:
    return sqrt(_share_exceeded(dfs, name, chance) * sum(dfs.values()) / dfs[name])


def _share_exceeded(dfs: Mapping[str, int], name: str, tail: float) -> float:
    own, others = dfs[name], sum(dfs.values()) - dfs[name]
    return 1 / (1 + others / (own * f_value_at_tail(tail, own, others)))


def _levels(persons: Cells) -> dict[str, float]:
    means = {name: mean_of(row) for name, row in persons.items()}
    if len(means) < LEAST_FOR_H or not squares_of(list(means.values())):
        return {}
    middle, spread = mean_of(list(means.values())), sd_of(list(means.values()))
    return {name: (mean - middle) / spread for name, mean in means.items()}


def _spreads(persons: Cells) -> dict[str, float]:
    repeated = {name: row for name, row in persons.items() if len(row) > 1}
    squares = fsum(squares_of(row) for row in repeated.values())
    if len(repeated) < 2 or not squares:
        return {}
    pooled = sqrt(squares / sum(len(row) - 1 for row in repeated.values()))
    return {name: sd_of(row) / pooled for name, row in repeated.items()}
