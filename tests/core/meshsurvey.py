"""A survey by numbers: meshed bodies on the table, their outline from above, and marks on them."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

import numpy as np
import trimesh
from scipy.spatial import ConvexHull

from bench.core.tilt import LEVEL, Tilt, path_of_insertion

Points = np.ndarray
AXES_MM = (5.2, 4.4)


@dataclass(frozen=True)
class Mark:
    """A mark on a body: its place, depth by the gauge, drop, and where the outline faces there."""

    place: Points
    gauge_mm: float
    drop_mm: float
    azimuth_deg: float


def ball(radius_mm: float = 4.0) -> trimesh.Trimesh:
    """Return a sphere."""
    return trimesh.creation.icosphere(subdivisions=5, radius=radius_mm)


def ellipsoid() -> trimesh.Trimesh:
    """Return a body of half axes 5, 4 and 6 mm."""
    return ball(1.0).apply_scale([5.0, 4.0, 6.0])


def ring() -> trimesh.Trimesh:
    """Return a torus of 7 mm outside, its tube 3 mm thick half-way."""
    return trimesh.creation.torus(4.0, 3.0, major_sections=128, minor_sections=128)


def tooth() -> trimesh.Trimesh:
    """Return a body like a molar's crown: squarish, flatter above, longer below, leaning 4 degrees."""
    mesh = ball(1.0)
    x, y, z = mesh.vertices.T
    squarish = (np.abs(x) ** 2.6 + np.abs(y) ** 2.6 + np.abs(z) ** 2.6) ** (-1 / 2.6)
    high = np.where(z > 0, 3.4, 5.6)
    mesh.vertices = np.column_stack([x * AXES_MM[0], y * AXES_MM[1], z * high]) * squarish[:, None]
    return mesh.apply_transform(trimesh.transformations.rotation_matrix(radians(4), [1, 2, 0]))


def seen_along(points: Points, tilt: Tilt) -> Points:
    """Return points as seen along the path of insertion: across, along, and height last."""
    up = np.array(path_of_insertion(tilt))
    across = np.cross([0.0, 1.0, 0.0], up)
    across /= np.linalg.norm(across)
    return points @ np.column_stack([across, np.cross(up, across), up])


def outline(mesh: trimesh.Trimesh, tilt: Tilt) -> Points:
    """Return the lines (x, y, off) of a round body's outline seen along the path."""
    return ConvexHull(seen_along(mesh.vertices, tilt)[:, :2]).equations


def depth_of(lines: Points, place: Points, tilt: Tilt) -> float:
    """Return how far a place lies inside an outline."""
    flat = seen_along(place, tilt)[:2]
    return float(-np.max(lines[:, :2] @ flat + lines[:, 2]))


def mark_on(mesh: trimesh.Trimesh, toward_deg: float, depth_mm: float) -> Mark:
    """Return the mark of a depth below the survey line, in the upright section toward a side."""
    way = np.array([cos(radians(toward_deg)), sin(radians(toward_deg)), 0.0])
    normal = [-way[1], way[0], 0.0]
    section = trimesh.intersections.mesh_plane(mesh, normal, [0.0, 0.0, 0.0]).reshape(-1, 3)
    reach = section @ way
    side = section[reach > 0.6 * reach.max()]
    side = side[np.argsort(side[:, 2])]
    lines = outline(mesh, LEVEL)
    top = int(np.argmax(side @ way))
    depths = np.array([depth_of(lines, place, LEVEL) for place in side[:top]])
    n = int(np.flatnonzero(depths > depth_mm)[-1])
    share = (depths[n] - depth_mm) / (depths[n] - depths[n + 1])
    place = side[n] + share * (side[n + 1] - side[n])
    nearest = lines[int(np.argmax(lines[:, :2] @ place[:2] + lines[:, 2]))]
    azimuth_deg = float(np.degrees(np.arctan2(nearest[1], nearest[0])))
    line_mm = height_of_line(mesh, azimuth_deg)
    return Mark(place, depth_of(lines, place, LEVEL), line_mm - place[2], azimuth_deg)


def height_of_line(mesh: trimesh.Trimesh, azimuth_deg: float) -> float:
    """Return the height of the survey line where the outline faces a side."""
    way = [cos(radians(azimuth_deg)), sin(radians(azimuth_deg)), 0.0]
    far = mesh.vertices @ way
    near = far > far.max() - 0.004
    return float(np.mean(mesh.vertices[near][:, 2]))
