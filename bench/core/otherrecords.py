"""How finely the other records tell a tilt: an inclinometer's reading, and lines scored on the base.

Both along two axes alike, so 95 of 100 stay within 2.4477 SD in all. Source: normal errors; a
reading to the nearest step is off evenly over that step, SD step / √12.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, degrees, sqrt

from bench.core.tripod import total95_deg

# A line down the side of a base; our own round figure.
LINE_MM = 15.0


@dataclass(frozen=True, slots=True)
class Told:
    """How finely a record tells a tilt: SD along an axis and 95 of 100 in all, in degrees."""

    sd_deg: float

    @property
    def total95_deg(self) -> float:
        """What 95 of 100 stay within in all."""
        return total95_deg(self.sd_deg, self.sd_deg)


def by_inclinometer(step_deg: float) -> Told:
    """Return how finely two readings to the nearest step, the record's and now's, tell a tilt."""
    return Told(step_deg * sqrt(2 / 12))


def by_scored_lines(reading_sd_mm: float, line_mm: float = LINE_MM) -> Told:
    """Return how finely the rod beside a scored line tells a tilt, each end seen within an SD (mm)."""
    return Told(degrees(atan(reading_sd_mm * sqrt(2) / line_mm)))
