"""How well the distances between tripod marks repeat, measured again with the caliper."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from math import fsum, sqrt

from bench.core.audit.samples import CaliperReading
from bench.core.enough import Shortage, short_of
from bench.core.intervals import Interval, sd_interval
from bench.core.precision import LIMIT_FACTOR
from bench.core.readings import squares_of


@dataclass(frozen=True)
class CaliperSpread:
    """The SD of a distance measured again, mm, pooled over all triangles, and its limit for two.

    `df` counts the degrees of freedom: three sides for each repeat of a triangle.
    """

    triangles: int
    readings: int
    df: int
    entries: tuple[str, ...]
    sd_mm: float | None = None
    interval_mm: Interval | None = None
    limit_mm: float | None = None
    missing: tuple[Shortage, ...] = ()


def caliper_spread(readings: Iterable[CaliperReading]) -> CaliperSpread:
    """Return how well caliper distances repeat.

    Pooled within triangles and sides; with two readings each it is Dahlberg's figure. Limit 2.8 SD,
    since a distance is one signed axis. Source: ISO 5725-2.
    """
    marks: defaultdict[str, list[CaliperReading]] = defaultdict(list)
    for one in readings:
        marks[one.marks].append(one)
    groups = [group for group in marks.values() if len(group) > 1]
    entries = tuple(one.entry for group in groups for one in group)
    df = 3 * (len(entries) - len(groups))
    if not groups:
        return CaliperSpread(0, 0, 0, (), missing=short_of("triangles measured twice", 0, 1))
    squares = fsum(
        squares_of(side)
        for group in groups
        for side in zip(*(one.sides_mm for one in group), strict=True)
    )
    sd = sqrt(squares / df)
    return CaliperSpread(
        len(groups), len(entries), df, entries, sd, sd_interval(sd, df), LIMIT_FACTOR * sd
    )
