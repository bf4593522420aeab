"""The distributions against scipy, and their own symmetries."""

from __future__ import annotations

from math import gamma, sqrt
from random import Random

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy import stats

from bench.core.distributions import (
    beta_parts,
    chi_square_below,
    chi_square_quantile,
    chi_square_tail,
    f_below,
    f_quantile,
    f_tail,
    f_value_at_tail,
    normal_quantile,
    normal_tail,
    t_quantile,
    t_tail,
)

CLOSE = 1e-10


def draws(count: int) -> list[tuple[float, float, float]]:
    """Chances from the middle and far out, with two degrees of freedom, whole and broken."""
    draw = Random(5)
    rows = []
    for _ in range(count):
        far = 10 ** draw.uniform(-12, -1)
        chance = draw.choice((draw.uniform(0.001, 0.999), far, 1 - far))
        dfs = [draw.choice((draw.randint(1, 30), 10 ** draw.uniform(-0.3, 5))) for _ in "12"]
        rows.append((chance, *dfs))
    return rows


def test_normal_values_and_tails_agree_with_scipy() -> None:
    for chance, *_ in draws(100):
        value = normal_quantile(chance)

        assert pytest.approx(stats.norm.ppf(chance), rel=CLOSE) == value
        assert pytest.approx(stats.norm.sf(value), rel=CLOSE) == normal_tail(value)


def test_chi_square_agrees_with_scipy() -> None:
    for chance, df, _ in draws(150):
        value = chi_square_quantile(chance, df)

        assert pytest.approx(stats.chi2.ppf(chance, df), rel=CLOSE) == value
        assert pytest.approx(stats.chi2.sf(value, df), rel=CLOSE) == chi_square_tail(value, df)
        assert pytest.approx(stats.chi2.cdf(value, df), rel=CLOSE) == chi_square_below(value, df)


def test_students_t_agrees_with_scipy() -> None:
    for chance, df, _ in draws(150):
        value = t_quantile(chance, df)

        assert pytest.approx(stats.t.ppf(chance, df), rel=CLOSE) == value
        assert pytest.approx(stats.t.sf(value, df), rel=CLOSE) == t_tail(value, df)


def test_variance_ratios_agree_with_scipy() -> None:
    for chance, df1, df2 in draws(200):
        value = stats.f.ppf(chance, df1, df2)
        if not 1e-30 < value < 1e30:
            continue

        assert pytest.approx(value, rel=CLOSE) == f_quantile(chance, df1, df2)
        assert pytest.approx(stats.f.sf(value, df1, df2), rel=CLOSE) == f_tail(value, df1, df2)
        assert pytest.approx(stats.f.cdf(value, df1, df2), rel=CLOSE) == f_below(value, df1, df2)


@pytest.mark.parametrize("tail", [1e-3, 1e-10, 1e-18])
def test_a_ratio_far_out_keeps_its_digits(tail: float) -> None:
    value = f_value_at_tail(tail, 3, 14)

    assert pytest.approx(tail, rel=CLOSE) == stats.f.sf(value, 3, 14)


def test_with_two_degrees_of_freedom_there_are_closed_forms() -> None:
    # F with 2 and v degrees of freedom: (v / 2) ((1 - p)^(-2 / v) - 1); t with 2: textbooks of
    # statistics (from memory), and easily integrated.
    assert pytest.approx(5 * (0.05 ** (-1 / 5) - 1), rel=1e-12) == f_quantile(0.95, 2, 10)
    assert pytest.approx(0.9 * sqrt(2 / (4 * 0.95 * 0.05)), rel=1e-12) == t_quantile(0.95, 2)


@given(st.floats(0.01, 500), st.floats(0.5, 400), st.floats(0.5, 400))
def test_turning_a_ratio_over_swaps_its_sides(value: float, df1: float, df2: float) -> None:
    assert pytest.approx(f_tail(value, df1, df2), abs=1e-12) == f_below(1 / value, df2, df1)


@example(0.25, 0.25, 5e-324)
@given(st.floats(0.2, 300), st.floats(0.2, 300), st.floats(0, 1))
def test_both_parts_of_the_beta_function_make_one(a: float, b: float, x: float) -> None:
    below, above = beta_parts(a, b, x, 1 - x)

    assert pytest.approx(1.0, abs=1e-12) == below + above
    assert -1e-12 <= below <= 1 + 1e-12


@pytest.mark.parametrize("chance", [0.0, 1.0, -0.1, float("nan")])
def test_a_chance_that_is_none_is_refused(chance: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        normal_quantile(chance)
    with pytest.raises(ValueError, match="between 0 and 1"):
        t_quantile(chance, 5)


@pytest.mark.parametrize("x", [1e-300, 1e-291, 1e-289, 1e-250])
def test_next_to_nothing_the_beta_function_is_its_first_term(x: float) -> None:
    # I_x(a, b) = x^a / (a B(a, b)) (1 + O(x)): DLMF 8.17.7.
    first = x**0.25 / (0.25 * gamma(0.25) ** 2 / gamma(0.5))

    assert pytest.approx(first, rel=1e-11) == beta_parts(0.25, 0.25, x, 1.0)[0]
