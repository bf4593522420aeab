"""Charts: the published one, what signals and why, angles' upper limits."""

from __future__ import annotations

from math import hypot
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.charts import THREE_SD, angle_chart, individuals_chart
from bench.core.readings import BadReading
from bench.core.runrules import Signal
from tests.facts.chart_figures import FLOW, FLOW_CHART

series = st.lists(st.integers(-40, 40).map(lambda tenths: tenths / 8), min_size=2, max_size=40)


def test_the_published_chart_is_met() -> None:
    found = individuals_chart(FLOW)

    # The source rounds d2 to 1.128, which moves the limits by less than 0.002.
    assert pytest.approx(FLOW_CHART, abs=0.002) == (
        found.centre,
        found.mean_moving_range,
        found.upper,
        found.lower,
    )
    assert pytest.approx(3.267 * FLOW_CHART[1], abs=0.002) == found.moving_range_upper
    assert (10, 10, (), False) == (
        found.readings,
        found.baseline,
        found.signals,
        found.settled,
    )


def test_a_reading_beyond_the_limits_names_itself_and_its_jump() -> None:
    quiet = [0.1, -0.1, 0.0, 0.1, 0.0, -0.1, 0.1, 0.0, -0.1, 0.0]

    found = individuals_chart([*quiet, 2.0], baseline=10)

    assert {"one_beyond_three", "moving_range"} == {signal.rule for signal in found.signals}
    assert Signal("one_beyond_three", "high", (10,), 10) in found.signals
    assert Signal("moving_range", "high", (9, 10), 10) in found.signals


@given(series, st.floats(-100, 100).map(round), st.sampled_from((0.5, 2.0, 4.0)))
def test_a_shift_and_a_scale_keep_the_signals(
    values: list[float], shift: float, scale: float
) -> None:
    moved = individuals_chart([scale * value + shift for value in values], 2)

    found = individuals_chart(values, 2)

    assert found.signals == moved.signals


@given(series)
def test_turning_readings_over_swaps_high_and_low(values: list[float]) -> None:
    turned = individuals_chart([-value for value in values])

    found = individuals_chart(values)

    swap = {"high": "low", "low": "high"}
    expected = {(s.rule, swap[s.side], s.indexes) for s in found.signals if s.rule[0] != "m"}
    assert expected == {(s.rule, s.side, s.indexes) for s in turned.signals if s.rule[0] != "m"}


def test_readings_that_never_changed_signal_the_first_that_does() -> None:
    found = individuals_chart([1.0] * 20 + [1.1], baseline=20)

    assert (0.0, True) == (found.sd, found.settled)
    assert Signal("one_beyond_three", "high", (20,), 20) in found.signals


@pytest.mark.parametrize("values", [[], [1.0]])
def test_fewer_than_two_readings_are_an_answer(values: list[float]) -> None:
    found, angles = individuals_chart(values), angle_chart(values)

    assert [2 - len(values)] == [m.missing for m in found.missing]
    assert found.missing == angles.missing
    assert (None, None, ()) == (found.centre, angles.upper_deg, found.signals)


def test_a_reading_that_is_no_number_is_refused() -> None:
    with pytest.raises(BadReading):
        individuals_chart([1.0, float("nan")])


def test_a_size_below_nothing_is_refused() -> None:
    with pytest.raises(BadReading, match=r"-0\.1"):
        angle_chart([0.4, -0.1])


def test_the_upper_limit_of_angles_nears_the_rayleigh_one() -> None:
    # sqrt(-2 ln 0.0027) = 3.439 axis SDs: derived from Rayleigh's distribution, no published source.
    found = angle_chart([1.0] * 5000)

    assert found.axis_sd_deg is not None
    assert found.upper_deg is not None
    assert found.baseline_upper_deg is not None
    assert pytest.approx(3.439, abs=0.01) == found.upper_deg / found.axis_sd_deg
    assert pytest.approx(3.439, abs=0.01) == found.baseline_upper_deg / found.axis_sd_deg


def test_a_large_angle_signals_and_small_ones_never_do() -> None:
    usual = [0.4, 0.6, 0.3, 0.5, 0.7, 0.4, 0.2, 0.6, 0.5, 0.3]

    found = angle_chart([*usual, 3.0, *[0.0] * 9], baseline=10)

    assert [Signal("beyond_upper", "high", (10,), 10)] == list(found.signals)


def test_eight_angles_above_the_median_signal() -> None:
    usual = [0.4, 0.6, 0.3, 0.5, 0.7, 0.4, 0.2, 0.6, 0.5, 0.3]

    found = angle_chart([*usual, *[0.8] * 9], baseline=10)

    assert [("eight_on_one_side", tuple(range(10, 19)), 17)] == [
        (s.rule, s.indexes, s.at) for s in found.signals
    ]


@pytest.mark.parametrize("baseline", [3, 8])
def test_angles_exceed_their_limits_as_seldom_as_three_sds(baseline: int) -> None:
    draw = Random(23).gauss
    runs, inside, after = 20_000, 0, 0

    for _ in range(runs):
        found = angle_chart(
            [hypot(draw(0, 0.3), draw(0, 0.3)) for _ in range(baseline + 1)], baseline
        )
        beyond = [s.at for s in found.signals if s.rule == "beyond_upper"]
        after += baseline in beyond
        inside += 0 in beyond

    assert pytest.approx(THREE_SD, abs=0.0012) == after / runs
    assert pytest.approx(THREE_SD, abs=0.0012) == inside / runs
