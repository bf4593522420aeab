"""Intervals of SDs and of sums and differences of mean squares."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from bench.core.intervals import (
    Interval,
    MeanSquare,
    difference_interval,
    sd_interval,
    sd_upper_bound,
    sum_interval,
)


# Factors of an SD, 95 %: two-sided and upper one-sided; tables of chi-square (recomputed).
@pytest.mark.parametrize(
    ("df", "low", "high", "upper"), [(2, 0.521, 6.285, 4.415), (10, 0.699, 1.755, 1.593)]
)
def test_an_sd_has_the_interval_of_chi_square(
    df: int, low: float, high: float, upper: float
) -> None:
    assert pytest.approx((low, high), abs=0.0006) == sd_interval(1.0, df)
    assert pytest.approx(upper, abs=0.0006) == sd_upper_bound(1.0, df)


def test_one_mean_square_alone_has_its_exact_interval() -> None:
    low, high = sum_interval([MeanSquare(2.5, 7)])

    assert pytest.approx(2.5 * 7 / stats.chi2.ppf(0.975, 7)) == low
    assert pytest.approx(2.5 * 7 / stats.chi2.ppf(0.025, 7)) == high


@given(st.floats(0.1, 10), st.integers(1, 20), st.integers(1, 60), st.floats(0.01, 5))
def test_a_difference_reaches_nothing_just_when_the_ratio_is_usual(
    value: float, df1: int, df2: int, weight: float
) -> None:
    # The limit is 0 exactly where the variance ratio is at its own critical value.
    ratio = float(stats.f.ppf(0.975, df1, df2))

    found = difference_interval(
        MeanSquare(ratio * value, df1, weight), MeanSquare(value, df2, weight)
    )

    assert pytest.approx(0.0, abs=1e-6 * ratio * value * weight) == found.low


@given(st.floats(0, 10), st.floats(0, 10), st.integers(1, 30), st.integers(1, 30))
def test_turning_a_difference_over_turns_its_interval_over(
    one: float, two: float, df1: int, df2: int
) -> None:
    turned = difference_interval(MeanSquare(two, df2), MeanSquare(one, df1))

    found = difference_interval(MeanSquare(one, df1), MeanSquare(two, df2))

    assert pytest.approx((-turned.high, -turned.low), rel=1e-6, abs=1e-9) == found


@pytest.mark.parametrize(("first", "second"), [(1.0, 1.0), (5.0, 1.0), (1.0, 5.0)])
def test_intervals_of_two_mean_squares_hold_the_truth(first: float, second: float) -> None:
    draw = Random(43).gammavariate
    runs, sums, differences = 3000, 0, 0

    for _ in range(runs):
        one = MeanSquare(first * draw(2, 2) / 4, 4)
        two = MeanSquare(second * draw(5, 2) / 10, 10)
        sums += _holds(sum_interval([one, two]), first + second)
        differences += _holds(difference_interval(one, two), first - second)

    assert 0.93 <= sums / runs <= 0.97
    assert 0.93 <= differences / runs <= 0.97


def _holds(interval: Interval, truth: float) -> bool:
    return interval.low <= truth <= interval.high


def test_the_root_of_an_interval_stops_at_nothing() -> None:
    assert Interval(0.0, 2.0) == Interval(-1.0, 4.0).root()


def test_an_interval_reaches_a_value_outside_it() -> None:
    assert Interval(1.0, 3.0) == Interval(1.0, 2.0).reaching(3.0)
