"""Control charts: single readings and their moving ranges, and sizes of angles with an upper limit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import fsum, log, sqrt

from bench.core.distributions import normal_tail
from bench.core.enough import Shortage, short_of
from bench.core.ranges import mean_range, upper_range_factor
from bench.core.readings import BadReading, finite, mean_of
from bench.core.runrules import ONE_SIDE, USUAL, Rule, Signal, signals_of

# The chance that a normal reading lies beyond three SDs, either way; angles get the same.
THREE_SD = 2 * normal_tail(3)
LEAST = 2
# Fewer readings than this move the limits too much to be settled (common practice, no source).
SETTLED = 20


@dataclass(frozen=True)
class Chart:
    """A chart of single readings in their own unit, with limits three SDs from the centre.

    The SD comes from the mean moving range; `baseline` readings set the limits. `settled` says
    whether there were enough of them for the limits to hold still.
    """

    readings: int
    baseline: int
    centre: float | None = None
    sd: float | None = None
    lower: float | None = None
    upper: float | None = None
    moving_ranges: tuple[float, ...] = ()
    mean_moving_range: float | None = None
    moving_range_upper: float | None = None
    signals: tuple[Signal, ...] = ()
    missing: tuple[Shortage, ...] = ()

    @property
    def settled(self) -> bool:
        """Whether the baseline is long enough for its limits to be relied on."""
        return self.baseline >= SETTLED


@dataclass(frozen=True)
class AngleChart:
    """A chart of sizes of angles (degrees), which have an upper limit only.

    `upper_deg` is for readings after the baseline; one of the baseline itself is held against
    `baseline_upper_deg`, since it has a share in its own limit. `median_deg` is the centre line.
    """

    readings: int
    baseline: int
    axis_sd_deg: float | None = None
    median_deg: float | None = None
    baseline_upper_deg: float | None = None
    upper_deg: float | None = None
    signals: tuple[Signal, ...] = ()
    missing: tuple[Shortage, ...] = ()

    @property
    def settled(self) -> bool:
        """Whether the baseline is long enough for its limits to be relied on."""
        return self.baseline >= SETTLED


def individuals_chart(
    readings: Sequence[float], baseline: int | None = None, rules: Sequence[Rule] = USUAL
) -> Chart:
    """Return the chart of single signed readings in order, and of their moving ranges.

    The first `baseline` readings (all, when None) set the limits; with fewer than two there is no
    answer but the shortage. Readings that never change have an SD of 0, so that any other value
    signals. Raises BadReading. Source: NIST/SEMATECH e-Handbook 6.3.2.2.
    """
    values = finite(readings)
    first = values if baseline is None else values[:baseline]
    missing = short_of("readings", len(first), LEAST)
    if missing:
        return Chart(len(values), len(first), missing=missing)
    ranges = tuple(abs(b - a) for a, b in pairwise(values))
    usual_range = fsum(ranges[: len(first) - 1]) / (len(first) - 1)
    centre, sd = mean_of(first), usual_range / mean_range(2)
    range_upper = upper_range_factor(2) * usual_range
    return Chart(
        readings=len(values),
        baseline=len(first),
        centre=centre,
        sd=sd,
        lower=centre - 3 * sd,
        upper=centre + 3 * sd,
        moving_ranges=ranges,
        mean_moving_range=usual_range,
        moving_range_upper=range_upper,
        signals=signals_of(deviations_sd(values, centre, sd), rules)
        + _range_signals(ranges, range_upper),
    )


def deviations_sd(values: Sequence[float], centre: float, sd: float) -> list[float]:
    """Return how many SDs each value is off the centre; with no SD, endlessly many or none."""
    if sd:
        return [(value - centre) / sd for value in values]
    return [0.0 if value == centre else (value - centre) * float("inf") for value in values]


def angle_chart(sizes_deg: Sequence[float], baseline: int | None = None) -> AngleChart:
    """Return the chart of sizes of angles from a known direction, in order, degrees.

    Without a bias both axes are normal with one SD, so that a size follows Rayleigh's
    distribution. The upper limits are exceeded by chance as seldom as three SDs, whatever the
    number of readings that set them (chi-square with two degrees of freedom per reading, in closed
    form); eight in a row above the median signal too. Raises BadReading, also below 0.
    """
    values = finite(sizes_deg)
    if any(value < 0 for value in values):
        raise BadReading(value=str(min(values)))
    first = values if baseline is None else values[:baseline]
    missing = short_of("readings", len(first), LEAST)
    if missing:
        return AngleChart(len(values), len(first), missing=missing)
    count = len(first)
    sd = sqrt(fsum(value * value for value in first) / (2 * count))
    inside, after = sd * _limit_inside(count), sd * _limit_after(count)
    median = sd * sqrt(2 * log(2))
    beyond = [i for i, v in enumerate(values) if v > (inside if i < count else after)]
    signals = [Signal("beyond_upper", "high", (i,), i) for i in beyond]
    above = signals_of([value - median for value in values], (ONE_SIDE,))
    signals += [signal for signal in above if signal.side == "high"]
    return AngleChart(len(values), count, sd, median, inside, after, tuple(signals))


def _range_signals(ranges: Sequence[float], upper: float) -> tuple[Signal, ...]:
    return tuple(
        Signal("moving_range", "high", (i, i + 1), i + 1)
        for i, value in enumerate(ranges)
        if value > upper
    )


def _limit_inside(count: int) -> float:
    """Return the limit in axis SDs of a reading that is one of those behind the SD (Beta(1, m-1))."""
    return sqrt(2 * count * (1 - THREE_SD ** (1 / (count - 1))))


def _limit_after(count: int) -> float:
    """Return the limit in axis SDs of a further reading (F with 2 and 2 m degrees of freedom)."""
    return sqrt(2 * count * (THREE_SD ** (-1 / count) - 1))
