"""The plane of the label in a photo: from places on the picture to millimetres and back.

Picture: pixels, (0, 0) the outer corner of the top-left one, x right, y down. Plane: mm, zero in the
middle of the label's square, X right along its top edge, Y down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import acos, degrees, dist, fsum, isfinite, sqrt

from bench.core.arch import Vector
from bench.core.refusal import Refusal
from bench.core.tripod import Sense, turning_sense

Corners = tuple[Vector, Vector, Vector, Vector]
Grid = tuple[float, float, float, float, float, float, float, float, float]
Space = tuple[float, float, float]
Three = tuple[float, float, float]

LEAST_SIDE_PX = 8.0
LEAST_CAMERA_MM = 60.0


class BadSquare(Refusal):
    """Four corners that no square laid flat can show."""

    code = "bad_square"
    what = "The four corners of the label make no square."
    why = "Seen by a camera they go once round, none inside the others, {least_px} pixels apart or more."
    what_to_do = "Place the corners again: top left, top right, bottom right, bottom left."


class BeyondThePlane(Refusal):
    """A place on the picture at or above the horizon of the label's plane."""

    code = "beyond_the_plane"
    what = "The place {x_px}, {y_px} lies beyond the plane of the label."
    why = "A label seen this steeply has no millimetres there."
    what_to_do = "Take the photo from straight above."


class TooNear(Refusal):
    """Marks higher than the camera that is said to have seen them."""

    code = "too_near"
    what = "The camera would be {camera_mm} mm above the label and the marks {dh_mm} mm."
    why = "Marks lie well below the camera."
    what_to_do = "Check the height difference, and whether the label has the size that was set."


@dataclass(frozen=True)
class Plane:
    """Both ways between a label's plane (mm) and the picture (pixels), as grids of three by three."""

    to_px: Grid
    to_mm: Grid

    def px_of(self, place_mm: Vector) -> Vector:
        """Return where a place of the plane is seen, in pixels. Raises BeyondThePlane."""
        return _through(self.to_px, place_mm)

    def mm_of(self, place_px: Vector) -> Vector:
        """Return where on the plane a place of the picture lies, in mm. Raises BeyondThePlane."""
        return _through(self.to_mm, place_px)


@dataclass(frozen=True)
class Camera:
    """Where the picture was taken from: mm above the label's plane, degrees from straight down."""

    height_mm: float
    tilt_deg: float
    place_mm: Vector


def plane_from(corners_px: Sequence[Vector], label_mm: float) -> Plane:
    """Return the plane in which four corners (from top left, clockwise) are a square of this side.

    Corners that go round the other way are a mirrored picture: the plane still holds. Raises
    BadSquare. Source: the projective map of a unit square onto four points, in closed form.
    """
    if len(corners_px) != 4 or not all(isfinite(n) for corner in corners_px for n in corner):
        raise BadSquare(least_px=LEAST_SIDE_PX)
    _require_a_view_of_a_square(corners_px)
    to_px = _product(_unit_square_to(corners_px), _unit_of(label_mm))
    return Plane(to_px, _inverse(to_px))


def mirrored(corners_px: Sequence[Vector]) -> bool:
    """Return whether the corners go round against the clock, as in a mirrored picture."""
    return _turn(corners_px[0], corners_px[1], corners_px[2]) < 0


def camera_of(plane: Plane, focal_px: float, width_px: float, height_px: float) -> Camera:
    """Return where the camera was, for square pixels and its axis through the picture's middle.

    Source: the columns of the map from plane to picture are the camera's view of the plane's two
    axes and of its zero (the pinhole camera).
    """
    first, second, zero = _columns_seen(plane.to_px, focal_px, (width_px / 2, height_px / 2))
    scale = 1 / sqrt(_length(first) * _length(second))
    x_axis, y_axis = _unit(first), _unit(second)
    normal = _unit(_cross(x_axis, y_axis))
    place = tuple(-scale * _dot(axis, zero) for axis in (x_axis, y_axis))
    return Camera(
        height_mm=abs(scale * _dot(normal, zero)),
        tilt_deg=degrees(acos(min(1.0, abs(normal[2])))),
        place_mm=(place[0], place[1]),
    )


def height_factor(camera_mm: float, dh_mm: float) -> float:
    """Return by what to multiply lengths seen on the label's plane when they lie higher by `dh_mm`.

    Exact for marks at one height, wherever the camera stands. Raises TooNear.
    """
    if camera_mm - dh_mm < LEAST_CAMERA_MM and dh_mm:
        raise TooNear(camera_mm=round(camera_mm, 1), dh_mm=dh_mm)
    return (camera_mm - dh_mm) / camera_mm


