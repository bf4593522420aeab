from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.readingsd import LEAST_SPARE, Residual, reading_sd

lengths = st.floats(20, 60).map(lambda x: round(x, 2))


def test_without_repeats_it_is_the_policys_figure():
    found = reading_sd(0.2, [])

    assert (0.2, "policy", 0) == (found.sd_mm, found.source, found.spare)


# By hand: each pair 40.0, 40.2 has squares 0.02 about its mean, over 10 pairs 0.2 / 10 = 0.02.
def test_ten_pairs_give_the_labs_own_figure():
    found = reading_sd(0.2, [(40.0, 40.2)] * 10)

    assert found.source == "own"
    assert found.sd_mm == pytest.approx(0.02**0.5)


def test_nine_pairs_are_not_enough_and_are_counted():
    found = reading_sd(0.2, [(40.0, 40.2)] * (LEAST_SPARE - 1))

    assert ("policy", 9) == (found.source, found.spare)


def test_repeats_that_never_differ_tell_nothing():
    assert "policy" == reading_sd(0.2, [(40.0, 40.0)] * 20).source


def test_residuals_of_re_mounts_count_by_their_spare_marks():
    found = reading_sd(0.2, [], [Residual(0.1, 1)] * 12)

    assert ("own", 12) == (found.source, found.spare)
    assert found.sd_mm == pytest.approx(0.1)


# Reference: the mean square within groups of numpy's own variances, weighted by their degrees.
@given(st.lists(st.lists(lengths, min_size=2, max_size=5), min_size=10, max_size=14))
def test_pooling_agrees_with_the_weighted_mean_of_variances(groups):
    found = reading_sd(0.2, groups)
    spares = [len(group) - 1 for group in groups]
    within = np.average([np.var(group, ddof=1) for group in groups], weights=spares)

    if found.source == "own":
        assert found.sd_mm == pytest.approx(np.sqrt(within), rel=1e-6, abs=1e-9)
    else:
        assert within < 1e-12


@given(st.lists(st.lists(lengths, min_size=2, max_size=5), min_size=10, max_size=14), lengths)
def test_the_length_itself_plays_no_part(groups, by):
    moved = [[one + by for one in group] for group in groups]

    assert reading_sd(0.2, moved).sd_mm == pytest.approx(
        reading_sd(0.2, groups).sd_mm, rel=1e-6, abs=1e-6
    )
