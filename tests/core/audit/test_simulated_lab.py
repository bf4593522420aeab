"""A lab with known errors: the audit finds them again, sees the drift, and keeps quiet otherwise.

All people and figures are invented; what is expected follows from what was put in.
"""

from __future__ import annotations

from collections import defaultdict
from math import sqrt
from random import Random

import pytest

from bench.core.audit.samples import Remount
from bench.core.audit.signals import signals_of as audit_signals
from bench.core.audit.spread import components_by, spread_of
from bench.core.audit.sums import Sums, terms_of
from bench.core.audit.watching import (
    BEYOND_CHANCE,
    DRIFT_CHANCE,
    LONGEST_BASELINE,
    WINDOW,
    watch,
)
from bench.core.charts import deviations_sd, individuals_chart
from bench.core.policy import Policy
from bench.core.runrules import USUAL, false_alarms, signals_of
from tests.core.audit.simulatedlab import (
    DRIFTING,
    DRIFTS_FOR,
    SURVEYORS,
    TRUTH,
    of,
    quiet,
    simulated,
)

SEED = 11
QUIET_POINTS = 10_000


def cells(remounts: list[Remount]) -> dict[tuple[str, str], Sums]:
    found: defaultdict[tuple[str, str], Sums] = defaultdict(Sums)
    for one in remounts:
        found[one.surveyor, one.technician] += terms_of(one)
    return found


def at_most(expected: float) -> float:
    """What so rare an event stays below 97.5 times of 100 (Poisson's distribution, normal tail)."""
    return expected + 1.96 * sqrt(expected)


@pytest.mark.parametrize("axis", ["ap", "lat"])
def test_the_components_put_in_lie_in_the_intervals_found(axis: str) -> None:
    found = components_by(cells(simulated(SEED, drift=False)), axis).variances

    assert found is not None
    assert found.cast.sd_interval.low <= TRUTH.surveyor_deg <= found.cast.sd_interval.high
    assert (
        found.technician.sd_interval.low
        <= TRUTH.technician_deg
        <= found.technician.sd_interval.high
    )
    assert found.repeat.sd_interval.low <= TRUTH.repeat_deg <= found.repeat.sd_interval.high


def test_over_many_labs_the_intervals_hold_the_truth_about_95_times_of_100() -> None:
    held = []
    for seed in range(30):
        found = components_by(cells(simulated(seed, 800, drift=False)), "ap").variances
        assert found is not None
        for component, true_deg in (
            (found.technician, TRUTH.technician_deg), (found.repeat, TRUTH.repeat_deg),
        ):  # fmt: skip
            held.append(component.sd_interval.low <= true_deg <= component.sd_interval.high)

    # 60 intervals at 95 %: fewer than 52 would happen once in 1,500 (binomial distribution).
    assert 52 <= sum(held)


def test_the_spread_of_the_whole_lab_is_what_was_put_in() -> None:
    by_technician: defaultdict[str, Sums] = defaultdict(Sums)
    for one in simulated(SEED, drift=False):
        by_technician[one.technician] += terms_of(one)

    found = spread_of(by_technician, 1.0)

    assert (2000, 12, ()) == (found.count, found.technicians, found.missing)
    within = sqrt(TRUTH.repeat_deg**2 + TRUTH.surveyor_deg**2)
    assert found.ap.repeatability_sd == pytest.approx(within, rel=0.15)
    assert found.between_two is not None
    assert found.axis_sd_deg is not None
    # Source: Rayleigh's distribution; sqrt(-2 ln 0.05) sqrt 2.
    assert found.between_two.deg == pytest.approx(3.4616368 * found.axis_sd_deg)


@pytest.mark.parametrize("seed", range(SEED, SEED + 8))
def test_a_drifting_surveyor_is_signalled_within_25_re_mounts(seed: int) -> None:
    remounts = simulated(seed)

    run = watch(of(remounts, DRIFTING)[-WINDOW:])

    drift = run.drifting("ap")
    assert drift is not None
    signal, entries = drift
    first = len(run.entries) - DRIFTS_FOR
    assert first <= run.baseline + signal.at < first + 25
    assert entries[-1] == run.entries[-1]
    assert set(entries) <= {one.entry for one in of(remounts, DRIFTING)}


def test_the_drift_is_in_the_list_and_names_its_surveyor() -> None:
    remounts = simulated(SEED)
    watched = {("surveyor", name): watch(of(remounts, name)[-WINDOW:]) for name in SURVEYORS}

    drifts = [one for one in audit_signals(watched, {}, (), Policy()) if one.kind == "drift"]

    assert (DRIFTING, "ap") in {(one.of, one.figures["axis"]) for one in drifts}


def test_quiet_re_mounts_alarm_no_more_often_than_chance_says() -> None:
    dice, judged, beyond, drifts = Random(SEED), 0, 0, 0
    while judged < QUIET_POINTS:
        run = watch(quiet(dice, WINDOW))
        judged += run.judged
        beyond += len(run.beyond)
        drifts += len(run.ap_drift.signals) + len(run.lat_drift.signals)  # type: ignore[union-attr]

    assert WINDOW - LONGEST_BASELINE == run.judged
    assert beyond <= at_most(QUIET_POINTS * BEYOND_CHANCE)
    assert drifts <= at_most(2 * QUIET_POINTS * DRIFT_CHANCE)


def test_the_run_rules_alarm_on_quiet_readings_as_often_as_theory_says() -> None:
    dice = Random(SEED)
    values = [dice.gauss(0, 1) for _ in range(QUIET_POINTS)]

    chart = individuals_chart(values)
    assert chart.centre is not None
    off = deviations_sd(values, chart.centre, chart.sd or 0.0)
    alarms, at = 0, 0
    while found := signals_of(off[at : at + 2000]):
        alarms, at = alarms + 1, at + found[0].at + 1

    # Source: Champ and Woodall (1987), the run length as a Markov chain; about 92 readings.
    expected = QUIET_POINTS / false_alarms(QUIET_POINTS, USUAL).average_run
    assert alarms <= at_most(expected)
