"""Agreement on findings that fall into categories: raw, and beyond what chance would give."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import fsum, sqrt

from bench.core.distributions import f_value_at_tail, normal_quantile, t_quantile
from bench.core.enough import Shortage, short_of
from bench.core.intervals import Interval
from bench.core.readings import finite
from bench.core.refusal import Refusal

Counts = Sequence[Sequence[float]]
_BELOW = 0.025


class BadTable(Refusal):
    """A table of agreement that is not whole counts in rows of one length."""

    code = "bad_table"
    what = "The table of {rows} rows does not fit."
    why = "Every row needs as many whole counts of 0 or more, and two readers as many rows as columns."
    what_to_do = "Give one count for each category in every row."


@dataclass(frozen=True)
class Agreement:
    """A coefficient of agreement with what was observed and expected by chance.

    `subjects` counts those read twice or more, `ratings` all readings of them. Undefined (all
    said the same) and degenerate cases give no value or no interval; raw agreement always stands
    beside them.
    """

    subjects: int
    ratings: int
    observed: float | None = None
    expected: float | None = None
    value: float | None = None
    standard_error: float | None = None
    interval: Interval | None = None
    missing: tuple[Shortage, ...] = ()

    @property
    def undefined(self) -> bool:
        """Whether all said the same, so that nothing is left to agree on beyond chance."""
        return self.expected is not None and self.value is None


@dataclass(frozen=True)
class Raw:
    """How many of how many agree, and the exact 95 % interval of that share."""

    agreeing: int
    subjects: int
    share: float | None
    interval: Interval | None
    missing: tuple[Shortage, ...] = ()


def table_of(pairs: Sequence[tuple[Hashable, Hashable]]) -> tuple[tuple[int, ...], ...]:
    """Return the square table of two readers' pairs, categories in the order they first occur."""
    categories = list(dict.fromkeys(value for pair in pairs for value in pair))
    place = {category: i for i, category in enumerate(categories)}
    table = [[0] * len(categories) for _ in categories]
    for one, other in pairs:
        table[place[one]][place[other]] += 1
    return tuple(map(tuple, table))


def cohen(table: Counts) -> Agreement:
    """Return Cohen's kappa of a square table: rows the first reader's categories, columns the other's.

    Full agreement has no standard error and no interval: raw agreement tells more. Raises
    BadTable. Sources: Cohen (1960); standard error of Fleiss, Cohen and Everitt (1969).
    """
    rows = _square(table)
    total = round(fsum(map(fsum, rows)))
    missing = short_of("subjects", total, 2)
    if missing:
        return Agreement(total, 2 * total, missing=missing)
    shares = [[cell / total for cell in row] for row in rows]
    of_rows = [fsum(row) for row in shares]
    of_columns = [fsum(column) for column in zip(*shares, strict=True)]
    observed = fsum(shares[i][i] for i in range(len(shares)))
    expected = fsum(r * c for r, c in zip(of_rows, of_columns, strict=True))
    if expected > 1 - 1e-12:
        return Agreement(total, 2 * total, observed, expected)
    kappa = (observed - expected) / (1 - expected)
    error = sqrt(max(0.0, _cohen_variance(shares, of_rows, of_columns, kappa) / total))
    return _result(total, 2 * total, observed, expected, kappa, error, -normal_quantile(_BELOW))


def fleiss(counts: Counts) -> Agreement:
    """Return Fleiss' kappa of subjects by categories: how many readers put each in each category.

    Subjects may have been read unequally often; one read once tells nothing of agreement but of
    how common its category is. Raises BadTable. Sources: Fleiss (1971); standard error over
    subjects, Gwet (2008), with Student's t.
    """
    rows = _rated(counts)
    shares = _shares(rows)
    expected = fsum(share * share for share in shares)
    by_chance = [fsum(p * c for p, c in zip(shares, row, strict=True)) / sum(row) for row in rows]
    return _over_subjects(rows, expected, by_chance)


def gwet(counts: Counts) -> Agreement:
    """Return Gwet's AC1 of subjects by categories, which stays sensible when one category rules.

    Raises BadTable. Source: Gwet (2008).
    """
    rows = _rated(counts)
    shares, others = _shares(rows), max(1, len(rows[0]) - 1 if rows else 1)
    expected = fsum(share * (1 - share) for share in shares) / others
    by_chance = [
        fsum((1 - p) * c for p, c in zip(shares, row, strict=True)) / sum(row) / others
        for row in rows
    ]
    return _over_subjects(rows, expected, by_chance)


def readers_as_counts(table: Counts) -> tuple[tuple[int, ...], ...]:
    """Return a square table of two readers as subjects by categories, for `fleiss` and `gwet`."""
    rows = _square(table)
    size = range(len(rows))
    return tuple(
        tuple((k == i) + (k == j) for k in size)
        for i in size
        for j in size
        for _ in range(round(rows[i][j]))
    )


