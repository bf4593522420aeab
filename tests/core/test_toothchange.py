"""The least change of teeth within a polygon of tilts."""

from __future__ import annotations

import random
from math import radians

import numpy as np
import pytest

from bench.core.polygon import clipped, square
from bench.core.strips import Place, place_of
from bench.core.tilt import Tilt
from bench.core.toothchange import (
    BadPlane,
    GuidePlane,
    angle_at_deg,
    cost_mm2,
    least_change,
    pulls_of,
    slope_at,
)
from tests.core.test_polygon import side


def test_the_sum_is_weight_times_height_times_angle_squared() -> None:
    planes = [GuidePlane("34D", 270.0, 4.0, 3.0, weight=2.0), GuidePlane("44D", 270.0, -2.0, 5.0)]

    cost = cost_mm2(pulls_of(planes, 0.5), place_of(Tilt(1.0, 0.0)))

    expected = 2 * (3 * radians(3)) ** 2 + (5 * radians(-3)) ** 2 + 0.5 * radians(1) ** 2
    assert pytest.approx(expected) == cost


def test_the_slope_is_the_one_of_small_steps() -> None:
    pulls = pulls_of([GuidePlane("34D", 250.0, 4.0, 3.0), GuidePlane("44D", 300.0, -9.0, 5.0)], 0.1)
    step = 1e-6

    slope = slope_at(pulls, Place(0.1, -0.2))

    along = cost_mm2(pulls, Place(0.1 + step, -0.2)) - cost_mm2(pulls, Place(0.1 - step, -0.2))
    across = cost_mm2(pulls, Place(0.1, -0.2 + step)) - cost_mm2(pulls, Place(0.1, -0.2 - step))
    assert pytest.approx((along / 2 / step, across / 2 / step), rel=1e-6) == slope


def test_no_place_of_a_fine_grid_asks_for_less() -> None:
    chance = random.Random(4)
    for _ in range(20):
        planes = [
            GuidePlane(str(n), chance.uniform(0, 360), chance.uniform(-20, 20), 3.0)
            for n in range(chance.randint(0, 4))
        ]
        turns = [chance.uniform(0, 2 * np.pi) for _ in range(3)]
        polygon = clipped(square(0.25), [side(np.cos(t), np.sin(t), -0.03) for t in turns])
        pulls = pulls_of(planes, 0.01)

        best = cost_mm2(pulls, least_change(polygon, pulls))

        grid = [
            Place(x, y) for x in np.linspace(-0.25, 0.25, 41) for y in np.linspace(-0.25, 0.25, 41)
        ]
        within = [p for p in grid if all(np.cos(t) * p.x + np.sin(t) * p.y >= -0.03 for t in turns)]
        assert best <= min(cost_mm2(pulls, place) for place in within) + 1e-12


def test_an_angle_counts_from_the_setting_of_its_reading() -> None:
    plane = GuidePlane("34D", 270.0, 4.0, 3.0, read_at=Tilt(2.0, 0.0))

    assert pytest.approx(3.0) == angle_at_deg(plane, Tilt(3.0, 0.0))


@pytest.mark.parametrize(
    "plane",
    [
        GuidePlane("34D", 0.0, 85.0, 3.0),
        GuidePlane("34D", 0.0, 4.0, 0.0),
        GuidePlane("34D", 0.0, 4.0, 3.0, weight=-1.0),
        GuidePlane("34D", 0.0, float("nan"), 3.0),
    ],
)
def test_a_plane_that_cannot_be_weighed_is_refused(plane: GuidePlane) -> None:
    with pytest.raises(BadPlane, match="34D"):
        pulls_of([plane], 0.01)
