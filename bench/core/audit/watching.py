"""Re-mounts watched in the order they were made: charts with limits, drift, and the entries behind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from bench.core.audit.samples import Remount
from bench.core.charts import SETTLED, AngleChart, Chart, angle_chart, individuals_chart
from bench.core.distributions import normal_tail, t_quantile
from bench.core.drift import WEIGHT, WIDTH_SD, WeightedAverages, weighted_averages
from bench.core.enough import Shortage, short_of
from bench.core.readings import mean_of, sd_of
from bench.core.runrules import Signal

# Limits rest on the first re-mounts watched: half of them, from 20 up to 60.
LONGEST_BASELINE = 60
# How many of the newest re-mounts of a person or surveyor are watched.
WINDOW = 160
# How often chance signals for each re-mount judged: three SDs, and Lucas and Saccucci (1990).
BEYOND_CHANCE = 2 * normal_tail(3)
DRIFT_CHANCE = 1 / 500


@dataclass(frozen=True)
class Watched:
    """A run of re-mounts with its charts: sizes of the angle, both signed axes, and drift of each.

    The first `baseline` set the limits and are not judged themselves; the drifts begin after them.
    `entries` are the ids in order, so that an index of any signal names one.
    """

    entries: tuple[str, ...]
    baseline: int
    size: AngleChart
    ap: Chart
    lat: Chart
    ap_drift: WeightedAverages | None = None
    lat_drift: WeightedAverages | None = None
    missing: tuple[Shortage, ...] = ()

    @property
    def judged(self) -> int:
        """How many re-mounts came after the baseline."""
        return len(self.entries) - self.baseline

    @property
    def beyond(self) -> tuple[str, ...]:
        """The entries after the baseline whose angle lies beyond the limit."""
        found = [one for one in self.size.signals if one.rule == "beyond_upper"]
        return tuple(self.entries[one.at] for one in found if one.at >= self.baseline)

    @property
    def false_alarms_expected(self) -> float:
        """How many signals chance alone would give."""
        return 0.0 if self.missing else self.judged * (BEYOND_CHANCE + 2 * DRIFT_CHANCE)

    def drifting(self, axis: str) -> tuple[Signal, tuple[str, ...]] | None:
        """Return the newest drift of an axis ('ap' or 'lat') with its entries, or None."""
        drift = self.ap_drift if axis == "ap" else self.lat_drift
        if drift is None or not drift.signals:
            return None
        signal = drift.signals[-1]
        return signal, tuple(self.entries[self.baseline + i] for i in signal.indexes)


def watch(remounts: Sequence[Remount]) -> Watched:
    """Return a run of re-mounts, in order, with its charts and what they signal.

    With 20 or fewer there are charts without judgement; `missing` says how many more it takes.
    """
    count = len(remounts)
    baseline = count if count <= SETTLED else max(SETTLED, min(count // 2, LONGEST_BASELINE))
    ap = [one.ap_deg for one in remounts]
    lat = [one.lat_deg for one in remounts]
    missing = short_of("re-mounts", count, SETTLED + 1)
    return Watched(
        entries=tuple(one.entry for one in remounts),
        baseline=baseline,
        size=angle_chart([one.total_deg for one in remounts], baseline),
        ap=individuals_chart(ap, baseline),
        lat=individuals_chart(lat, baseline),
        ap_drift=None if missing else drift_after(ap, baseline),
        lat_drift=None if missing else drift_after(lat, baseline),
        missing=missing,
    )


def drift_after(values: Sequence[float], baseline: int) -> WeightedAverages:
    """Return weighted averages of the values after a baseline, about the mean of the baseline.

    The limits are widened for what so many readings leave unknown of mean and SD (Student's t), so
    that chance signals no more often than with both known: about once in 500 readings.
    """
    first = values[:baseline]
    steady = WEIGHT / (2 - WEIGHT)
    unknown = sqrt(1 + 1 / (baseline * steady))
    width = t_quantile(1 - normal_tail(WIDTH_SD), baseline - 1) * unknown
    return weighted_averages(
        values[baseline:], mean_of(first), sd_of(first), weight=WEIGHT, width_sd=width
    )
