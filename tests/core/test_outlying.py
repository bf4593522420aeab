"""Who stands out: critical values, published flags, and the rate of false ones."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from bench.core.outlying import (
    cochran,
    critical_c,
    critical_g,
    critical_h,
    critical_k,
    grubbs,
    mandel,
)
from tests.facts.interlaboratory import CRITICAL_8, GLUCOSE, GLUCOSE_CRITICAL

balanced = st.integers(2, 4).flatmap(
    lambda n: st.lists(
        st.lists(st.floats(-9, 9).map(lambda v: round(v, 2)), min_size=n, max_size=n),
        min_size=5,
        max_size=9,
    )
)


def named(rows: Sequence[Sequence[float]]) -> dict[str, Sequence[float]]:
    """Readings by laboratories numbered from 1."""
    return {f"lab {i}": row for i, row in enumerate(rows, start=1)}


def test_critical_values_are_those_the_standards_print() -> None:
    assert pytest.approx(GLUCOSE_CRITICAL, abs=0.005) == (
        critical_h(8, 0.005),
        critical_k(8, 3, 0.005),
    )
    assert pytest.approx(CRITICAL_8["C"], abs=0.001) == (
        critical_c(8, 3, 0.05),
        critical_c(8, 3, 0.01),
    )
    assert pytest.approx(CRITICAL_8["G"], abs=0.002) == (critical_g(8, 0.05), critical_g(8, 0.01))


@pytest.mark.parametrize(("persons", "repeats"), [(5, 2), (8, 3), (12, 4)])
def test_critical_values_agree_with_the_beta_distribution(persons: int, repeats: int) -> None:
    own, others = (repeats - 1) / 2, (persons - 1) * (repeats - 1) / 2
    k2 = persons * stats.beta.ppf(0.99, own, others)
    half = stats.beta.ppf(0.995, (persons - 2) / 2, (persons - 2) / 2)

    assert pytest.approx(sqrt(k2), rel=1e-9) == critical_k(persons, repeats, 0.01)
    assert pytest.approx((2 * half - 1) * (persons - 1) / sqrt(persons), rel=1e-9) == critical_h(
        persons, 0.01
    )


def test_unequal_numbers_have_their_own_critical_spread() -> None:
    sizes = (2, 3, 4, 6, 3)
    df, draw = sum(sizes) - len(sizes), Random(1).gauss

    found = mandel(named([[draw(0, 1) for _ in range(n)] for n in sizes]))

    for n, row in zip(sizes, found.rows, strict=True):
        share = stats.beta.ppf(0.99, (n - 1) / 2, (df - n + 1) / 2)
        assert pytest.approx(sqrt(share * df / (n - 1)), rel=1e-9) == row.k_critical[0.01]


def test_laboratory_2_of_glucose_e_stands_out_in_spread_but_not_in_level() -> None:
    study = named(GLUCOSE["E"])

    spread, levels, rows = cochran(study), grubbs(study), mandel(study).rows

    assert ("lab 2", "outlier") == (spread.person, spread.verdict)
    assert pytest.approx(0.6813, abs=1e-4) == spread.value  # recomputed, no published value
    assert ("lab 2", "usual") == (levels.largest.person, levels.largest.verdict)
    assert ["lab 2"] == [row.person for row in rows if row.k and row.k > row.k_critical[0.005]]
    assert [] == [row.person for row in rows if row.h and abs(row.h) > row.h_critical[0.005]]


def test_nobody_stands_out_in_glucose_d() -> None:
    study = named(GLUCOSE["D"])

    assert ("lab 2", "usual") == (cochran(study).person, cochran(study).verdict)
    assert ["usual", "usual"] == [
        grubbs(study).largest.verdict,
        grubbs(study).smallest.verdict,
    ]


@given(balanced)
def test_figures_keep_within_their_bounds(rows: list[list[float]]) -> None:
    study, p = named(rows), len(rows)

    share = cochran(study).value
    table = mandel(study).rows

    assert share is None or 1 / p - 1e-9 <= share <= 1
    assert all(row.k is None or row.k <= sqrt(p) + 1e-9 for row in table)
    assert all(row.h is None or abs(row.h) <= (p - 1) / sqrt(p) + 1e-9 for row in table)


@given(balanced)
def test_turning_all_readings_over_swaps_largest_and_smallest(rows: list[list[float]]) -> None:
    turned = grubbs(named([[-value for value in row] for row in rows]))

    straight = grubbs(named(rows))

    assert pytest.approx(straight.largest.value) == turned.smallest.value
    assert pytest.approx(straight.smallest.value) == turned.largest.value


def test_spread_among_unequal_numbers_is_judged_by_the_own_number() -> None:
    steady = {f"lab {i}": [0.0, 0.1, 0.0, 0.1, 0.05] for i in range(4)}

    found = cochran({**steady, "Ben": [0.0, 0.8], "Ada": [0.3]})

    assert (5, "Ben", "outlier") == (found.persons, found.person, found.verdict)


@pytest.mark.parametrize("sizes", [(3,) * 8, (2, 4, 3, 2, 6)])
def test_false_stragglers_in_spread_are_as_seldom_as_they_claim(sizes: tuple[int, ...]) -> None:
    draw = Random(2).gauss
    runs, flagged = 2000, 0

    for _ in range(runs):
        found = cochran(named([[draw(0, 1) for _ in range(n)] for n in sizes]))
        flagged += found.verdict != "usual"

    assert 0.03 <= flagged / runs <= 0.065


def test_false_stragglers_in_level_are_as_seldom_as_they_claim() -> None:
    draw = Random(3).gauss
    runs, flagged = 2000, 0

    for _ in range(runs):
        found = grubbs(named([[draw(0, 1)] for _ in range(8)]))
        flagged += "usual" not in (found.largest.verdict, found.smallest.verdict) or (
            found.largest.verdict != found.smallest.verdict
        )

    assert 0.035 <= flagged / runs <= 0.065


def test_too_few_persons_are_an_answer() -> None:
    study = {"Ada": [0.1, 0.2], "Ben": [0.3]}

    spread, levels, rows = cochran(study), grubbs(study), mandel(study)

    assert [("persons with repeats", 1)] == [(m.what, m.missing) for m in spread.missing]
    assert [("persons", 1)] == [(m.what, m.missing) for m in levels.largest.missing]
    assert [("persons", 3), ("persons with repeats", 1)] == [
        (m.what, m.missing) for m in rows.missing
    ]
    assert spread.verdict is None
    assert all(row.h is None and row.k is None for row in rows.rows)


def test_four_persons_get_no_h_since_it_could_never_be_reached() -> None:
    found = mandel(named([[0.1, 0.2], [0.3, 0.5], [0.2, 0.2], [0.6, 0.1]]))

    assert [None] * 4 == [row.h for row in found.rows]
    assert all(row.k is not None for row in found.rows)


def test_readings_without_any_spread_have_nothing_to_judge() -> None:
    study = named([[1.0, 1.0]] * 6)

    assert (None, ()) == (cochran(study).value, cochran(study).missing)
    assert grubbs(study).largest.value is None
    assert [None] * 6 == [row.h for row in mandel(study).rows]
