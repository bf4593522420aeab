"""The figures of a group of re-mounts: precision on both axes, limits of the angle, tolerance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import atan2, degrees, hypot, sqrt

from bench.core.agreement import Raw, raw_agreement
from bench.core.audit.sums import Sums
from bench.core.components import Components, components_of
from bench.core.directions import KNOWN_RECORD, TWO_RECORDS, Directions
from bench.core.distributions import t_quantile
from bench.core.enough import Shortage, short_of
from bench.core.equivalence import MOST, RISK, DirectionWithin, Outcome, direction_within
from bench.core.intervals import Interval, sd_interval
from bench.core.precision import Precision, precision_of

# With fewer re-mounts than this a group's spread is known to no better than half to three times
# (chi-square with 8 degrees of freedom); below it only the count is told.
LEAST = 5


@dataclass(frozen=True)
class Limit:
    """What an angle stays below 95 times of 100, degrees, with the 95 % interval of that figure."""

    deg: float
    interval: Interval
    outcome: Outcome


@dataclass(frozen=True)
class Spread:
    """The figures of one group; None where `missing` says what they lack.

    `ap` and `lat` are signed, by technician (ISO 5725-2). `against_record` is counted from the
    record itself and so holds any bias too; `between_two` is that of two re-mounts of one record.
    `mean_within` holds the mean against the tolerance, and `more_needed` says how many further
    re-mounts would show it to be within if mean and spread stay as they are.
    """

    count: int
    technicians: int
    tolerance_deg: float
    inside: Raw
    ap: Precision
    lat: Precision
    directions: Directions
    against_record: Limit | None = None
    between_two: Limit | None = None
    mean_within: DirectionWithin | None = None
    more_needed: int | None = None
    missing: tuple[Shortage, ...] = ()

    @property
    def axis_sd_deg(self) -> float | None:
        """The SD along each axis about the group's own mean."""
        return self.directions.axis_sd_deg

    @property
    def mean_deg(self) -> tuple[float, float] | None:
        """The mean of both angles: front to back, sideways."""
        if self.ap.mean is None or self.lat.mean is None:
            return None
        return self.ap.mean, self.lat.mean


def spread_of(by_technician: Mapping[str, Sums], tolerance_deg: float) -> Spread:
    """Return the figures of a group from the sums of each technician's re-mounts.

    Sources: precision, ISO 5725-2; limits 2.45 and 3.46 times the axis SD, Rayleigh's distribution,
    with intervals by chi-square on two degrees of freedom per re-mount; see `directions` and
    `equivalence` for theirs.
    """
    whole = sum(by_technician.values(), Sums())
    bare = Spread(
        count=whole.count,
        technicians=sum(1 for one in by_technician.values() if one.count),
        tolerance_deg=tolerance_deg,
        inside=raw_agreement(whole.inside, whole.count),
        ap=precision_of({name: one.ap_deg for name, one in by_technician.items()}),
        lat=precision_of({name: one.lat_deg for name, one in by_technician.items()}),
        directions=whole.directions,
        missing=short_of("re-mounts", whole.count, LEAST),
    )
    return bare if bare.missing else _with_limits(bare, whole)


def components_by(cells: Mapping[tuple[str, str], Sums], axis: str) -> Components:
    """Return the parts of the spread of one axis ('ap' or 'lat') by surveyor and technician.

    `cells` holds the sums by surveyor and technician; degrees squared.
    """
    moments = {cell: one.ap_deg if axis == "ap" else one.lat_deg for cell, one in cells.items()}
    return components_of(moments)


def _with_limits(bare: Spread, whole: Sums) -> Spread:
    n, tolerance, axis_sd = whole.count, bare.tolerance_deg, bare.axis_sd_deg
    assert axis_sd is not None
    about_record = sqrt(whole.squares_deg2 / (2 * n))
    angle = _angle_of_mean_deg(bare.directions)
    within = direction_within(angle, axis_sd, n, 2 * (n - 1), tolerance)
    needed = _more_needed(angle, axis_sd, n, tolerance) if within.outcome == "not_shown" else None
    return Spread(
        **{name: getattr(bare, name) for name in _BARE},
        against_record=_limit(KNOWN_RECORD, about_record, 2 * n, tolerance),
        between_two=_limit(TWO_RECORDS, axis_sd, 2 * (n - 1), tolerance),
        mean_within=within,
        more_needed=needed,
    )


_BARE = ("count", "technicians", "tolerance_deg", "inside", "ap", "lat", "directions")


def _angle_of_mean_deg(found: Directions) -> float:
    x, y, z = found.mean or (0.0, 0.0, 1.0)
    return degrees(atan2(hypot(x, y), z))


def _limit(factor: float, sd_deg: float, df: int, tolerance_deg: float) -> Limit:
    low, high = (factor * end for end in sd_interval(sd_deg, df))
    outcome: Outcome = "not_shown"
    if high < tolerance_deg:
        outcome = "within"
    elif low > tolerance_deg:
        outcome = "outside"
    return Limit(factor * sd_deg, Interval(low, high), outcome)


def _more_needed(angle_deg: float, sd_deg: float, count: int, tolerance_deg: float) -> int | None:
    """Return how many further re-mounts bring the mean's upper bound inside; None for none up to 1000."""

    def shown(n: int) -> bool:
        return angle_deg + t_quantile(1 - RISK, 2 * (n - 1)) * sd_deg / sqrt(n) < tolerance_deg

    if count >= MOST or not shown(MOST):
        return None
    low, high = count, MOST
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if shown(middle) else (middle, high)
    return high - count
