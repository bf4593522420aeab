"""Equivalence: published tests, the three outcomes, power, and the count still needed."""

from __future__ import annotations

from math import hypot, sqrt
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.weightstats import DescrStatsW

from bench.core.equivalence import (
    BadTolerance,
    count_needed,
    direction_within,
    equivalence,
    power_of,
)
from tests.facts.equivalence_studies import (
    MARGIN,
    NEEDED,
    NOT_SHOWN,
    NOT_SHOWN_RESULTS,
    POWER_OF_EIGHT,
    SHOWN,
    SHOWN_RESULTS,
)

samples = st.lists(st.floats(-2, 2).map(lambda v: round(v, 3)), min_size=2, max_size=12)


def test_differences_shown_within_have_the_published_figures() -> None:
    found = equivalence(SHOWN, MARGIN)

    assert found.interval is not None
    assert pytest.approx(SHOWN_RESULTS, rel=1e-6) == (*found.interval, found.chance)
    assert (15, "within", None) == (found.count, found.outcome, found.more_needed)


def test_differences_not_shown_have_the_published_figures() -> None:
    found = equivalence(NOT_SHOWN, MARGIN)

    assert found.interval is not None
    assert pytest.approx(NOT_SHOWN_RESULTS, rel=1e-6) == (*found.interval, found.chance)
    assert "not_shown" == found.outcome


@given(samples)
def test_the_chance_is_that_of_statsmodels(values: list[float]) -> None:
    found = equivalence(values, 0.5)
    if not found.sd or found.sd < 1e-6:
        return

    expected = DescrStatsW(np.array(values)).ttost_mean(-0.5, 0.5)[0]

    assert pytest.approx(expected, rel=1e-7, abs=1e-12) == found.chance
    assert (found.chance is not None and found.chance < 0.05) == (found.outcome == "within")


@given(samples, st.sampled_from((-3.0, 0.25, 10.0)))
def test_scaling_and_turning_over_keep_the_outcome(values: list[float], scale: float) -> None:
    scaled = equivalence([scale * value for value in values], abs(scale) * 0.7)

    found = equivalence(values, 0.7)

    assert found.outcome == scaled.outcome


def test_a_clear_offset_is_outside() -> None:
    found = equivalence([1.4, 1.5, 1.6, 1.5], 1.0)

    assert ("outside", None) == (found.outcome, found.needed)


def test_promising_differences_say_how_many_more() -> None:
    found = equivalence([0.5, -0.4], 1.0)

    assert ("not_shown", count_needed(found.sd or 0, 1.0, found.mean or 0)) == (
        found.outcome,
        found.needed,
    )
    assert found.needed is not None
    assert found.needed - 2 == found.more_needed


def test_an_offset_at_the_tolerance_can_never_be_shown() -> None:
    found = equivalence([0.5, 1.5, 1.0], 1.0)

    assert ("not_shown", None, None) == (found.outcome, found.needed, found.more_needed)


def test_equal_differences_are_judged_by_their_value() -> None:
    assert ("within", 0.0) == (
        equivalence([0.3] * 3, 1.0).outcome,
        equivalence([0.3] * 3, 1.0).chance,
    )
    assert "outside" == equivalence([1.3] * 3, 1.0).outcome


@pytest.mark.parametrize("values", [[], [0.1]])
def test_fewer_than_two_differences_are_an_answer(values: list[float]) -> None:
    found = equivalence(values, 1.0)

    assert (None, 2 - len(values)) == (found.outcome, found.missing[0].missing)


@pytest.mark.parametrize("tolerance", [0.0, -1.0, float("nan"), float("inf")])
def test_a_tolerance_that_nothing_can_meet_is_refused(tolerance: float) -> None:
    with pytest.raises(BadTolerance, match="more than 0"):
        equivalence([0.1, 0.2], tolerance)


@pytest.mark.parametrize("ratio", NEEDED)
def test_the_count_needed_is_as_derived(ratio: float) -> None:
    assert NEEDED[ratio] == count_needed(ratio, 1.0)
    assert NEEDED[ratio] == count_needed(ratio * 3, 3.0)


def test_power_is_as_derived_and_as_simulated() -> None:
    draw = Random(71).gauss
    runs = 3000

    shown = sum(
        equivalence([draw(0.3, 0.8) for _ in range(9)], 1.0).outcome == "within"
        for _ in range(runs)
    )

    assert pytest.approx(POWER_OF_EIGHT, abs=1e-5) == power_of(8, 0.5, 1.0)
    assert pytest.approx(power_of(9, 0.8, 1.0, 0.3), abs=0.025) == shown / runs


def test_power_without_spread_is_all_or_nothing() -> None:
    assert (1.0, 0.0, 0.0) == (
        power_of(3, 0.0, 1.0),
        power_of(3, 0.0, 1.0, 1.0),
        power_of(1, 0.5, 1.0),
    )


def test_an_offset_at_the_boundary_is_shown_wrongly_at_most_5_of_100() -> None:
    assert pytest.approx(0.05, abs=1e-6) == power_of(40, 0.5, 1.0, 1.0)
    assert 0.05 >= power_of(4, 1.0, 1.0, 1.0)


@given(st.floats(0.05, 1.2), st.integers(2, 30))
def test_another_difference_never_costs_power(sd: float, count: int) -> None:
    assert power_of(count, sd, 1.0) <= power_of(count + 1, sd, 1.0) + 1e-6


@pytest.mark.parametrize(
    ("angle_deg", "outcome"), [(0.2, "within"), (0.9, "not_shown"), (1.8, "outside")]
)
def test_a_mean_direction_has_three_outcomes(angle_deg: float, outcome: str) -> None:
    found = direction_within(angle_deg, 0.3, 3, 4, 1.0)

    assert outcome == found.outcome
    assert found.low_deg <= angle_deg <= found.high_deg


def test_a_direction_at_the_boundary_is_shown_wrongly_at_most_5_of_100() -> None:
    draw = Random(73).gauss
    runs, wrong, n, sd = 4000, 0, 3, 0.4

    for _ in range(runs):
        rows = [(draw(1.0, sd), draw(0, sd)) for _ in range(n)]
        middle = [sum(axis) / n for axis in zip(*rows, strict=True)]
        left = sum((x - middle[0]) ** 2 + (y - middle[1]) ** 2 for x, y in rows)
        found = direction_within(hypot(*middle), sqrt(left / (2 * n - 2)), n, 2 * n - 2, 1.0)
        wrong += found.outcome == "within"

    assert 0.025 <= wrong / runs <= 0.055
