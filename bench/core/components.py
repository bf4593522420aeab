"""Where the spread of readings comes from: cast, technician, both together, or the repeat.

Every technician reads every cast several times (a crossed study with random casts and technicians).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product
from math import fsum, isclose, sqrt

from bench.core.distributions import f_tail
from bench.core.enough import Shortage, short_of
from bench.core.intervals import Interval, MeanSquare, difference_interval, sum_interval
from bench.core.readings import Cells, Moments, finite, mean_of, moments_of, squares_of

Study = Mapping[str, Cells]
Grid = Mapping[tuple[str, str], Moments]
EMPTY = Moments(0, 0.0, 0.0)


@dataclass(frozen=True)
class Source:
    """One line of the analysis of variance; F and its chance are None where undefined."""

    squares: float
    df: int
    ratio: float | None = None
    chance: float | None = None

    @property
    def mean_square(self) -> float:
        """Sum of squares over its degrees of freedom."""
        return self.squares / self.df


@dataclass(frozen=True)
class Component:
    """A variance with its 95 % interval; `estimate` is as the readings put it, even below 0."""

    estimate: float
    interval: Interval

    @property
    def clamped(self) -> bool:
        """Whether the readings put it below 0, so that 0 is given instead."""
        return self.estimate < 0

    @property
    def variance(self) -> float:
        """The variance, never below 0."""
        return max(0.0, self.estimate)

    @property
    def sd(self) -> float:
        """The SD, in the unit of the readings."""
        return sqrt(self.variance)

    @property
    def sd_interval(self) -> Interval:
        """The interval of the SD; what is below 0 becomes 0."""
        return self.interval.root()


@dataclass(frozen=True)
class Variances:
    """The parts of the spread. `gauge` is technician, interaction and repeat together."""

    cast: Component
    technician: Component
    interaction: Component
    repeat: Component
    gauge: Component


@dataclass(frozen=True)
class Table:
    """The analysis of variance; `rest` joins interaction and repeat when they were pooled."""

    cast: Source
    technician: Source
    interaction: Source
    repeat: Source
    rest: Source | None


@dataclass(frozen=True)
class Components:
    """A study of casts by technicians by repeats, or what is missing of it.

    `balanced` says that all read equally often; otherwise figures rest on unweighted means.
    """

    casts: int
    technicians: int
    readings: int
    repeats: float | None = None
    balanced: bool = False
    table: Table | None = None
    variances: Variances | None = None
    missing: tuple[Shortage, ...] = ()

    @property
    def pooled(self) -> bool:
        """Whether the interaction was pooled with the repeats."""
        return self.table is not None and self.table.rest is not None


@dataclass(frozen=True)
class _Layout:
    casts: int
    technicians: int
    repeats: float


def components(study: Study, pool_above: float | None = None) -> Components:
    """Return the parts of the spread of readings by cast and technician, in their unit squared.

    `study` holds, for each cast, each technician's readings. A cast that a technician has not read
    is no answer but a shortage naming the cell; unequal numbers are taken by unweighted means with
    the harmonic mean number of repeats. With `pool_above`, an interaction whose chance is above it
    is pooled with the repeats (0.25 is usual). Raises BadReading. Sources: expected mean squares
    of the random two-way model; intervals by modified large samples (Burdick and Graybill 1992).
    """
    return components_of(_grid(study), pool_above)


def components_of(grid: Grid, pool_above: float | None = None) -> Components:
    """Return the same from the moments of each cell, by cast and technician.

    All cells are to be counted from one reading where a large constant lies in them.
    """
    casts, technicians = (list(dict.fromkeys(cell[side] for cell in grid)) for side in (0, 1))
    grid = {cell: grid.get(cell, EMPTY) for cell in product(casts, technicians)}
    counts = [cell.count for cell in grid.values()]
    missing = _missing(grid, casts, technicians)
    if missing:
        return Components(len(casts), len(technicians), sum(counts), missing=missing)
    repeats = len(counts) / fsum(1 / count for count in counts)
    layout = _Layout(len(casts), len(technicians), repeats)
    table = _table(grid, casts, technicians, layout, pool_above)
    return Components(
        casts=len(casts),
        technicians=len(technicians),
        readings=sum(counts),
        repeats=repeats,
        balanced=len(set(counts)) == 1,
        table=table,
        variances=_variances(table, layout),
    )


def _grid(study: Study) -> Grid:
    casts = list(study)
    technicians = list(dict.fromkeys(name for cells in study.values() for name in cells))
    rows = {
        (cast, name): finite(study[cast].get(name, ()))
        for cast, name in product(casts, technicians)
    }
    first = next((row[0] for row in rows.values() if row), 0.0)
    # Counted from one reading, so that a large constant in all of them costs no digits.
    return {
        cell: moments_of([value - first for value in row]) if row else EMPTY
        for cell, row in rows.items()
    }


def _missing(grid: Grid, casts: list[str], technicians: list[str]) -> tuple[Shortage, ...]:
    few = short_of("casts", len(casts), 2) + short_of("technicians", len(technicians), 2)
    if few:
        return few
    gaps = [(cell, row) for cell, row in grid.items() if not row.count]
    if not gaps and all(row.count < 2 for row in grid.values()):
        gaps = list(grid.items())
    return tuple(Shortage("readings", row.count, 2, f"{c} by {t}") for (c, t), row in gaps)


def _table(
    grid: Grid, casts: list[str], technicians: list[str], layout: _Layout, pool_above: float | None
) -> Table:
    means = {cell: row.mean for cell, row in grid.items()}
    of_cast = [mean_of([means[c, t] for t in technicians]) for c in casts]
    of_technician = [mean_of([means[c, t] for c in casts]) for t in technicians]
    grand = mean_of(of_cast)
    left = [
        means[c, t] - row - column + grand
        for c, row in zip(casts, of_cast, strict=True)
        for t, column in zip(technicians, of_technician, strict=True)
    ]
    p, o, n = layout.casts, layout.technicians, layout.repeats
    within = fsum(row.squares for row in grid.values())
    repeat = Source(within, sum(row.count for row in grid.values()) - p * o)
    mixed = _source(n * fsum(value**2 for value in left), (p - 1) * (o - 1), repeat)
    rest = _rest(mixed, repeat, pool_above)
    return Table(
        cast=_source(o * n * squares_of(of_cast), p - 1, rest or mixed),
        technician=_source(p * n * squares_of(of_technician), o - 1, rest or mixed),
        interaction=mixed,
        repeat=repeat,
        rest=rest,
    )


def _source(squares: float, df: int, against: Source) -> Source:
    if not against.mean_square:
        return Source(squares, df)
    ratio = squares / df / against.mean_square
    return Source(squares, df, ratio, f_tail(ratio, df, against.df))


def _rest(mixed: Source, repeat: Source, pool_above: float | None) -> Source | None:
    if pool_above is None or mixed.chance is None or mixed.chance <= pool_above:
        return None
    return Source(mixed.squares + repeat.squares, mixed.df + repeat.df)


def _variances(table: Table, layout: _Layout) -> Variances:
    p, o, n = layout.casts, layout.technicians, layout.repeats
    error = table.rest or table.interaction
    repeat = table.rest or table.repeat
    return Variances(
        cast=_difference(table.cast, error, o * n),
        technician=_difference(table.technician, error, p * n),
        interaction=_interaction(table, n),
        repeat=_sum(_part(repeat, 1.0)),
        gauge=_gauge(table, p * n, layout),
    )


def _interaction(table: Table, repeats: float) -> Component:
    if table.rest:
        return Component(0.0, Interval(0.0, 0.0))
    return _difference(table.interaction, table.repeat, repeats)


def _gauge(table: Table, per_technician: float, layout: _Layout) -> Component:
    between = _part(table.technician, 1 / per_technician)
    if table.rest:
        return _sum(between, _part(table.rest, 1 - 1 / per_technician))
    mixed = _part(table.interaction, (layout.casts - 1) / per_technician)
    return _sum(between, mixed, _part(table.repeat, 1 - 1 / layout.repeats))


def _part(source: Source, weight: float) -> MeanSquare:
    return MeanSquare(source.mean_square, source.df, weight)


def _sum(*parts: MeanSquare) -> Component:
    total = fsum(part.weight * part.value for part in parts)
    return Component(total, sum_interval(parts))


def _difference(source: Source, against: Source, divisor: float) -> Component:
    plus, minus = _part(source, 1 / divisor), _part(against, 1 / divisor)
    gap = source.mean_square - against.mean_square
    # A difference that only rounding makes is none: it would pass for a negative variance.
    alike = isclose(source.mean_square, against.mean_square, rel_tol=1e-12)
    estimate = 0.0 if alike else gap / divisor
    return Component(estimate, difference_interval(plus, minus))
