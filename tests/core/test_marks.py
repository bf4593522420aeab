"""Which tripod mark to move so that the cast is held as finely as wished."""

from __future__ import annotations

import random
from math import cos, hypot, radians, sin

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar
from scipy.stats import chi2

from bench.core.marks import (
    BadFineness,
    moves_toward_edges,
    residual_limit_mm,
    shortest_moves,
)
from bench.core.remount import tilt_off
from bench.core.tripod import CollinearMarks, TooFewMarks, how_finely_held, triangle_from
from tests.facts.tripod_figures import FLAT

SIDES_MM, FLAT_SD_MM, FLAT_DEG = FLAT
FLAT_MARKS = triangle_from(*SIDES_MM).marks_mm
LOW = ((0.0, 6.0), (25.0, 0.0), (-25.0, 0.0))
coordinates = st.floats(-30, 30)
some_marks = st.lists(st.tuples(coordinates, coordinates), min_size=3, max_size=5)


def worst_after_deg(
    marks: list[tuple[float, float]], mark: int, way_deg: float, by: float
) -> float:
    moved = np.array(marks)
    moved[mark] += by * cos(radians(way_deg)), by * sin(radians(way_deg))
    spread = np.linalg.eigvalsh(np.cov(moved.T) * (len(moved) - 1))
    return float(np.degrees(FLAT_SD_MM / np.sqrt(max(spread[0], 1e-12))))


def test_the_flat_triangle_is_helped_most_by_its_middle_mark() -> None:
    first, *_ = shortest_moves(FLAT_MARKS, FLAT_SD_MM, 0.7)

    assert pytest.approx(FLAT_DEG, abs=0.005) == how_finely_held(FLAT_MARKS, FLAT_SD_MM).worst_deg
    assert 2 == first.mark
    assert pytest.approx(90.0, abs=0.01) == first.azimuth_deg
    assert pytest.approx(0.7) == first.holds_deg


def test_a_symmetric_triangle_needs_the_height_that_beam_and_spread_ask_for() -> None:
    # SD(ap) = sqrt(3/2)·sigma/b for a triangle of length b: b = 1.2247·0.2/radians(0.7).
    (move, *_) = moves_toward_edges(LOW, 0.2, 0.7)

    assert (0, "front") == (move.mark, move.toward)
    assert pytest.approx(1.2247 * 0.2 / radians(0.7) - 6.0, abs=0.001) == move.by_mm


@given(some_marks, st.floats(0.2, 1.5))
def test_every_move_holds_as_wished_and_a_little_less_does_not(
    marks: list[tuple[float, float]], wanted_deg: float
) -> None:
    try:
        held = how_finely_held(marks, FLAT_SD_MM)
    except CollinearMarks:
        assume(False)
    assume(held.worst_deg > wanted_deg + 1e-6)

    moves = (
        *moves_toward_edges(marks, FLAT_SD_MM, wanted_deg),
        *shortest_moves(marks, FLAT_SD_MM, wanted_deg),
    )

    for move in moves:
        short = worst_after_deg(marks, move.mark, move.azimuth_deg, 0.999 * move.by_mm)
        assert pytest.approx(wanted_deg, rel=1e-5) == move.holds_deg
        assert wanted_deg < short
        assert move.by_mm <= 30.0


def test_no_other_way_is_shorter_than_the_shortest() -> None:
    chance = random.Random(6)
    for _ in range(40):
        marks = [(chance.uniform(-25, 25), chance.uniform(-5, 5)) for _ in range(3)]
        try:
            moves = shortest_moves(marks, FLAT_SD_MM, 0.5)
        except CollinearMarks:
            continue
        for move in moves:
            shorter = 0.99 * move.by_mm

            best = min(
                worst_after_deg(marks, move.mark, way, shorter) for way in np.arange(0, 360, 2)
            )

            assert best > 0.5


def test_a_straight_move_is_never_shorter_than_the_shortest() -> None:
    straight = {move.mark: move.by_mm for move in moves_toward_edges(LOW, 0.2, 0.7)}
    free = {move.mark: move.by_mm for move in shortest_moves(LOW, 0.2, 0.7)}

    assert straight
    assert all(free[mark] <= by_mm + 1e-6 for mark, by_mm in straight.items())


