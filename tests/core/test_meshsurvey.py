"""The estimates of tilting beside a survey of meshed bodies."""

from __future__ import annotations

from collections.abc import Callable
from math import asin, cos, degrees, pi, radians, sin

import numpy as np
import pytest
import trimesh

from bench.core.finder import find_tilt
from bench.core.strips import WishedSite
from bench.core.tilt import LEVEL, Tilt, path_of_insertion
from bench.core.undercut import drop_for_mm, plane_after_deg, turn_deg, undercut_after
from tests.core.meshsurvey import (
    Mark,
    ball,
    depth_of,
    ellipsoid,
    mark_on,
    outline,
    ring,
    tooth,
)

# degrees of tilt, and the most in mm by which the estimate of a depth is off: our own measure on
# these bodies, at eight sides, two depths and twelve directions of tilt.
BALL = ((2, 0.004), (5, 0.010), (10, 0.030))
ELLIPSOID = ((2, 0.004), (5, 0.014), (10, 0.050))
RING = ((2, 0.002), (5, 0.003), (10, 0.010))
TOOTH = ((2, 0.010), (5, 0.040), (10, 0.130))


def marks_on(mesh: trimesh.Trimesh) -> list[Mark]:
    return [mark_on(mesh, side, depth) for side in range(10, 360, 45) for depth in (0.25, 0.50)]


def tilts_of(size_deg: float) -> list[Tilt]:
    ways = (k * pi / 6 for k in range(12))
    return [Tilt(size_deg * cos(way), size_deg * sin(way)) for way in ways]


def estimated_mm(mark: Mark, tilt: Tilt) -> float:
    turned_deg = turn_deg(mark.azimuth_deg, tilt)
    return undercut_after(mark.gauge_mm, mark.drop_mm, turned_deg).depth_mm


@pytest.mark.parametrize(
    ("body", "allowed"), [(ball, BALL), (ellipsoid, ELLIPSOID), (ring, RING), (tooth, TOOTH)]
)
def test_the_estimated_depth_is_near_the_surveyed_one(
    body: Callable[[], trimesh.Trimesh], allowed: tuple[tuple[int, float], ...]
) -> None:
    mesh = body()
    marks = marks_on(mesh)
    for size_deg, most_mm in allowed:
        errors = []
        for tilt in tilts_of(size_deg):
            lines = outline(mesh, tilt)
            for mark in marks:
                surveyed_mm = max(0.0, depth_of(lines, mark.place, tilt))
                errors.append(abs(estimated_mm(mark, tilt) - surveyed_mm))

        assert max(errors) < most_mm


@pytest.mark.parametrize("depth_mm", [0.25, 0.50, 0.75])
def test_the_drop_to_a_depth_on_a_meshed_ball_is_the_one_of_a_circle(depth_mm: float) -> None:
    mark = mark_on(ball(), 10.0, depth_mm)

    assert pytest.approx(drop_for_mm(depth_mm, 4.0), abs=0.005) == mark.drop_mm


@pytest.mark.parametrize(("size_deg", "most_deg"), [(2, 0.005), (5, 0.025), (10, 0.09)])
def test_the_angle_of_a_tapered_wall_is_near_the_one_of_its_mesh(
    size_deg: float, most_deg: float
) -> None:
    block = trimesh.creation.box([8.0, 8.0, 6.0])
    lower = block.vertices[:, 2] < 0
    block.vertices[lower, :2] *= 1 - 6 * np.tan(radians(5.0)) / 4
    errors = []
    for normal in block.face_normals[np.abs(block.face_normals[:, 2]) < 0.5]:
        azimuth_deg = degrees(np.arctan2(normal[1], normal[0]))
        alpha_deg = degrees(asin(-normal[2]))
        for tilt in tilts_of(size_deg):
            expected = degrees(asin(-float(normal @ path_of_insertion(tilt))))
            after = plane_after_deg(alpha_deg, turn_deg(azimuth_deg, tilt))
            errors.append(abs(after - expected))

    assert len(errors) == 8 * 12
    assert max(errors) < most_deg


def test_the_tilt_found_gives_meshed_teeth_what_was_wished() -> None:
    mesh = tooth()
    marks = [mark_on(mesh, side, 0.20) for side in (60.0, 140.0)]
    sites = [
        WishedSite(f"site {n}", mark.azimuth_deg, mark.gauge_mm, mark.drop_mm, 0.30)
        for n, mark in enumerate(marks)
    ]

    found = find_tilt(sites)
    lines = outline(mesh, found.tilt)

    assert found.feasible
    assert found.tilt != LEVEL
    for mark in marks:
        assert pytest.approx(0.30, abs=0.03) == depth_of(lines, mark.place, found.tilt)
