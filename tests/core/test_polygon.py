"""Convex polygons cut by straight sides."""

from __future__ import annotations

import random
from math import cos, pi, sin

import numpy as np
from scipy.optimize import linprog

from bench.core.polygon import CutSide, MadeBy, Polygon, clipped, holds, square

SITE = MadeBy("34MB", "least")


def side(x: float, y: float, least: float, name: str = "34MB") -> CutSide:
    return CutSide(x, y, least, MadeBy(name, "least"))


def area(polygon: Polygon) -> float:
    pairs = zip(polygon, (*polygon[1:], *polygon[:1]), strict=True)
    return sum(a.x * b.y - b.x * a.y for a, b in pairs) / 2


def test_the_limits_make_a_square_with_each_edge_named() -> None:
    limits = square(1.0)

    assert 4.0 == area(limits)
    assert ["left", "front", "right", "back"] == [corner.made_by.name for corner in limits]


def test_a_side_cuts_a_piece_off_and_names_the_new_edge() -> None:
    left = clipped(square(1.0), [side(1, 0, 0.5)])

    assert 1.0 == area(left)
    (new,) = [n for n, corner in enumerate(left) if corner.made_by == SITE]
    assert (0.5, 0.5) == (left[new].x, left[(new + 1) % 4].x)


def test_a_side_that_touches_nothing_changes_nothing() -> None:
    assert square(1.0) == clipped(square(1.0), [side(1, 0, -1.5)])


def test_sides_that_exclude_each_other_leave_nothing() -> None:
    assert () == clipped(square(1.0), [side(1, 0, 0.5), side(-1, 0, -0.4)])


def test_sides_on_one_line_leave_that_line() -> None:
    line = clipped(square(1.0), [side(1, 0, 0.5), side(-1, 0, -0.5)])

    assert [0.5, 0.5] == [corner.x for corner in line]
    assert [-1.0, 1.0] == sorted(corner.y for corner in line)


def test_three_sides_through_a_corner_leave_a_point() -> None:
    point = clipped(square(1.0), [side(1, 1, 2)])

    assert [(1.0, 1.0)] == [(corner.x, corner.y) for corner in point]
    assert point == clipped(point, [side(1, 0, 0.5)])
    assert () == clipped(point, [side(-1, 0, -0.5)])


def test_a_place_is_held_inside_and_on_the_edge_alone() -> None:
    limits = square(1.0)

    assert holds(limits, 0.3, -0.9)
    assert holds(limits, 1.0, 0.0)
    assert not holds(limits, 1.001, 0.0)


def test_a_tiny_polygon_holds_nothing_far_away() -> None:
    tiny = clipped(square(1.0), [side(1, 0, 0.5), side(-1, 0, -0.5 - 1e-9), side(0, 1, 1 - 1e-9)])

    assert 4 == len(tiny)
    assert not holds(tiny, 0.5, 0.9)
    assert not holds(tiny, 0.501, 1.0)


def test_a_linear_programme_agrees_on_what_is_left() -> None:
    chance = random.Random(3)
    empty = 0
    for _ in range(300):
        turns = [chance.uniform(0, 2 * pi) for _ in range(chance.randint(2, 12))]
        sides = [side(cos(t), sin(t), chance.uniform(-0.6, 0.3)) for t in turns]

        left = clipped(square(1.0), sides)
        rows = -np.array([[s.x, s.y] for s in sides])
        bounds = [(-1, 1), (-1, 1)]
        asked = linprog([0, 0], rows, [-s.least for s in sides], bounds=bounds)

        empty += not left
        assert (asked.status == 0) == bool(left)
        assert all(s.x * c.x + s.y * c.y >= s.least - 1e-9 for c in left for s in sides)
    assert 30 < empty < 270
