"""Run rules: which readings they name, and how often chance meets them."""

from __future__ import annotations

from random import Random

import pytest

from bench.core.runrules import BEYOND_THREE, USUAL, Signal, false_alarms, signals_of
from tests.facts.chart_figures import RUN_LENGTHS


@pytest.mark.parametrize("places", RUN_LENGTHS)
def test_run_lengths_are_the_published_ones(places: tuple[int, ...]) -> None:
    found = false_alarms(25, [USUAL[place] for place in places])

    assert pytest.approx(RUN_LENGTHS[places], abs=0.011) == found.average_run


def test_one_rule_alone_alarms_as_independent_readings_do() -> None:
    found = false_alarms(400, [BEYOND_THREE])

    assert pytest.approx(1 - (1 - 0.0026997960632601866) ** 400, rel=1e-9) == found.chance


def test_simulated_readings_alarm_as_often_as_reckoned() -> None:
    draw = Random(29).gauss
    runs = 3000

    alarmed = sum(bool(signals_of([draw(0, 1) for _ in range(25)])) for _ in range(runs))

    assert pytest.approx(false_alarms(25).chance, abs=0.025) == alarmed / runs


def test_two_of_three_beyond_two_sds_name_the_two() -> None:
    found = signals_of([0.0, 2.1, 0.4, 2.2, 0.0])

    assert (Signal("two_of_three_beyond_two", "high", (1, 3), 3),) == found


def test_four_of_five_beyond_one_sd_name_the_four() -> None:
    found = signals_of([-1.1, 0.2, -1.2, -1.3, -1.1, 0.5])

    assert (Signal("four_of_five_beyond_one", "low", (0, 2, 3, 4), 4),) == found


def test_eleven_on_one_side_are_one_signal_seen_at_the_eighth() -> None:
    found = signals_of([-0.5, *[0.3] * 11, -0.5])

    assert (Signal("eight_on_one_side", "high", tuple(range(1, 12)), 8),) == found


def test_readings_on_the_centre_are_on_neither_side() -> None:
    assert () == signals_of([0.3] * 7 + [0.0] + [0.3] * 7)


def test_two_runs_apart_are_two_signals() -> None:
    found = signals_of([3.5, 0.0, 0.0, 0.0, 3.5])

    assert [(0,), (4,)] == [signal.indexes for signal in found]
