"""Drift: a slow change that no single reading shows, by weighted averages or by summed deviations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from bench.core.charts import individuals_chart
from bench.core.enough import Shortage
from bench.core.readings import finite
from bench.core.runrules import Side, Signal

# With these, chance signals about once in 500 readings (Lucas and Saccucci 1990) and once in 465
# (tables of cumulative sums).
WEIGHT, WIDTH_SD = 0.2, 2.962
ALLOWANCE_SD, DECISION_SD = 0.5, 5.0


@dataclass(frozen=True)
class WeightedAverages:
    """Averages in which older readings count less, with limits that widen as readings come in.

    All in the unit of the readings; `averages` has one more than readings, as it starts at the
    centre, and `half_widths` belong to those after the start.
    """

    readings: int
    centre: float | None = None
    sd: float | None = None
    averages: tuple[float, ...] = ()
    half_widths: tuple[float, ...] = ()
    signals: tuple[Signal, ...] = ()
    missing: tuple[Shortage, ...] = ()


@dataclass(frozen=True)
class Sums:
    """Summed deviations beyond the allowance, upwards and downwards, in the unit of the readings."""

    readings: int
    high: tuple[float, ...]
    low: tuple[float, ...]
    decision: float
    signals: tuple[Signal, ...]


def weighted_averages(
    readings: Sequence[float],
    centre: float,
    sd: float,
    weight: float = WEIGHT,
    width_sd: float = WIDTH_SD,
) -> WeightedAverages:
    """Return exponentially weighted averages of readings in order, and where they leave the limits.

    The readings behind a signal are those since the average last was on the other side of the
    centre. Raises BadReading. Source: NIST/SEMATECH e-Handbook 6.3.2.4, with exact limits.
    """
    values = finite(readings)
    averages = [centre]
    for value in values:
        averages.append(weight * value + (1 - weight) * averages[-1])
    steady = width_sd * sd * sqrt(weight / (2 - weight))
    widths = [steady * sqrt(1 - (1 - weight) ** (2 * i)) for i in range(1, len(values) + 1)]
    off = [average - centre for average in averages[1:]]
    over = [
        deviation / width if width else 0.0 for deviation, width in zip(off, widths, strict=True)
    ]
    signals = _signals("weighted_average", "high", off, over)
    signals += _signals("weighted_average", "low", [-v for v in off], [-v for v in over])
    return WeightedAverages(
        len(values), centre, sd, tuple(averages), tuple(widths), _in_order(signals)
    )


def drift_of(readings: Sequence[float], baseline: int | None = None) -> WeightedAverages:
    """Return weighted averages about the centre and SD that the first `baseline` readings set.

    A drift of a tenth of an SD per reading signals within 25 readings after the baseline; with too
    few readings there is no answer but the shortage. Raises BadReading.
    """
    chart = individuals_chart(readings, baseline)
    if chart.centre is None or chart.sd is None:
        return WeightedAverages(chart.readings, missing=chart.missing)
    return weighted_averages(readings, chart.centre, chart.sd)


def summed_deviations(
    readings: Sequence[float],
    target: float,
    sd: float,
    allowance_sd: float = ALLOWANCE_SD,
    decision_sd: float = DECISION_SD,
) -> Sums:
    """Return both cumulative sums of readings in order, and where they pass the decision value.

    The readings behind a signal are those since the sum last was 0. Raises BadReading. Source:
    NIST/SEMATECH e-Handbook 6.3.2.3.
    """
    values = finite(readings)
    slack, decision = allowance_sd * sd, decision_sd * sd
    high = _sums([value - target - slack for value in values])
    low = _sums([target - slack - value for value in values])
    signals = _signals("summed_deviations", "high", high, [_over(v, decision) for v in high])
    signals += _signals("summed_deviations", "low", low, [_over(v, decision) for v in low])
    return Sums(len(values), tuple(high), tuple(low), decision, _in_order(signals))


def _sums(steps: Sequence[float]) -> list[float]:
    total, sums = 0.0, []
    for step in steps:
        total = max(0.0, total + step)
        sums.append(total)
    return sums


def _over(value: float, decision: float) -> float:
    return value / decision if decision else 0.0


def _in_order(signals: Sequence[Signal]) -> tuple[Signal, ...]:
    return tuple(sorted(signals, key=lambda signal: signal.at))


def _signals(rule: str, side: Side, off: Sequence[float], over: Sequence[float]) -> list[Signal]:
    """Return one signal for each stretch on one side of zero in which a limit was passed."""
    signals, start, at = [], 0, None
    for i in range(len(off) + 1):
        if i == len(off) or off[i] <= 0:
            if at is not None:
                signals.append(Signal(rule, side, tuple(range(start, i)), at))
            start, at = i + 1, None
        elif at is None and over[i] > 1:
            at = i
    return signals
