"""Whether differences stay within a tolerance: within, outside, or not shown yet, and what it takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import exp, fsum, lgamma, log, pi, sqrt
from typing import Literal

from bench.core.distributions import normal_tail, t_quantile, t_tail
from bench.core.enough import Shortage, short_of
from bench.core.intervals import Interval
from bench.core.readings import finite, mean_of, sd_of
from bench.core.refusal import Refusal

Outcome = Literal["within", "not_shown", "outside"]
RISK, POWER = 0.05, 0.8
MOST = 1000
_STEPS = 400


class BadTolerance(Refusal):
    """A tolerance that nothing can be within."""

    code = "bad_tolerance"
    what = "The tolerance is {tolerance}."
    why = "It must be more than 0."
    what_to_do = "Give the largest difference that is still acceptable."


@dataclass(frozen=True)
class Equivalence:
    """Signed differences held against a tolerance, all in one unit.

    `interval` is the one both tests share (90 % at a risk of 5 %); `chance` is the larger of the
    two tests' chances. `needed` is how many differences would show it with 80 % power if mean and
    SD stay as they are, None where no number would or none is needed.
    """

    count: int
    tolerance: float
    mean: float | None = None
    sd: float | None = None
    interval: Interval | None = None
    chance: float | None = None
    outcome: Outcome | None = None
    needed: int | None = None
    missing: tuple[Shortage, ...] = ()

    @property
    def more_needed(self) -> int | None:
        """How many differences are still to be read; None where no number would show it."""
        return None if self.needed is None else max(1, self.needed - self.count)


@dataclass(frozen=True)
class DirectionWithin:
    """The mean of repeated directions held against a record: its angle and where that may lie.

    `low_deg` and `high_deg` each hold with 95 % confidence on their side.
    """

    count: int
    tolerance_deg: float
    angle_deg: float
    low_deg: float
    high_deg: float
    outcome: Outcome


def equivalence(differences: Sequence[float], tolerance: float, risk: float = RISK) -> Equivalence:
    """Return whether the mean of signed differences lies within ± a tolerance.

    Within: both one-sided tests say so, that is the interval lies inside. Outside: it lies beyond.
    Everything between is not shown, which is not the same as different. Raises BadReading or
    BadTolerance. Source: two one-sided tests, Schuirmann (1987).
    """
    values = finite(differences)
    _require(tolerance)
    missing = short_of("differences", len(values), 2)
    if missing:
        return Equivalence(len(values), tolerance, missing=missing)
    mean, sd, count = mean_of(values), sd_of(values), len(values)
    half = t_quantile(1 - risk, count - 1) * sd / sqrt(count)
    outcome = _outcome(abs(mean) - half, abs(mean) + half, tolerance)
    needed = None if outcome != "not_shown" else count_needed(sd, tolerance, mean, risk=risk)
    return Equivalence(
        count=count,
        tolerance=tolerance,
        mean=mean,
        sd=sd,
        interval=Interval(mean - half, mean + half),
        chance=_chance(mean, sd / sqrt(count), tolerance, count - 1),
        outcome=outcome,
        needed=needed,
    )


def power_of(
    count: int, sd: float, tolerance: float, offset: float = 0.0, risk: float = RISK
) -> float:
    """Return the chance that so many differences show it, given their true SD and mean.

    Exact for normal differences: averaged over the SD that will be found (chi distribution).
    Raises BadTolerance.
    """
    _require(tolerance)
    if count < 2:
        return 0.0
    error = sd / sqrt(count)
    if not error:
        return float(abs(offset) < tolerance)
    reach = t_quantile(1 - risk, count - 1) * error
    # Beyond this ratio of the found SD to the true one the interval is wider than the tolerance,
    # or the ratio never occurs.
    widest = min(tolerance / reach, 1 + 10 / sqrt(count - 1))
    step = widest / _STEPS
    terms = []
    for i in range(1, _STEPS):
        ratio = i * step
        room = tolerance - ratio * reach
        inside = normal_tail((-room - offset) / error) - normal_tail((room - offset) / error)
        terms.append((4 if i % 2 else 2) * inside * _ratio_density(ratio, count - 1))
    ends = _ratio_density(0.0, count - 1) * (
        normal_tail((-tolerance - offset) / error) - normal_tail((tolerance - offset) / error)
    )
    return min(1.0, (ends + fsum(terms)) * step / 3)


@lru_cache(maxsize=1024)
def count_needed(
    sd: float, tolerance: float, offset: float = 0.0, power: float = POWER, risk: float = RISK
) -> int | None:
    """Return the least number of differences that shows it with a power; None above a thousand.

    Raises BadTolerance.
    """
    if power_of(MOST, sd, tolerance, offset, risk) < power:
        return None
    low, high = 1, MOST
    while high - low > 1:
        middle = (low + high) // 2
        enough = power_of(middle, sd, tolerance, offset, risk) >= power
        low, high = (low, middle) if enough else (middle, high)
    return high


def direction_within(
    angle_deg: float, axis_sd_deg: float, count: int, df: float, tolerance_deg: float
) -> DirectionWithin:
    """Return whether the mean of `count` directions lies within a tolerance of a record.

    `angle_deg` is between that mean and the record, `axis_sd_deg` the (pooled) axis SD with `df`
    degrees of freedom. Raises BadTolerance. Derived: Student's t on the angle; at the boundary it
    accepts wrongly in 4 to 5 of 100.
    """
    _require(tolerance_deg)
    half = t_quantile(1 - RISK, df) * axis_sd_deg / sqrt(count)
    low, high = max(0.0, angle_deg - half), angle_deg + half
    outcome = _outcome(low, high, tolerance_deg)
    return DirectionWithin(count, tolerance_deg, angle_deg, low, high, outcome)


def _require(tolerance: float) -> None:
    if not 0 < tolerance < float("inf"):
        raise BadTolerance(tolerance=tolerance)


def _outcome(low: float, high: float, tolerance: float) -> Outcome:
    if high < tolerance:
        return "within"
    return "outside" if low > tolerance else "not_shown"


def _chance(mean: float, error: float, tolerance: float, df: int) -> float:
    if not error:
        return float(abs(mean) >= tolerance)
    return t_tail((tolerance - abs(mean)) / error, df)


def _ratio_density(ratio: float, df: int) -> float:
    """Return the density of a found SD over the true one, with df degrees of freedom."""
    if not ratio:
        return sqrt(2 / pi) if df == 1 else 0.0
    half = df / 2
    return exp(
        log(2) + half * log(half) - lgamma(half) + (df - 1) * log(ratio) - half * ratio * ratio
    )
