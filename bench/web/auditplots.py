"""The plots of the audit as numbers for their templates: sizes in order, limits of groups, directions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, log10
from typing import Literal

from bench.core.audit.samples import Remount
from bench.core.audit.spread import Spread
from bench.core.audit.watching import Watched
from bench.core.tilt import tilt_of
from bench.web.auditlines import Line

WIDE, LEFT, RIGHT = 420.0, 34.0, 20.0
CHART_HIGH, CHART_TOP, CHART_FOOT = 210.0, 14.0, 22.0
ROW_HIGH, DOTS_TOP, DOTS_FOOT, NAMES = 30.0, 24.0, 24.0, 104.0
ROUND = 150.0
Look = Literal["plain", "before", "beyond"]


@dataclass(frozen=True, slots=True)
class Tick:
    """A place on an axis and the figure written at it."""

    at: float
    text: str


@dataclass(frozen=True, slots=True)
class Point:
    """A re-mount on a plot: where it lies, how it looks, and which entry it opens."""

    x: float
    y: float
    look: Look
    made: Remount


@dataclass(frozen=True, slots=True)
class ChartPicture:
    """Sizes of the angle in the order they were read; `levels` are lines across with their names' keys."""

    view_box: str
    left: float
    right: float
    base: float
    ticks: tuple[Tick, ...]
    points: tuple[Point, ...]
    levels: tuple[tuple[str, float], ...]
    baseline_x: float


@dataclass(frozen=True, slots=True)
class DotRow:
    """One group on the dot plot; None for figures that too few re-mounts do not give."""

    line: Line
    y: float
    low: float | None
    at: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class DotPicture:
    """The limits of groups with their intervals, and the tolerance."""

    view_box: str
    left: float
    right: float
    top: float
    base: float
    ticks: tuple[Tick, ...]
    rows: tuple[DotRow, ...]
    tolerance_x: float


@dataclass(frozen=True, slots=True)
class DirectionPicture:
    """Where casts came to lie around the record: points, mean, its cone and the tolerance.

    All in units of the plot, the record in the middle, front lower up, right of view to the right.
    """

    half: float
    unit: float
    tolerance: float
    ticks: tuple[Tick, ...]
    points: tuple[Point, ...]
    mean: tuple[float, float] | None
    cone: float | None


def chart_picture(remounts: Sequence[Remount], run: Watched, tolerance_deg: float) -> ChartPicture:
    """Return the chart of the sizes of re-mounts in order, with the limits of their run."""
    levels = {
        "limit": run.size.upper_deg, "usual": run.size.median_deg, "tolerance": tolerance_deg,
    }  # fmt: skip
    known = {name: value for name, value in levels.items() if value is not None}
    top, step = _scale([*(one.total_deg for one in remounts), *known.values()])
    base, high = CHART_HIGH - CHART_FOOT, CHART_HIGH - CHART_FOOT - CHART_TOP

    def y(deg: float) -> float:
        return round(base - high * deg / top, 1)

    across = (WIDE - RIGHT - LEFT - 12) / max(1, len(remounts) - 1)
    xs = [round(LEFT + 6 + across * place, 1) for place in range(len(remounts))]
    beyond = set(run.beyond)
    points = tuple(
        Point(x, y(one.total_deg), _look(place, one, run, beyond), one)
        for place, (x, one) in enumerate(zip(xs, remounts, strict=True))
    )
    return ChartPicture(
        f"0 0 {WIDE:g} {CHART_HIGH:g}", LEFT, WIDE - RIGHT, base,
        tuple(Tick(y(n * step), _written(n * step, step)) for n in range(round(top / step) + 1)),
        points, tuple((name, y(value)) for name, value in known.items()),
        xs[run.baseline - 1] + across / 2 if run.judged and xs else 0.0,
    )  # fmt: skip


def _look(place: int, one: Remount, run: Watched, beyond: set[str]) -> Look:
    if one.entry in beyond:
        return "beyond"
    return "before" if place < run.baseline and run.judged else "plain"


def dot_picture(lines: Sequence[Line], tolerance_deg: float) -> DotPicture:
    """Return the limits of groups below one another, each with its interval."""
    limits = [line.spread.against_record for line in lines]
    top, step = _scale([tolerance_deg, *(one.interval.high for one in limits if one)])
    wide, base = WIDE - RIGHT - NAMES, DOTS_TOP + ROW_HIGH * len(lines)

    def x(deg: float) -> float:
        return round(NAMES + wide * min(deg, top) / top, 1)

    rows = tuple(
        DotRow(
            line, DOTS_TOP + ROW_HIGH * (place + 0.5),
            *((x(one.interval.low), x(one.deg), x(one.interval.high)) if one else (None, None, None)),
        )
        for place, (line, one) in enumerate(zip(lines, limits, strict=True))
    )  # fmt: skip
    return DotPicture(
        f"0 0 {WIDE:g} {base + DOTS_FOOT:g}", NAMES, WIDE - RIGHT, DOTS_TOP, base,
        tuple(Tick(x(n * step), _written(n * step, step)) for n in range(round(top / step) + 1)),
        rows, x(tolerance_deg),
    )  # fmt: skip


def direction_picture(
    remounts: Sequence[Remount], spread: Spread, tolerance_deg: float
) -> DirectionPicture:
    """Return where re-mounts came to lie around the record."""
    reach = [tolerance_deg, *(max(abs(one.ap_deg), abs(one.lat_deg)) for one in remounts)]
    top, step = _scale(reach)
    unit = ROUND / top

    def at(ap_deg: float, lat_deg: float) -> tuple[float, float]:
        return round(lat_deg * unit, 1) + 0.0, round(-ap_deg * unit, 1) + 0.0

    found = spread.directions
    mean = at(*tilt_of(found.mean)) if found.mean and not spread.missing else None
    cone = found.cone_deg * unit if found.cone_deg is not None and mean else None
    outside = {one.entry for one in remounts if one.total_deg > one.tolerance_deg}
    points = tuple(
        Point(*at(one.ap_deg, one.lat_deg), "beyond" if one.entry in outside else "plain", one)
        for one in remounts
    )
    ticks = tuple(
        Tick(n * step * unit, _written(n * step, step)) for n in range(1, round(top / step) + 1)
    )
    return DirectionPicture(ROUND, unit, tolerance_deg * unit, ticks, points, mean, cone)


def _scale(values: Sequence[float]) -> tuple[float, float]:
    """Return the end of an axis that begins at 0 and holds all values, and the step of its figures."""
    most = max([*values, 0.1]) * 1.02
    rough = most / 4
    power = 10.0 ** (ceil(log10(rough)) - 1)
    step = next(power * n for n in (1, 2, 2.5, 5, 10) if power * n >= rough * 0.999)
    return ceil(most / step) * step, step


def _written(value: float, step: float) -> str:
    decimals = 0 if step >= 1 else 1 if abs(step * 10 - round(step * 10)) < 1e-9 else 2
    return f"{value:.{decimals}f}"
