"""Repeated directions, such as paths of insertion over re-mounts: their mean, spread and cone.

Fisher's distribution: the normal distribution's counterpart for directions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import asin, degrees, fsum, hypot, log, pi, sqrt

from bench.core.distributions import f_tail, f_value_at_tail
from bench.core.enough import Shortage, short_of
from bench.core.intervals import sd_upper_bound
from bench.core.readings import finite
from bench.core.refusal import Refusal
from bench.core.tilt import Path, angle_of_paths_deg

RISK = 0.05
# 95 % of angles stay below so many axis SDs: against a direction known exactly, and between two
# that were both read (Rayleigh's distribution). Not 2.8: that holds for one signed axis only.
KNOWN_RECORD = sqrt(-2 * log(RISK))
TWO_RECORDS = KNOWN_RECORD * sqrt(2)


class NoDirection(Refusal):
    """A vector of no length, which points nowhere."""

    code = "no_direction"
    what = "The vector {x}, {y}, {z} points nowhere."
    why = "A direction needs a length above 0."
    what_to_do = "Leave it out or give its components."


@dataclass(frozen=True)
class Directions:
    """Repeated directions: mean (unit vector), length of their sum, concentration, spread, cone.

    `axis_sd_deg` is the SD along each of the two axes across the mean, `angular_sd_deg` that of
    the angle from the mean (√2 times as much), and `cone_deg` the half angle within which the true
    mean lies with 95 % confidence. The concentration is None when all directions are the same.
    """

    count: int
    mean: Path | None = None
    resultant_length: float | None = None
    concentration: float | None = None
    axis_sd_deg: float | None = None
    angular_sd_deg: float | None = None
    cone_deg: float | None = None
    missing: tuple[Shortage, ...] = ()


@dataclass(frozen=True)
class PooledSpread:
    """The axis SD of directions pooled over groups with means of their own, and its 95 % bound.

    `two_records_deg` is what two readings of one direction differ by less than, 95 times of 100.
    """

    groups: int
    count: int
    df: int
    axis_sd_deg: float | None = None
    axis_sd_upper_deg: float | None = None
    two_records_deg: float | None = None
    missing: tuple[Shortage, ...] = ()


@dataclass(frozen=True)
class TwoMeans:
    """Whether two groups share a mean direction: angle between the means, F and its chance."""

    counts: tuple[int, int]
    angle_deg: float | None = None
    ratio: float | None = None
    chance: float | None = None
    missing: tuple[Shortage, ...] = ()


def directions(vectors: Sequence[Path]) -> Directions:
    """Return the statistics of repeated directions given as vectors of any length.

    One direction has a mean and no spread; opposite ones cancel and have no mean: `missing` says
    so. Raises NoDirection or BadReading. Source: Fisher (1953); Fisher, Lewis and Embleton (1987).
    """
    units = [_unit(vector) for vector in vectors]
    count, total = len(units), _sum(units)
    length = hypot(*total)
    lost = _lost(units, _unit(total)) if length > 1e-9 * count else 0.0
    return directions_of(count, total, lost)


def directions_of(count: int, total: Path, lost: float) -> Directions:
    """Return the same from how many unit vectors there are, their sum and count less its length.

    `lost` comes apart so that it can be had without cancellation.
    """
    length = hypot(*total)
    if not count or length <= 1e-9 * count:
        return Directions(count, None, length, missing=short_of("agreeing directions", 0, 1))
    mean = _unit(total)
    if count < 2:
        return Directions(count, mean, length, missing=short_of("directions", count, 2))
    axis_sd = sqrt(lost / (count - 1))
    return Directions(
        count=count,
        mean=mean,
        resultant_length=length,
        concentration=(count - 1) / lost if lost else None,
        axis_sd_deg=degrees(axis_sd),
        angular_sd_deg=degrees(axis_sd * sqrt(2)),
        cone_deg=degrees(_cone(lost, length, count)),
    )


def pooled_spread(groups: Sequence[Sequence[Path]]) -> PooledSpread:
    """Return the axis SD pooled over groups, such as the re-mounts of several casts.

    Groups of one direction are left out. Raises NoDirection or BadReading. Source: Fisher's
    concentration with 2 (n - 1) degrees of freedom for each group; bound by chi-square.
    """
    repeated = [[_unit(vector) for vector in group] for group in groups if len(group) > 1]
    count = sum(len(group) for group in repeated)
    df = 2 * (count - len(repeated))
    missing = short_of("groups with repeats", len(repeated), 1)
    if missing:
        return PooledSpread(0, 0, 0, missing=missing)
    lost = fsum(_lost(group, _unit(_sum(group))) for group in repeated)
    sd = degrees(sqrt(2 * lost / df))
    return PooledSpread(len(repeated), count, df, sd, sd_upper_bound(sd, df), TWO_RECORDS * sd)


def two_means(one: Sequence[Path], other: Sequence[Path]) -> TwoMeans:
    """Return whether two groups of repeated directions share their mean, at equal concentration.

    Raises NoDirection or BadReading. Source: Watson (1956).
    """
    groups = [[_unit(vector) for vector in group] for group in (one, other)]
    counts = (len(groups[0]), len(groups[1]))
    missing = short_of("directions of the first", counts[0], 2)
    missing += short_of("directions of the second", counts[1], 2)
    if missing:
        return TwoMeans(counts, missing=missing)
    means = [_unit(_sum(group)) for group in groups]
    within = fsum(_lost(group, mean) for group, mean in zip(groups, means, strict=True))
    both = groups[0] + groups[1]
    between = _lost(both, _unit(_sum(both))) - within
    angle, df = angle_of_paths_deg(*means), 2 * (len(both) - 2)
    if not within:
        return TwoMeans(counts, angle)
    ratio = max(0.0, between) / 2 / (within / df)
    return TwoMeans(counts, angle, ratio, f_tail(ratio, 2, df))


def two_means_critical(count: int, risk: float = RISK) -> float:
    """Return what the ratio of two means exceeds with a chance, given both counts together."""
    return f_value_at_tail(risk, 2, 2 * (count - 2))


def _unit(vector: Path) -> Path:
    x, y, z = finite(vector)
    length = hypot(x, y, z)
    if not length:
        raise NoDirection(x=x, y=y, z=z)
    return x / length, y / length, z / length


def _sum(units: Sequence[Path]) -> Path:
    return fsum(u[0] for u in units), fsum(u[1] for u in units), fsum(u[2] for u in units)


def _lost(units: Sequence[Path], mean: Path) -> float:
    """Return count less resultant length, as half the squares about the mean: no cancellation."""
    return fsum((u - m) ** 2 for unit in units for u, m in zip(unit, mean, strict=True)) / 2


def _cone(lost: float, length: float, count: int) -> float:
    rise = lost / length * (RISK ** (-1 / (count - 1)) - 1)
    return 2 * asin(sqrt(rise / 2)) if rise < 2 else pi
