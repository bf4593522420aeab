"""Repeatability and reproducibility: published studies, scipy, coverage, and what changes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.resources import files
from math import sqrt
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from bench.core.precision import Precision, precision
from bench.core.readings import BadReading
from tests.facts.gauge_studies import WAFER_DF, WAFER_SQUARES, WAFER_SQUARES_SUM
from tests.facts.interlaboratory import (
    GLUCOSE,
    GLUCOSE_RESULTS,
    SIRSTV,
    SIRSTV_SQUARES,
    STRD,
    SULFUR,
    SULFUR_RESULTS,
)

readings = st.floats(-50, 50).map(lambda value: round(value, 3))
studies = st.lists(st.lists(readings, min_size=1, max_size=5), min_size=2, max_size=7).filter(
    lambda rows: max(map(len, rows)) > 1
)


def named(rows: Sequence[Sequence[float]]) -> dict[str, Sequence[float]]:
    """Readings by made-up persons."""
    return {f"person {i}": row for i, row in enumerate(rows)}


def from_scipys_files(name: str) -> list[list[float]]:
    """Groups of a data set of NIST's Statistical Reference Datasets, as scipy ships them."""
    text = files("scipy.stats.tests").joinpath("data/nist_anova", f"{name}.dat").read_text("utf-8")
    groups: dict[int, list[float]] = {}
    for line in text.splitlines()[60:]:
        group, value = line.split()
        groups.setdefault(int(group), []).append(float(value))
    return list(groups.values())


@pytest.mark.parametrize("material", GLUCOSE)
def test_glucose_has_the_published_precision(material: str) -> None:
    mean, s_r, s_big, r, big_r = GLUCOSE_RESULTS[material]

    found = precision(named(GLUCOSE[material]))

    assert pytest.approx((mean, s_r, s_big), abs=0.0002) == (
        found.mean,
        found.repeatability_sd,
        found.reproducibility_sd,
    )
    assert pytest.approx((r, big_r), abs=0.006) == (
        found.repeatability_limit,
        found.reproducibility_limit,
    )
    assert (8, 24, ()) == (found.persons, found.readings, found.missing)


def test_a_negative_variance_between_persons_becomes_nothing_and_says_so() -> None:
    found = precision(named(GLUCOSE["A"]))

    assert found.between_clamped
    assert found.between_variance is not None
    assert found.between_variance < 0
    assert 0.0 == found.between_sd
    assert found.repeatability_sd == found.reproducibility_sd


@pytest.mark.parametrize("level", range(4))
def test_laboratories_that_measured_unequally_often_have_the_published_precision(
    level: int,
) -> None:
    found = precision(named(SULFUR[level]))

    assert pytest.approx(SULFUR_RESULTS[level], abs=0.00055) == (
        found.mean,
        found.repeatability_sd,
        found.reproducibility_sd,
    )


@given(studies)
def test_the_variance_between_persons_is_that_of_expected_squares(rows: list[list[float]]) -> None:
    # E(squares between) is variance within times df, plus variance between times the trace of the
    # squares between of the indicator columns: worked out by matrices, apart from the code.
    persons = np.repeat(np.eye(len(rows)), [len(row) for row in rows], axis=0)
    centred = persons - persons.mean(axis=0)
    per_variance = float(np.trace(centred.T @ persons @ np.linalg.pinv(persons) @ centred))

    found = precision(named(rows))

    assert found.between_variance is not None
    assert found.repeatability_sd is not None
    assert pytest.approx(found.squares.between, abs=1e-6) == (
        found.repeatability_sd**2 * (len(rows) - 1) + found.between_variance * per_variance
    )


@pytest.mark.parametrize("name", STRD)
def test_certified_data_give_their_certified_digits(name: str) -> None:
    ratio, residual_sd, error = STRD[name]

    found = precision(named(from_scipys_files(name)))

    assert pytest.approx(ratio, rel=error) == found.squares.ratio
    assert pytest.approx(residual_sd, rel=error) == found.repeatability_sd


def test_the_certified_squares_of_silicon_are_met_to_nine_digits() -> None:
    found = precision(named(SIRSTV)).squares

    assert pytest.approx(SIRSTV_SQUARES, rel=1e-9) == (found.between, found.within)
    assert (4, 20) == (found.between_df, found.within_df)


def test_pooled_squares_of_wafers_are_the_published_sum() -> None:
    # Each wafer as one person whose readings have exactly these squares.
    rows = [
        [(-1) ** i * sqrt(squares / 60) for i in range(60)] + [0.0] for squares in WAFER_SQUARES
    ]

    found = precision(named(rows))

    assert pytest.approx(WAFER_SQUARES_SUM, rel=1e-12) == found.squares.within
    assert 5 * WAFER_DF == found.squares.within_df