@given(st.floats(0, 360), coordinates, coordinates)
def test_turning_and_shifting_all_marks_changes_no_length(
    turn_deg: float, x_mm: float, y_mm: float
) -> None:
    c, s = cos(radians(turn_deg)), sin(radians(turn_deg))
    moved = [(c * x - s * y + x_mm, s * x + c * y + y_mm) for x, y in FLAT_MARKS]

    here = shortest_moves(FLAT_MARKS, FLAT_SD_MM, 0.7)
    there = shortest_moves(moved, FLAT_SD_MM, 0.7)

    assert {m.mark: pytest.approx(m.by_mm, abs=1e-5) for m in here} == {
        m.mark: m.by_mm for m in there
    }


def test_the_mirror_image_moves_toward_the_mirrored_edge() -> None:
    marks = [(0.0, 25.0), (7.0, -15.0), (0.0, -20.0)]
    mirror = [(-x, y) for x, y in marks]
    swap = {"left": "right", "right": "left", "front": "front", "back": "back"}

    here = [(m.mark, swap[m.toward or ""]) for m in moves_toward_edges(marks, 0.2, 0.7)]

    assert here
    assert here == [(m.mark, m.toward) for m in moves_toward_edges(mirror, 0.2, 0.7)]


def test_marks_that_hold_finely_enough_stay() -> None:
    assert () == moves_toward_edges(LOW, 0.01, 0.7) == shortest_moves(LOW, 0.01, 0.7)


def test_what_no_mark_reaches_gives_no_advice() -> None:
    assert () == moves_toward_edges(LOW, 0.2, 0.05)
    assert () == shortest_moves(LOW, 0.2, 0.7, most_mm=3.0)


def test_a_fourth_mark_is_moved_too() -> None:
    marks = [*LOW, (0.0, -3.0)]

    moves = shortest_moves(marks, 0.2, 0.7)

    assert {0, 3} <= {move.mark for move in moves}


def test_the_first_move_agrees_with_a_search_over_all_ways() -> None:
    move = shortest_moves(FLAT_MARKS, FLAT_SD_MM, 0.7)[0]

    def by_mm(way_deg: float) -> float:
        steps = np.arange(0, 40, 0.02)
        held = [worst_after_deg(list(FLAT_MARKS), move.mark, way_deg, by) for by in steps[::10]]
        return next((by for by, deg in zip(steps[::10], held, strict=True) if deg <= 0.7), 99.0)

    found = minimize_scalar(by_mm, bounds=(60, 120), method="bounded")

    assert pytest.approx(found.fun, abs=0.21) == move.by_mm


@pytest.mark.parametrize("marks", [4, 5, 6])
def test_the_residual_limit_is_the_one_of_chi_square(marks: int) -> None:
    spare = marks - 3

    limit_mm = residual_limit_mm(0.2, marks)

    assert pytest.approx(0.2 * (chi2.ppf(0.95, spare) / spare) ** 0.5, rel=1e-3) == limit_mm


def test_the_residual_of_four_marks_stays_below_its_limit_95_times_of_100() -> None:
    chance = np.random.default_rng(2)
    marks = ((0.0, 22.0), (23.0, -14.0), (-23.0, -14.0), (0.0, 0.0))
    limit_mm = residual_limit_mm(0.1, 4)

    residuals = [tilt_off(marks, list(chance.normal(0, 0.1, 4))).residual_mm for _ in range(4000)]

    assert limit_mm is not None
    below = sum((residual or 0.0) <= limit_mm for residual in residuals) / 4000
    assert pytest.approx(0.95, abs=0.015) == below


def test_three_marks_have_no_residual_and_two_are_too_few() -> None:
    assert residual_limit_mm(0.2, 3) is None
    with pytest.raises(TooFewMarks):
        residual_limit_mm(0.2, 2)


@pytest.mark.parametrize(("sd_mm", "wanted_deg"), [(0.0, 0.5), (0.1, 0.0), (float("nan"), 0.5)])
def test_a_fineness_that_is_none_is_refused(sd_mm: float, wanted_deg: float) -> None:
    with pytest.raises(BadFineness):
        shortest_moves(LOW, sd_mm, wanted_deg)


def test_a_move_says_where_the_mark_goes() -> None:
    move = moves_toward_edges(LOW, 0.2, 0.7)[0]

    assert pytest.approx(move.by_mm) == hypot(
        move.to_mm[0] - LOW[move.mark][0], move.to_mm[1] - LOW[move.mark][1]
    )
