"""How well readings repeat, by one person and between persons (ISO 5725-2)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import fsum, isclose, sqrt

from bench.core.enough import Shortage, short_of
from bench.core.intervals import Interval, MeanSquare, sd_interval, sum_interval
from bench.core.readings import Cells, Moments, filled, moments_of, squares_of

# 1.96 √2 rounded as the standard rounds it. For signed readings on one axis, never for the size of
# an angle: see directions.TWO_RECORDS.
LIMIT_FACTOR = 2.8


@dataclass(frozen=True)
class Squares:
    """One-way analysis of variance: sums of squares and degrees of freedom."""

    between: float
    between_df: int
    within: float
    within_df: int

    @property
    def ratio(self) -> float | None:
        """The variance ratio F, or None where either side has no degrees of freedom or spread."""
        if not (self.between_df and self.within_df and self.within):
            return None
        return (self.between / self.between_df) / (self.within / self.within_df)


@dataclass(frozen=True)
class Precision:
    """Repeatability and reproducibility of one item, in the unit of its readings.

    A figure is None while `missing` says what it lacks. `between_clamped` says that the readings
    put the variance between persons (`between_variance`) below 0, so that its SD was set to 0.
    """

    persons: int
    readings: int
    mean: float | None
    squares: Squares
    repeatability_sd: float | None
    repeatability_interval: Interval | None
    between_variance: float | None
    reproducibility_sd: float | None
    reproducibility_interval: Interval | None
    missing: tuple[Shortage, ...]

    @property
    def between_clamped(self) -> bool:
        """Whether the SD between persons was set to 0."""
        return self.between_variance is not None and self.between_variance < 0

    @property
    def between_sd(self) -> float | None:
        """The SD between persons."""
        return None if self.between_variance is None else sqrt(max(0.0, self.between_variance))

    @property
    def repeatability_limit(self) -> float | None:
        """What two readings of one person differ by less than, 95 times of 100."""
        return _limit(self.repeatability_sd)

    @property
    def reproducibility_limit(self) -> float | None:
        """What one reading each of two persons differ by less than, 95 times of 100."""
        return _limit(self.reproducibility_sd)


def precision(cells: Cells) -> Precision:
    """Return repeatability and reproducibility from each person's readings of one item.

    Persons may have read unequally often. Where enough readings are missing, the figures that can
    be given are given and `missing` says what the others lack. Raises BadReading. Sources: ISO
    5725-2 (weighted estimates); intervals by chi-square and, for reproducibility, by modified
    large samples on unweighted means (Burdick and Graybill 1992), exact weights when balanced.
    """
    readings = filled(cells)
    # Counted from one of them: a large constant then costs no digits.
    first = next((row[0] for row in readings.values()), 0.0)
    found = {name: moments_of([value - first for value in row]) for name, row in readings.items()}
    return precision_of(found, first)


def precision_of(cells: Mapping[str, Moments], first: float = 0.0) -> Precision:
    """Return the same from the moments of each person's readings, counted from `first`."""
    persons = {name: cell for name, cell in cells.items() if cell.count}
    squares = _squares(persons)
    within = squares.within / squares.within_df if squares.within_df else None
    between = None if within is None else _between_variance(persons, squares, within)
    sd = None if within is None else sqrt(within)
    total = None if within is None or between is None else sqrt(within + max(0.0, between))
    return Precision(
        persons=len(persons),
        readings=_count(persons),
        mean=first + _grand(persons) if persons else None,
        squares=squares,
        repeatability_sd=sd,
        repeatability_interval=None if sd is None else sd_interval(sd, squares.within_df),
        between_variance=between,
        reproducibility_sd=total,
        reproducibility_interval=None if total is None else _interval(persons, squares, total),
        missing=_missing(persons, squares),
    )


def _limit(sd: float | None) -> float | None:
    return None if sd is None else LIMIT_FACTOR * sd


Persons = Mapping[str, Moments]


def _count(persons: Persons) -> int:
    return sum(cell.count for cell in persons.values())


def _grand(persons: Persons) -> float:
    return fsum(cell.count * cell.mean for cell in persons.values()) / _count(persons)


def _squares(persons: Persons) -> Squares:
    if not persons:
        return Squares(0.0, 0, 0.0, 0)
    cells, grand = list(persons.values()), _grand(persons)
    between = fsum(cell.count * (cell.mean - grand) ** 2 for cell in cells)
    within = fsum(cell.squares for cell in cells)
    return Squares(between, len(cells) - 1, within, _count(persons) - len(cells))


def _between_variance(persons: Persons, squares: Squares, within: float) -> float | None:
    if not squares.between_df:
        return None
    count = _count(persons)
    weighted = fsum(cell.count**2 for cell in persons.values()) / count
    effective = (count - weighted) / squares.between_df
    between = squares.between / squares.between_df
    # A difference that only rounding makes is none: it would pass for a negative variance.
    return 0.0 if isclose(between, within, rel_tol=1e-12) else (between - within) / effective


def _interval(persons: Persons, squares: Squares, estimate: float) -> Interval:
    means = [cell.mean for cell in persons.values()]
    harmonic = len(persons) / fsum(1 / cell.count for cell in persons.values())
    between = MeanSquare(squares_of(means) / squares.between_df, squares.between_df)
    within = squares.within / squares.within_df
    parts = (between, MeanSquare(within, squares.within_df, 1 - 1 / harmonic))
    return sum_interval(parts).root().reaching(estimate)


def _missing(persons: Persons, squares: Squares) -> tuple[Shortage, ...]:
    repeats = max((cell.count for cell in persons.values()), default=0)
    return short_of("persons", len(persons), 2) + short_of("repeats of one person", repeats, 2)