def raw_agreement(agreeing: int, subjects: int) -> Raw:
    """Return the share of subjects on which all agree, with its exact interval.

    Source: Clopper and Pearson (1934), by the F distribution.
    """
    missing = short_of("subjects", subjects, 1)
    if missing:
        return Raw(agreeing, subjects, None, None, missing)
    low = share_bound(agreeing, subjects, _BELOW)
    high = 1 - share_bound(subjects - agreeing, subjects, _BELOW)
    return Raw(agreeing, subjects, agreeing / subjects, Interval(low, high))


def share_bound(hits: int, of: int, risk: float) -> float:
    """Return the lower bound of a share on one side, exact (Clopper and Pearson)."""
    if not hits:
        return 0.0
    ratio = f_value_at_tail(risk, 2 * (of - hits + 1), 2 * hits)
    return hits / (hits + (of - hits + 1) * ratio)


def agreeing_subjects(counts: Counts) -> tuple[int, int]:
    """Return on how many subjects all readers agree, of how many read twice or more."""
    rows = [row for row in _rated(counts) if sum(row) > 1]
    return sum(max(row) == sum(row) for row in rows), len(rows)


def _square(table: Counts) -> list[tuple[float, ...]]:
    rows = _checked(table)
    if any(len(row) != len(rows) for row in rows):
        raise BadTable(rows=len(rows))
    return rows


def _rated(counts: Counts) -> list[tuple[float, ...]]:
    return [row for row in _checked(counts) if sum(row) > 0]


def _checked(counts: Counts) -> list[tuple[float, ...]]:
    rows = [finite(row) for row in counts]
    uneven = any(len(row) != len(rows[0]) for row in rows)
    if uneven or any(cell < 0 or cell != int(cell) for row in rows for cell in row):
        raise BadTable(rows=len(rows))
    return rows


def _cohen_variance(
    shares: Counts, of_rows: Sequence[float], of_columns: Sequence[float], kappa: float
) -> float:
    size, left = range(len(shares)), 1 - kappa
    expected = fsum(of_rows[i] * of_columns[i] for i in size)
    on = fsum(shares[i][i] * (1 - (of_rows[i] + of_columns[i]) * left) ** 2 for i in size)
    off = fsum(
        shares[i][j] * (of_columns[i] + of_rows[j]) ** 2 for i in size for j in size if i != j
    )
    correction = kappa - expected * left
    return (on + left * left * off - correction * correction) / (1 - expected) ** 2


def _shares(rows: Sequence[tuple[float, ...]]) -> list[float]:
    columns = zip(*rows, strict=True)
    totals = [sum(row) for row in rows]
    return [
        fsum(c / total for c, total in zip(column, totals, strict=True)) / len(rows)
        for column in columns
    ]


def _over_subjects(
    rows: list[tuple[float, ...]], expected: float, by_chance: list[float]
) -> Agreement:
    used = [row for row in rows if sum(row) > 1]
    ratings = round(sum(map(sum, rows)))
    missing = short_of("subjects read twice", len(used), 2)
    if missing:
        return Agreement(len(used), ratings, missing=missing)
    observed = fsum(map(_pairs_agreeing, used)) / len(used)
    if expected > 1 - 1e-12:
        return Agreement(len(used), ratings, observed, expected)
    value = (observed - expected) / (1 - expected)
    error = _error_over_subjects(rows, len(used), expected, by_chance, value)
    width = t_quantile(1 - _BELOW, len(rows) - 1)
    return _result(len(used), ratings, observed, expected, value, error, width)


def _pairs_agreeing(row: Sequence[float]) -> float:
    readers = sum(row)
    return fsum(c * (c - 1) for c in row) / (readers * (readers - 1)) if readers > 1 else 0.0


def _error_over_subjects(
    rows: list[tuple[float, ...]], used: int, expected: float, by_chance: list[float], value: float
) -> float:
    """Return the standard error from what each subject adds to the coefficient, to first order."""
    left, count = 1 - expected, len(rows)
    squares = []
    for row, chance in zip(rows, by_chance, strict=True):
        own = (_pairs_agreeing(row) - expected) / left * count / used if sum(row) > 1 else 0.0
        squares.append((own - 2 * (1 - value) * (chance - expected) / left - value) ** 2)
    return sqrt(fsum(squares) / (count * (count - 1)))


def _result(
    subjects: int, ratings: int, observed: float, expected: float, value: float, error: float,
    width: float,
) -> Agreement:  # fmt: skip
    if observed > 1 - 1e-12 or error < 1e-12:
        return Agreement(subjects, ratings, observed, expected, value)
    # Subjects read unequally often can take the coefficient itself below -1.
    low = max(min(-1.0, value), value - width * error)
    interval = Interval(low, min(1.0, value + width * error))
    return Agreement(subjects, ratings, observed, expected, value, error, interval)