def places_mm(plane: Plane, marks_px: Sequence[Vector], factor: float = 1.0) -> tuple[Vector, ...]:
    """Return marks in mm, true to each other at their own height (`factor` of `height_factor`)."""
    seen = (plane.mm_of(mark) for mark in marks_px)
    return tuple((x * factor, y * factor) for x, y in seen)


def distances_mm(marks_mm: Sequence[Vector]) -> Three:
    """Return the distances AB, AC and BC of three marks."""
    a, b, c = marks_mm
    return dist(a, b), dist(a, c), dist(b, c)


def sense_from_above(marks_mm: Sequence[Vector]) -> Sense:
    """Return the way round from A by B to C seen from above; the plane's Y points down."""
    a, b, c = ((x, -y) for x, y in marks_mm)
    return turning_sense(a, b, c)


def _require_a_view_of_a_square(corners: Sequence[Vector]) -> None:
    around = [(corners[i - 2], corners[i - 1], corners[i]) for i in range(4)]
    turns = [_turn(*three) for three in around]
    short = min(dist(one, other) for one, other, _ in around) < LEAST_SIDE_PX
    flat = min(map(abs, turns)) < LEAST_SIDE_PX**2 / 4
    if short or flat or len({turn > 0 for turn in turns}) > 1:
        raise BadSquare(least_px=LEAST_SIDE_PX)


def _unit_square_to(corners: Sequence[Vector]) -> Grid:
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = corners
    dx1, dx2, dx3 = x1 - x2, x3 - x2, x0 - x1 + x2 - x3
    dy1, dy2, dy3 = y1 - y2, y3 - y2, y0 - y1 + y2 - y3
    below = dx1 * dy2 - dx2 * dy1
    g, h = (dx3 * dy2 - dx2 * dy3) / below, (dx1 * dy3 - dx3 * dy1) / below
    across = (x1 - x0 + g * x1, x3 - x0 + h * x3, x0)
    down = (y1 - y0 + g * y1, y3 - y0 + h * y3, y0)
    return (*across, *down, g, h, 1.0)


def _unit_of(label_mm: float) -> Grid:
    return (1 / label_mm, 0.0, 0.5, 0.0, 1 / label_mm, 0.5, 0.0, 0.0, 1.0)


def _product(one: Grid, other: Grid) -> Grid:
    cells = [
        fsum(one[3 * row + k] * other[3 * k + column] for k in range(3))
        for row in range(3)
        for column in range(3)
    ]
    return _grid(cells)


def _inverse(grid: Grid) -> Grid:
    """Return the adjugate, turned so that places before the camera keep a positive weight."""
    a, b, c, d, e, f, g, h, i = grid
    adjugate = (
        e * i - f * h, c * h - b * i, b * f - c * e,
        f * g - d * i, a * i - c * g, c * d - a * f,
        d * h - e * g, b * g - a * h, a * e - b * d,
    )  # fmt: skip
    determinant = a * adjugate[0] + b * adjugate[3] + c * adjugate[6]
    return _grid([cell / determinant for cell in adjugate])


def _grid(cells: Sequence[float]) -> Grid:
    a, b, c, d, e, f, g, h, i = cells
    return a, b, c, d, e, f, g, h, i


def _through(grid: Grid, place: Vector) -> Vector:
    x, y = place
    weight = grid[6] * x + grid[7] * y + grid[8]
    if not weight > 1e-12:
        raise BeyondThePlane(x_px=round(x, 1), y_px=round(y, 1))
    across = grid[0] * x + grid[1] * y + grid[2]
    return across / weight, (grid[3] * x + grid[4] * y + grid[5]) / weight


def _columns_seen(grid: Grid, focal_px: float, middle_px: Vector) -> tuple[Space, Space, Space]:
    first, second, zero = ((grid[k], grid[k + 3], grid[k + 6]) for k in range(3))

    def seen(column: Space) -> Space:
        x, y, w = column
        return (x - middle_px[0] * w) / focal_px, (y - middle_px[1] * w) / focal_px, w

    return seen(first), seen(second), seen(zero)


def _cross(one: Space, other: Space) -> Space:
    (a, b, c), (d, e, f) = one, other
    return b * f - c * e, c * d - a * f, a * e - b * d


def _dot(one: Space, other: Space) -> float:
    return fsum(a * b for a, b in zip(one, other, strict=True))


def _length(space: Space) -> float:
    return sqrt(_dot(space, space))


def _unit(space: Space) -> Space:
    length = _length(space)
    return space[0] / length, space[1] / length, space[2] / length


def _turn(a: Vector, b: Vector, c: Vector) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
