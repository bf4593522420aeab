"""What the figures of many re-mounts rest on, summed exactly, so that sums of groups can be joined."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import hypot

from bench.core.audit.samples import Remount
from bench.core.directions import Directions, directions_of
from bench.core.readings import Moments
from bench.core.tilt import Tilt, path_of_insertion

# The log keeps four decimals: counted in these, angles and their squares are whole numbers, so that
# no sum of them loses a digit.
PER_DEGREE = 10_000
# Parts of a unit vector are counted in these: finer than any angle of four decimals tells apart.
PER_UNIT = 10**12


@dataclass(frozen=True, slots=True)
class Sums:
    """Sums over re-mounts: how many, how many inside the tolerance, angles in 1/10,000 degree.

    `x`, `y` and `sunk` are those of the unit vectors of the paths of insertion, in 10^-12: sideways,
    and by how much they fall short of upright.
    """

    count: int = 0
    inside: int = 0
    ap: int = 0
    ap_squares: int = 0
    lat: int = 0
    lat_squares: int = 0
    x: int = 0
    y: int = 0
    sunk: int = 0

    def __add__(self, other: Sums) -> Sums:
        """Return the sums of both groups together."""
        return Sums(
            self.count + other.count, self.inside + other.inside, self.ap + other.ap,
            self.ap_squares + other.ap_squares, self.lat + other.lat,
            self.lat_squares + other.lat_squares, self.x + other.x, self.y + other.y,
            self.sunk + other.sunk,
        )  # fmt: skip

    @property
    def ap_deg(self) -> Moments:
        """The moments of the front-to-back angles, degrees."""
        return _moments(self.count, self.ap, self.ap_squares)

    @property
    def lat_deg(self) -> Moments:
        """The moments of the sideways angles, degrees."""
        return _moments(self.count, self.lat, self.lat_squares)

    @property
    def squares_deg2(self) -> float:
        """The sum of both angles' squares about the record itself."""
        return (self.ap_squares + self.lat_squares) / PER_DEGREE**2

    @property
    def directions(self) -> Directions:
        """The statistics of the paths of insertion, in the frame of the record."""
        n = self.count
        whole = n * PER_UNIT
        # Count less resultant length, as a quotient: subtracting the two would lose the digits.
        short = 2 * whole * self.sunk - self.sunk**2 - self.x**2 - self.y**2
        x, y, up = (part / PER_UNIT for part in (self.x, self.y, whole - self.sunk))
        lost = max(0, short) / PER_UNIT**2 / ((n + hypot(x, y, up)) or 1)
        return directions_of(n, (x, y, up), lost)


def sums_of(remounts: Iterable[Remount]) -> Sums:
    """Return the sums of re-mounts."""
    return sum(map(terms_of, remounts), Sums())


def terms_of(one: Remount) -> Sums:
    """Return what one re-mount adds to the sums."""
    ap, lat = round(one.ap_deg * PER_DEGREE), round(one.lat_deg * PER_DEGREE)
    x, y, z = path_of_insertion(Tilt(one.ap_deg, one.lat_deg))
    vector = (round(part * PER_UNIT) for part in (x, y, (x * x + y * y) / (1 + z)))
    return Sums(1, int(one.total_deg <= one.tolerance_deg), ap, ap * ap, lat, lat * lat, *vector)


def _moments(count: int, total: int, squares: int) -> Moments:
    if not count:
        return Moments(0, 0.0, 0.0)
    about = (count * squares - total * total) / count
    return Moments(count, total / count / PER_DEGREE, about / PER_DEGREE**2)
