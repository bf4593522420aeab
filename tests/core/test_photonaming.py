"""Naming the marks that were found in a photo."""

from __future__ import annotations

from itertools import permutations

import pytest

from bench.core.photonaming import named
from bench.core.photoplane import distances_mm, sense_from_above

A, B, C = (0.0, 0.0), (37.0, 2.0), (14.0, -41.0)
SIDES, SENSE = distances_mm((A, B, C)), sense_from_above((A, B, C))


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_marks_found_in_any_order_are_named_as_recorded(order: tuple[int, int, int]) -> None:
    found = [(A, B, C)[i] for i in order]

    names = named(found, SIDES, SENSE)

    assert names is not None
    assert [found[i] for i in names] == [A, B, C]


def test_a_false_mark_among_them_is_left_out() -> None:
    found = [(60.0, 60.0), A, B, C]

    assert named(found, SIDES, SENSE) == (1, 2, 3)


def test_two_sides_swapped_in_the_record_are_not_hidden_by_the_names() -> None:
    ab, ac, bc = SIDES

    names = named([A, B, C], (ac, ab, bc), SENSE)

    assert names is not None
    assert sense_from_above([(A, B, C)[i] for i in names]) == SENSE


def test_where_nothing_fits_the_surest_three_are_named() -> None:
    names = named([A, B, C, (60.0, 60.0)], (90.0, 90.0, 90.0), SENSE)

    assert names is not None
    assert sorted(names) == [0, 1, 2]


def test_two_marks_are_no_tripod() -> None:
    assert named([A, B], SIDES, SENSE) is None
