"""Agreement: published tables, statsmodels, coverage, and relabelling."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations_with_replacement
from math import sqrt
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.inter_rater import cohens_kappa, fleiss_kappa

from bench.core.agreement import (
    BadTable,
    agreeing_subjects,
    cohen,
    fleiss,
    gwet,
    raw_agreement,
    readers_as_counts,
    share_bound,
    table_of,
)
from tests.facts.agreement_studies import (
    ABSTRACTORS,
    ABSTRACTORS_RESULTS,
    BALANCED_AND_ONE_SIDED,
    BALANCED_AND_ONE_SIDED_KAPPAS,
    DIAGNOSES,
    DIAGNOSES_KAPPA,
    FIRST_FIFTEEN,
    FIRST_FIFTEEN_OBSERVED,
    FOUR_READERS,
    FOUR_READERS_OBSERVED,
    FOUR_READERS_RESULTS,
    FOURTEEN_READERS,
    FOURTEEN_READERS_RESULTS,
    SHARE_BOUNDS,
    WITH_STANDARD_ERROR,
    WITH_STANDARD_ERROR_RESULTS,
    YES_NO,
    YES_NO_RESULTS,
)

COEFFICIENTS = {"fleiss": fleiss, "gwet": gwet}
Table = list[list[int]]
squares = st.integers(2, 4).flatmap(
    lambda n: st.lists(
        st.lists(st.integers(0, 12), min_size=n, max_size=n), min_size=n, max_size=n
    ).filter(lambda table: sum(map(sum, table)) > 2)
)
# Four readers of each subject, three categories.
FOURS = list(combinations_with_replacement(range(3), 4))
counts = st.lists(
    st.sampled_from([[row.count(k) for k in range(3)] for row in FOURS]), min_size=2, max_size=15
)


def test_yes_and_no_have_the_kappa_of_the_reference_works() -> None:
    found = cohen(YES_NO)

    assert pytest.approx(YES_NO_RESULTS) == (found.observed, found.expected, found.value)
    assert (50, 100) == (found.subjects, found.ratings)


def test_cohens_kappa_has_its_published_standard_error() -> None:
    found = cohen(WITH_STANDARD_ERROR)

    assert pytest.approx(WITH_STANDARD_ERROR_RESULTS, abs=6e-5) == (
        found.value,
        found.standard_error,
    )


def test_two_abstractors_have_the_published_coefficients() -> None:
    kappa, ac1 = cohen(ABSTRACTORS), gwet(readers_as_counts(ABSTRACTORS))

    assert ac1.standard_error is not None
    # For two readers the source divides by n, not by n - 1 as it does for more.
    error = ac1.standard_error * sqrt(99 / 100)
    assert pytest.approx(ABSTRACTORS_RESULTS, rel=1e-6) == (
        kappa.value,
        ac1.value,
        error,
        kappa.observed,
    )


def test_fourteen_readers_have_the_published_kappa() -> None:
    found = fleiss(FOURTEEN_READERS)

    assert pytest.approx(FOURTEEN_READERS_RESULTS, abs=1e-6) == (
        found.observed,
        found.expected,
        found.value,
    )
    assert (10, 140) == (found.subjects, found.ratings)


def test_diagnoses_have_the_published_kappa() -> None:
    assert pytest.approx(DIAGNOSES_KAPPA, abs=0.0005) == fleiss(DIAGNOSES).value


@pytest.mark.parametrize("name", COEFFICIENTS)
def test_fifteen_patients_have_the_published_coefficients(name: str) -> None:
    found = COEFFICIENTS[name](DIAGNOSES[:15])

    assert pytest.approx(FIRST_FIFTEEN[name], rel=1e-6) == (found.value, found.standard_error)
    assert pytest.approx(FIRST_FIFTEEN_OBSERVED) == found.observed


@pytest.mark.parametrize("name", COEFFICIENTS)
def test_subjects_read_unequally_often_have_the_published_coefficients(name: str) -> None:
    table = [[row.count(category) for category in range(1, 6)] for row in FOUR_READERS]

    found = COEFFICIENTS[name](table)

    assert pytest.approx(FOUR_READERS_RESULTS[name], abs=6e-6) == (
        found.value,
        found.standard_error,
    )
    assert pytest.approx(FOUR_READERS_OBSERVED) == found.observed
    assert 11 == found.subjects  # the last was read once only


def test_the_same_raw_agreement_can_have_a_high_and_a_low_kappa() -> None:
    found = [cohen(table) for table in BALANCED_AND_ONE_SIDED]

    assert pytest.approx((0.85, 0.85)) == tuple(kappa.observed for kappa in found)
    assert pytest.approx(BALANCED_AND_ONE_SIDED_KAPPAS, abs=0.005) == tuple(
        kappa.value for kappa in found
    )
    one_sided = gwet(readers_as_counts(BALANCED_AND_ONE_SIDED[1])).value
    assert one_sided is not None
    assert one_sided > 0.8


@given(squares)
def test_cohens_kappa_agrees_with_statsmodels(table: Table) -> None:
    found = cohen(table)
    if found.value is None or found.standard_error is None:
        return

    with np.errstate(all="ignore"):  # its test of no agreement divides by nothing
        expected = cohens_kappa(table)

    assert pytest.approx(expected.kappa, abs=1e-9) == found.value
    assert pytest.approx(sqrt(max(0, expected.var_kappa)), abs=1e-7) == found.standard_error


@given(counts)
def test_fleiss_kappa_agrees_with_statsmodels(table: Table) -> None:
    found = fleiss(table)
    if found.undefined:
        return

    assert pytest.approx(fleiss_kappa(table), abs=1e-9) == found.value


@given(squares, st.randoms(use_true_random=False))
def test_relabelling_categories_changes_nothing(table: Table, chance: Random) -> None:
    order = chance.sample(range(len(table)), len(table))
    renamed = [[table[i][j] for j in order] for i in order]

    assert pytest.approx(cohen(table).value) == cohen(renamed).value
    assert pytest.approx(cohen(table).standard_error) == cohen(renamed).standard_error
    assert pytest.approx(gwet(readers_as_counts(table)).value) == gwet(
        readers_as_counts(renamed)
    ).value  # fmt: skip


@given(squares)
def test_swapping_the_readers_changes_nothing(table: Table) -> None:
    swapped = [list(column) for column in zip(*table, strict=True)]

    assert pytest.approx(cohen(table).value) == cohen(swapped).value
    assert pytest.approx(cohen(table).standard_error) == cohen(swapped).standard_error


@given(counts, st.randoms(use_true_random=False))
def test_the_order_of_subjects_changes_nothing(table: Table, chance: Random) -> None:
    shuffled = chance.sample(table, len(table))

    assert pytest.approx(fleiss(table).standard_error) == fleiss(shuffled).standard_error
    assert pytest.approx(gwet(table).standard_error) == gwet(shuffled).standard_error


def test_when_all_say_the_same_kappa_is_undefined_and_the_rest_is_not() -> None:
    kappa, several, ac1 = cohen([[9, 0], [0, 0]]), fleiss([[3, 0]] * 9), gwet([[3, 0]] * 9)

    assert (True, None, 1.0) == (kappa.undefined, kappa.value, kappa.observed)
    assert (True, None, 1.0) == (several.undefined, several.value, several.observed)
    assert (False, 1.0) == (ac1.undefined, ac1.value)


def test_full_agreement_has_no_interval_but_that_of_the_share() -> None:
    kappa, raw = cohen([[4, 0], [0, 6]]), raw_agreement(10, 10)

    assert (1.0, None, None) == (kappa.value, kappa.interval, kappa.standard_error)
    assert raw.interval is not None
    # (risk)^(1/n), closed form.
    assert pytest.approx((0.025 ** (1 / 10), 1.0)) == raw.interval


@pytest.mark.parametrize("hits_of", SHARE_BOUNDS)
def test_shares_have_their_exact_bounds(hits_of: tuple[int, int]) -> None:
    assert pytest.approx(SHARE_BOUNDS[hits_of], abs=0.0006) == share_bound(*hits_of, 0.05)


def test_nobody_agreeing_has_a_share_of_nothing_to_something() -> None:
    raw = raw_agreement(0, 10)

    assert raw.interval is not None
    assert pytest.approx((0.0, 1 - 0.025 ** (1 / 10))) == raw.interval


def test_pairs_make_the_table_of_two_readers() -> None:
    pairs = [("at", "at"), ("at", "more"), ("less", "less"), ("at", "at")]

    table = table_of(pairs)

    assert ((2, 1, 0), (0, 0, 0), (0, 0, 1)) == table
    assert (3, 4) == agreeing_subjects(readers_as_counts(table))


def test_too_few_subjects_are_an_answer() -> None:
    assert [("subjects", 1)] == [(m.what, m.missing) for m in cohen([[1, 0], [0, 0]]).missing]
    assert [("subjects read twice", 2)] == [
        (m.what, m.missing) for m in fleiss([[1, 0], [0, 1]]).missing
    ]
    assert [("subjects read twice", 2)] == [(m.what, m.missing) for m in gwet([]).missing]
    assert [("subjects", 1)] == [(m.what, m.missing) for m in raw_agreement(0, 0).missing]


@pytest.mark.parametrize("table", [[[1, 2], [3]], [[1, -2], [0, 1]], [[0.5, 1], [1, 1]]])
def test_what_is_no_table_is_refused(table: Sequence[Sequence[float]]) -> None:
    with pytest.raises(BadTable, match="one count for each category"):
        fleiss(table)


def test_a_table_of_two_readers_must_be_square() -> None:
    with pytest.raises(BadTable):
        cohen([[1, 2, 3], [3, 2, 1]])


def test_intervals_of_cohens_kappa_hold_the_truth_95_times_of_100() -> None:
    chance = Random(61)
    # Two readers who each see the truth (half and half) 85 times of 100: observed 0.745, by chance
    # 0.5, kappa 0.49.
    runs, held = 1500, 0

    for _ in range(runs):
        truths = [chance.random() < 0.5 for _ in range(150)]
        pairs = [tuple(t ^ (chance.random() < 0.15) for _ in "12") for t in truths]
        table = [[pairs.count((a, b)) for b in (True, False)] for a in (True, False)]
        found = cohen(table).interval
        assert found is not None
        held += found.low <= 0.49 <= found.high

    assert 0.93 <= held / runs <= 0.97


@pytest.mark.parametrize("name", COEFFICIENTS)
def test_intervals_over_subjects_hold_the_truth_95_times_of_100(name: str) -> None:
    chance = Random(67)
    # Balanced readers: Fleiss' kappa and AC1 are both 0.49, as above.
    runs, held = 1500, 0

    for _ in range(runs):
        yes = []
        for _ in range(50):
            truth = chance.random() < 0.5
            yes.append(sum(truth ^ (chance.random() < 0.15) for _ in range(4)))
        found = COEFFICIENTS[name]([[n, 4 - n] for n in yes]).interval
        assert found is not None
        held += found.low <= 0.49 <= found.high

    assert 0.93 <= held / runs <= 0.97
