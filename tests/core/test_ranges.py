"""Factors of ranges: closed forms, printed tables, and scipy's studentized range."""

from __future__ import annotations

from math import pi, sqrt

import pytest
from scipy import stats

from bench.core.ranges import (
    individuals_factor,
    lower_range_factor,
    mean_range,
    range_factor,
    range_sd,
    upper_range_factor,
)
from tests.facts.chart_figures import CRITICAL_RANGE, D2, D4, E2


def test_the_integrals_meet_their_closed_forms() -> None:
    # Mean and SD of the range of two, and mean of three: textbooks of statistics (from memory).
    assert pytest.approx(2 / sqrt(pi), rel=1e-13) == mean_range(2)
    assert pytest.approx(3 / sqrt(pi), rel=1e-13) == mean_range(3)
    assert pytest.approx(sqrt(2 - 4 / pi), rel=1e-11) == range_sd(2)


@pytest.mark.parametrize("count", D2)
def test_factors_of_ranges_are_those_of_the_tables(count: int) -> None:
    assert pytest.approx(D2[count], abs=0.001) == mean_range(count)
    assert pytest.approx(D4[count], abs=0.001) == upper_range_factor(count)


def test_the_factor_for_single_readings_is_that_of_the_tables() -> None:
    assert pytest.approx(E2, abs=0.002) == individuals_factor()


def test_a_lower_limit_of_ranges_appears_with_seven_readings() -> None:
    # 0.076 for seven: standard tables of D3 (from memory).
    assert 0.0 == lower_range_factor(6)
    assert pytest.approx(0.076, abs=0.0005) == lower_range_factor(7)


def test_critical_ranges_are_those_of_the_standard() -> None:
    found = tuple(round(range_factor(count), 1) for count in range(2, 11))

    assert CRITICAL_RANGE == found


@pytest.mark.parametrize("count", [2, 3, 5, 10])
def test_critical_ranges_agree_with_scipy(count: int) -> None:
    expected = stats.studentized_range.ppf(0.95, count, 1e7)

    assert pytest.approx(expected, rel=1e-5) == range_factor(count)


def test_the_critical_range_of_two_is_the_normal_one() -> None:
    assert pytest.approx(stats.norm.ppf(0.975) * sqrt(2), rel=1e-12) == range_factor(2)
