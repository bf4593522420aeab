"""Outlines of teeth seen from above, drawn from numbers of our own and turned into their place."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

from bench.core.arch import ToothPlace, Vector
from bench.core.teeth import position_of

Points = tuple[Vector, ...]

# Halves of an outline in (distal, outward) shares of half the crown's two sizes: mesial is -1.
_INCISOR: Points = (
    (-0.93, 0.52), (-0.52, 0.93), (0.0, 1.0), (0.52, 0.93), (0.93, 0.52),
    (0.72, -0.28), (0.36, -0.86), (0.0, -1.0), (-0.36, -0.86), (-0.72, -0.28),
)  # fmt: skip
_CANINE: Points = (
    (-0.96, 0.18), (-0.58, 0.74), (0.0, 1.0), (0.58, 0.74), (0.96, 0.18),
    (0.74, -0.42), (0.38, -0.88), (0.0, -1.0), (-0.38, -0.88), (-0.74, -0.42),
)  # fmt: skip
_PREMOLAR: Points = (
    (-0.96, 0.28), (-0.68, 0.84), (0.0, 1.0), (0.68, 0.84), (0.96, 0.28),
    (0.89, -0.36), (0.58, -0.88), (0.0, -1.0), (-0.58, -0.88), (-0.89, -0.36),
)  # fmt: skip
_MOLAR: Points = (
    (-0.97, 0.34), (-0.80, 0.84), (-0.38, 0.99), (0.0, 0.93), (0.38, 0.98), (0.79, 0.82),
    (0.95, 0.30), (0.94, -0.32), (0.77, -0.84), (0.36, -0.97), (0.0, -0.92), (-0.38, -0.98),
    (-0.80, -0.85), (-0.98, -0.32),
)  # fmt: skip
_RIDGES: dict[str, tuple[Points, ...]] = {
    "incisor": (((-0.62, 0.42), (0.0, 0.5), (0.62, 0.42)),),
    "canine": (((-0.6, 0.25), (0.0, 0.55), (0.6, 0.25)),),
    "premolar": (
        ((-0.5, -0.62), (0.0, -0.5), (0.5, -0.62)),
        ((-0.5, 0.62), (0.0, 0.54), (0.5, 0.62)),
    ),
    "molar": (
        ((0.0, 0.9), (0.0, 0.5)),
        ((0.0, -0.9), (0.0, -0.5)),
        ((-0.92, 0.0), (-0.55, 0.0)),
        ((0.9, 0.0), (0.55, 0.0)),
    ),
}
_SHAPES = {"incisor": _INCISOR, "canine": _CANINE, "premolar": _PREMOLAR, "molar": _MOLAR}
_SHRUNK = 0.955
_TENSION = 1 / 6


def kind_of(tooth: int) -> str:
    """Return incisor, canine, premolar or molar."""
    position = position_of(tooth)
    if position <= 2:
        return "incisor"
    return "canine" if position == 3 else "premolar" if position <= 5 else "molar"


def on_cast(place: ToothPlace, along: float, across: float) -> Vector:
    """Return a point in mm from shares of half the crown: `along` distally, `across` outward."""
    u, v = along * place.width_mm / 2, across * place.depth_mm / 2
    x = place.x_mm + u * place.distal[0] + v * place.outward[0]
    return x, place.y_mm + u * place.distal[1] + v * place.outward[1]


def outline(place: ToothPlace, scale: float = 1.0) -> Points:
    """Return the corner points in mm of an outline, to be joined by a smooth closed curve."""
    share = _SHRUNK * scale
    return tuple(on_cast(place, u * share, v * share) for u, v in _SHAPES[kind_of(place.tooth)])


def ridges(place: ToothPlace) -> tuple[Points, ...]:
    """Return the few strokes in mm that hint at the biting surface."""
    drawn = _RIDGES[kind_of(place.tooth)]
    return tuple(tuple(on_cast(place, u, v) for u, v in stroke) for stroke in drawn)


def handles(points: Points) -> tuple[tuple[Vector, Vector, Vector], ...]:
    """Return the two handles and the end of each cubic piece of the closed curve through points.

    Uniform Catmull-Rom in Bezier form: handles at a sixth of the chord of the two neighbours.
    """
    count = len(points)
    return tuple(
        _piece(points[n - 1], points[n], points[(n + 1) % count], points[(n + 2) % count])
        for n in range(count)
    )


@lru_cache(maxsize=512)
def sampled(points: Points, pieces: int = 4) -> Points:
    """Return a polygon in mm that follows the smooth closed curve through points."""
    starts = zip(points, handles(points), strict=True)
    steps = tuple(n / pieces for n in range(pieces))
    return tuple(_at(start, *piece, step) for start, piece in starts for step in steps)


def inside(polygon: Points, point: Vector) -> bool:
    """Say whether a point lies within a polygon (even-odd rule)."""
    x, y = point
    closed = (*polygon, polygon[0])
    return sum(_crosses(a, b, x, y) for a, b in pairwise(closed)) % 2 == 1


def _crosses(a: Vector, b: Vector, x: float, y: float) -> bool:
    if (a[1] > y) == (b[1] > y):
        return False
    return x < a[0] + (y - a[1]) * (b[0] - a[0]) / (b[1] - a[1])


def _piece(
    before: Vector, start: Vector, end: Vector, after: Vector
) -> tuple[Vector, Vector, Vector]:
    first = tuple(s + (e - b) * _TENSION for b, s, e in zip(before, start, end, strict=True))
    second = tuple(e - (a - s) * _TENSION for s, e, a in zip(start, end, after, strict=True))
    return (first[0], first[1]), (second[0], second[1]), end


def _at(start: Vector, first: Vector, second: Vector, end: Vector, t: float) -> Vector:
    weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
    corners = (start, first, second, end)
    x = sum(w * c[0] for w, c in zip(weights, corners, strict=True))
    return x, sum(w * c[1] for w, c in zip(weights, corners, strict=True))