@given(studies)
def test_the_variance_ratio_is_scipys(rows: list[list[float]]) -> None:
    found = precision(named(rows)).squares
    if found.ratio is None or found.within < 1e-6:
        return

    assert pytest.approx(stats.f_oneway(*rows).statistic, rel=1e-6, abs=1e-9) == found.ratio


@given(studies, st.floats(-1000, 1000), st.sampled_from((-3.0, -0.5, 2.0, 10.0)))
def test_a_shift_changes_no_spread_and_a_scale_scales_it(
    rows: list[list[float]], shift: float, scale: float
) -> None:
    moved = [[scale * value + shift for value in row] for row in rows]

    before, after = precision(named(rows)), precision(named(moved))

    assert pytest.approx([scale**2 * part for part in variances(before)], abs=1e-6) == variances(
        after
    )


@given(studies, st.randoms(use_true_random=False))
def test_the_order_of_persons_and_of_repeats_changes_nothing(
    rows: list[list[float]], chance: Random
) -> None:
    shuffled = [chance.sample(row, len(row)) for row in chance.sample(rows, len(rows))]

    before, after = precision(named(rows)), precision(named(shuffled))

    assert pytest.approx(variances(before), abs=1e-9) == variances(after)


@given(studies)
def test_reproducibility_is_never_finer_than_repeatability(rows: list[list[float]]) -> None:
    found = precision(named(rows))

    s_r, s_big = found.repeatability_sd, found.reproducibility_sd
    assert s_r is not None
    assert s_big is not None
    assert s_r <= s_big
    assert found.reproducibility_interval is not None
    assert found.reproducibility_interval.low <= s_big <= found.reproducibility_interval.high


def variances(found: Precision) -> list[float]:
    """Variance of repeats, between persons and of both, of a study that has them all."""
    sds = (found.repeatability_sd, found.between_sd, found.reproducibility_sd)
    assert None not in sds
    return [sd * sd for sd in sds if sd is not None]


def test_one_person_has_repeatability_and_lacks_another() -> None:
    found = precision({"Ada": [0.1, 0.2, 0.4]})

    assert pytest.approx(stats.tstd([0.1, 0.2, 0.4])) == found.repeatability_sd
    assert found.reproducibility_sd is None
    assert [("persons", 1, 2, 1)] == [(m.what, m.have, m.need, m.missing) for m in found.missing]


def test_single_readings_lack_a_repeat() -> None:
    found = precision({"Ada": [0.1], "Ben": [0.3], "Cleo": []})

    assert (2, pytest.approx(0.2)) == (found.persons, found.mean)
    assert (None, None, None) == (
        found.repeatability_sd,
        found.between_sd,
        found.reproducibility_limit,
    )
    assert ["not enough data: 1 repeats of one person, 1 more needed"] == list(
        map(str, found.missing)
    )


def test_no_reading_at_all_lacks_both() -> None:
    found = precision({})

    assert (0, 0, None) == (found.persons, found.readings, found.mean)
    assert ["persons", "repeats of one person"] == [m.what for m in found.missing]


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_what_is_no_reading_is_refused(value: float) -> None:
    with pytest.raises(BadReading, match="Leave the reading out") as refused:
        precision({"Ada": [0.1, value]})

    assert "bad_reading" == refused.value.code


@pytest.mark.parametrize(
    ("sizes", "between_sd"),
    [
        ((3, 3, 3, 3, 3, 3, 3, 3), 1.0),
        ((2, 2, 2), 1.0),
        ((2, 2, 2, 2), 0.3),
        ((2, 5, 3, 4, 2), 1.0),
    ],
)
def test_intervals_hold_the_truth_95_times_of_100(
    sizes: tuple[int, ...], between_sd: float
) -> None:
    draw = Random(11).gauss
    runs, repeatability, reproducibility = 3000, 0, 0
    truth = sqrt(1 + between_sd**2)

    for _ in range(runs):
        levels = [draw(0, between_sd) for _ in sizes]
        rows = [[draw(m, 1) for _ in range(n)] for m, n in zip(levels, sizes, strict=True)]
        found = precision(named(rows))
        assert found.repeatability_interval is not None
        assert found.reproducibility_interval is not None
        repeatability += found.repeatability_interval.low <= 1 <= found.repeatability_interval.high
        low, high = found.reproducibility_interval
        reproducibility += low <= truth <= high

    assert 0.93 <= repeatability / runs <= 0.97
    assert 0.93 <= reproducibility / runs <= 0.97
