"""Drift: the published averages and sums, and how soon a drift signals."""

from __future__ import annotations

from math import sqrt
from random import Random

import numpy as np
import pytest
from scipy.stats import norm

from bench.core.drift import (
    ALLOWANCE_SD,
    DECISION_SD,
    WEIGHT,
    WIDTH_SD,
    drift_of,
    summed_deviations,
    weighted_averages,
)
from tests.facts.chart_figures import (
    FIRST_SAMPLE_SIGNALLED,
    SUMMED,
    SUMMED_SETTINGS,
    SUMS_DOWNWARD,
    SUMS_UPWARD,
    WEIGHTED,
    WEIGHTED_AVERAGES,
    WEIGHTED_LIMITS,
    WEIGHTED_SETTINGS,
)


def test_the_published_weighted_averages_are_met() -> None:
    found = weighted_averages(WEIGHTED, width_sd=3.0, **WEIGHTED_SETTINGS)

    assert pytest.approx(WEIGHTED_AVERAGES, abs=0.0051) == found.averages
    assert pytest.approx(WEIGHTED_LIMITS, abs=0.001) == (
        50 + found.half_widths[-1],
        50 - found.half_widths[-1],
    )
    assert () == found.signals


def test_the_published_sums_are_met() -> None:
    target, allowance, decision = SUMMED_SETTINGS

    found = summed_deviations(SUMMED, target, 1.0, allowance, decision)

    assert pytest.approx(SUMS_UPWARD, abs=0.0051) == found.high
    assert pytest.approx(SUMS_DOWNWARD, abs=0.0051) == found.low[: len(SUMS_DOWNWARD)]
    assert FIRST_SAMPLE_SIGNALLED == found.signals[0].at + 1
    assert tuple(range(12, 20)) == found.signals[0].indexes


@pytest.mark.parametrize("direction", [1, -1])
def test_a_drift_of_a_tenth_of_an_sd_per_reading_signals_within_25(direction: int) -> None:
    draw = Random(31).gauss
    runs, in_time = 300, 0

    for _ in range(runs):
        before = [draw(0, 1) for _ in range(30)]
        drifting = [draw(direction * 0.1 * i, 1) for i in range(1, 26)]
        found = drift_of([*before, *drifting], baseline=30)
        side = "high" if direction > 0 else "low"
        in_time += any(s.side == side and s.at >= 30 for s in found.signals)

    assert in_time / runs >= 0.97


def test_sums_see_the_same_drift_within_25() -> None:
    draw = Random(37).gauss
    runs, in_time = 300, 0

    for _ in range(runs):
        in_time += bool(summed_deviations([draw(0.1 * i, 1) for i in range(1, 26)], 0, 1).signals)

    assert in_time / runs >= 0.97


def test_averages_and_sums_signal_by_chance_about_once_in_500_readings() -> None:
    # Mean run lengths 500 and 465: Lucas and Saccucci (1990) and tables of cumulative sums (from
    # memory); reckoned here on a grid of states. Two sides together signal twice as often as one.
    width = WIDTH_SD * sqrt(WEIGHT / (2 - WEIGHT))
    edges = np.linspace(-width, width, 402)
    middles = (edges[:-1] + edges[1:]) / 2
    reach = (edges[None, :] - (1 - WEIGHT) * middles[:, None]) / WEIGHT
    averages = np.linalg.solve(np.eye(401) - np.diff(norm.cdf(reach)), np.ones(401))[200]

    step = DECISION_SD / 400.5
    places = np.arange(401) * step
    beyond = norm.cdf(places[None, :] + step / 2 - places[:, None] + ALLOWANCE_SD)
    moves = np.diff(beyond, prepend=0)
    sums = np.linalg.solve(np.eye(401) - moves, np.ones(401))[0] / 2

    assert pytest.approx(500, rel=0.01) == averages
    assert pytest.approx(465, rel=0.01) == sums


def test_readings_that_only_vary_seldom_signal() -> None:
    draw = Random(41).gauss
    runs, averages, sums = 400, 0, 0

    for _ in range(runs):
        values = [draw(0, 1) for _ in range(50)]
        averages += bool(weighted_averages(values, 0, 1).signals)
        sums += bool(summed_deviations(values, 0, 1).signals)

    # Once in about 500 readings each: about one series of ten.
    assert averages / runs <= 0.16
    assert sums / runs <= 0.16


def test_a_drift_without_noise_names_the_readings_since_it_began() -> None:
    found = drift_of([0.1, -0.1] * 10 + [0.05 * i for i in range(1, 20)], baseline=20)

    assert ["weighted_average"] == [signal.rule for signal in found.signals]
    assert {20, 38} <= set(found.signals[0].indexes)


def test_too_few_readings_are_an_answer() -> None:
    found = drift_of([0.3])

    assert (1, None, ()) == (found.readings, found.centre, found.signals)
    assert [("readings", 1)] == [(m.what, m.missing) for m in found.missing]


def test_readings_without_spread_do_not_drift() -> None:
    assert () == drift_of([1.0] * 10).signals
