from __future__ import annotations

from math import dist

import pytest

from bench.core.tripod import how_finely_held, triangle_from
from bench.core.widening import weak_way, wider
from tests.facts.tripod_figures import EQUILATERAL, FLAT


def test_a_flat_triangle_rocks_about_its_long_side() -> None:
    sides, reading_sd_mm, _ = FLAT
    found = weak_way(triangle_from(*sides), reading_sd_mm)

    assert ("A", "B") == found.side
    assert "C" == found.facing


def test_moving_the_named_mark_out_by_the_named_length_reaches_the_limit() -> None:
    (d_ab_mm, d_ac_mm, d_bc_mm), reading_sd_mm, weak_deg = FLAT
    triangle = triangle_from(d_ab_mm, d_ac_mm, d_bc_mm)
    found = wider(triangle, reading_sd_mm, 0.5)
    assert found is not None

    x, y = triangle.marks_mm[2]
    moved = ((0.0, 0.0), (d_ab_mm, 0.0), (x, y + found.by_mm))
    again = triangle_from(dist(*moved[:2]), dist(moved[0], moved[2]), dist(*moved[1:]))

    assert how_finely_held(again.marks_mm, reading_sd_mm).worst_deg == pytest.approx(
        found.worst_deg
    )
    assert found.worst_deg <= 0.5 < weak_deg


def test_a_triangle_inside_the_limit_needs_no_mark_moved() -> None:
    side_mm, reading_sd_mm, sd_deg, _ = EQUILATERAL[0]
    triangle = triangle_from(side_mm, side_mm, side_mm)

    assert wider(triangle, reading_sd_mm, sd_deg + 0.001) is None


def test_a_limit_out_of_reach_names_no_mark() -> None:
    assert wider(triangle_from(20.0, 20.0, 20.0), 1.0, 0.05) is None
