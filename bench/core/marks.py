"""Which tripod mark to move, and how far, so that the marks hold a tilt more finely.

Moving one mark adds to the spread of the others, S, along its way r from their middle:
S + (n-1)/n·r·rᵀ. The worst axis then holds as wished where the lesser eigenvalue of that sum
reaches (SD of a reading / SD wished)². Along a straight way this is a quadratic equation; over all
ways the nearest place lies on a hyperbola. Source: least squares; derived.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import asinh, atan2, cos, cosh, degrees, hypot, isfinite, radians, sin, sinh, sqrt

from bench.core.arch import Vector
from bench.core.refusal import Refusal
from bench.core.tilt import Edge
from bench.core.tripod import (
    CollinearMarks,
    Marks,
    TooFewMarks,
    centred,
    how_finely_held,
    spread_mm2,
)

MOST_MOVE_MM = 30.0
# Upper 5 % points of chi-square over 1, 2, 3 degrees of freedom, each over its degrees.
# Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4.
_ODD_SQUARE = (3.841, 5.991 / 2, 7.815 / 3)
_WAYS: tuple[tuple[Edge, Vector], ...] = (
    ("front", (0.0, 1.0)),
    ("back", (0.0, -1.0)),
    ("right", (1.0, 0.0)),
    ("left", (-1.0, 0.0)),
)
_THIRDS = 90


class BadFineness(Refusal):
    """A reading SD or a wished SD that is no SD."""

    code = "bad_fineness"
    what = "A reading SD of {reading_sd_mm} mm and {wanted_deg} degrees wished were not taken."
    why = "Both must be more than nothing."
    what_to_do = "Give the SD of one height reading in mm and the SD wished in degrees."


@dataclass(frozen=True)
class Move:
    """One mark moved: which (0 is the first), how far, which way, and what the marks then hold.

    `azimuth_deg` counts from +X (viewer's right) toward +Y (anterior); `toward` is the edge of the
    cast it leads to where the way is straight, else None. `holds_deg` is the worst-axis SD.
    """

    mark: int
    by_mm: float
    azimuth_deg: float
    toward: Edge | None
    to_mm: Vector
    holds_deg: float


@dataclass(frozen=True)
class _Goal:
    """What one mark must reach: others' middle and axes, in turned coordinates, and r0 there."""

    middle: Vector
    turn: float
    strong: float
    weak: float
    share: float
    at: Vector


def moves_toward_edges(
    marks_mm: Marks, reading_sd_mm: float, wanted_deg: float, most_mm: float = MOST_MOVE_MM
) -> tuple[Move, ...]:
    """Return each mark's shortest move straight to an edge that holds as wished, shortest first.

    Marks in the frame of the cast, three or more. `wanted_deg` is the SD wished of the worst axis.
    Empty when the marks hold as finely already, or no mark reaches it within `most_mm`. Exact.
    Raises TooFewMarks, CollinearMarks or BadFineness.
    """
    return _moves(marks_mm, reading_sd_mm, wanted_deg, most_mm, _straight)


def shortest_moves(
    marks_mm: Marks, reading_sd_mm: float, wanted_deg: float, most_mm: float = MOST_MOVE_MM
) -> tuple[Move, ...]:
    """Return each mark's shortest move of all that holds as wished, shortest first.

    As `moves_toward_edges`, in any direction: for marks whose place on the cast is not known.
    """
    return _moves(marks_mm, reading_sd_mm, wanted_deg, most_mm, _nearest)


def residual_limit_mm(reading_sd_mm: float, marks: int) -> float | None:
    """Return the residual (mm) that 95 of 100 re-mounts of four to six marks stay below.

    None with three marks, which always fit: a fourth lets each re-mount check itself. A residual
    beyond says that a mark was misread or rubbed off. Raises TooFewMarks.
    """
    if marks < 3:
        raise TooFewMarks(count=marks)
    if marks == 3:
        return None
    return reading_sd_mm * sqrt(_ODD_SQUARE[min(marks - 3, len(_ODD_SQUARE)) - 1])


def _moves(
    marks_mm: Marks, reading_sd_mm: float, wanted_deg: float, most_mm: float, way: _Way
) -> tuple[Move, ...]:
    if not (reading_sd_mm > 0 and wanted_deg > 0 and isfinite(reading_sd_mm + wanted_deg)):
        raise BadFineness(reading_sd_mm=reading_sd_mm, wanted_deg=wanted_deg)
    if how_finely_held(marks_mm, reading_sd_mm).worst_deg <= wanted_deg:
        return ()
    least_mm2 = (reading_sd_mm / radians(wanted_deg)) ** 2
    found = []
    for mark in range(len(marks_mm)):
        goal = _goal(marks_mm, mark, least_mm2)
        reached = min(way(goal), default=None) if goal else None
        move = _move(marks_mm, mark, reached, reading_sd_mm) if reached else None
        found += [move] if move and move.by_mm <= most_mm else []
    return tuple(sorted(found, key=lambda move: move.by_mm))


def _goal(marks_mm: Marks, mark: int, least_mm2: float) -> _Goal | None:
    """Return what a mark must reach, or None where it cannot: the others are too close together."""
    others = [place for n, place in enumerate(marks_mm) if n != mark]
    middle = _middle(others)
    xx, xy, yy = spread_mm2(others)
    half_gap = hypot((xx - yy) / 2, xy)
    strong, weak = (xx + yy) / 2 + half_gap - least_mm2, least_mm2 - (xx + yy) / 2 + half_gap
    if strong <= 0:
        return None
    turn = atan2(2 * xy, xx - yy) / 2
    off = marks_mm[mark][0] - middle[0], marks_mm[mark][1] - middle[1]
    share = (len(marks_mm) - 1) / len(marks_mm)
    return _Goal(middle, turn, strong, max(weak, 0.0), share, _turned(off, -turn))


def _straight(goal: _Goal) -> Iterator[tuple[float, Vector, Edge | None]]:
    """Yield how far each edge's way must be followed: y²/weak - x²/strong = 1/share along it."""
    u, v = goal.at
    for edge, way in _WAYS:
        x, y = _turned(way, -goal.turn)
        square = y * y * goal.strong - x * x * goal.weak
        linear = 2 * (v * y * goal.strong - u * x * goal.weak)
        whole = v * v * goal.strong - u * u * goal.weak - goal.strong * goal.weak / goal.share
        for by_mm in _roots(square, linear, whole):
            yield by_mm, way, edge


def _nearest(goal: _Goal) -> Iterator[tuple[float, Vector, Edge | None]]:
    """Yield the nearest places of both branches y = ±b cosh, x = a sinh of the hyperbola."""
    a, b = sqrt(goal.strong / goal.share), sqrt(goal.weak / goal.share)
    u, v = goal.at
    reach = asinh((abs(u) + abs(v) + b) / a) + 1
    for sign in (1.0, -1.0):

        def off(at: float, sign: float = sign) -> float:
            return (a * sinh(at) - u) ** 2 + (sign * b * cosh(at) - v) ** 2

        at = _least(off, -reach, reach)
        x, y = a * sinh(at) - u, sign * b * cosh(at) - v
        yield hypot(x, y), _turned(_unit(x, y), goal.turn), None


_Way = Callable[[_Goal], Iterator[tuple[float, Vector, Edge | None]]]


def _move(
    marks_mm: Marks, mark: int, reached: tuple[float, Vector, Edge | None], reading_sd_mm: float
) -> Move | None:
    by_mm, way, edge = reached
    here = marks_mm[mark]
    to_mm = here[0] + by_mm * way[0], here[1] + by_mm * way[1]
    moved = [*marks_mm[:mark], to_mm, *marks_mm[mark + 1 :]]
    try:
        holds_deg = how_finely_held(moved, reading_sd_mm).worst_deg
    except CollinearMarks:
        return None
    return Move(mark, by_mm, degrees(atan2(way[1], way[0])) % 360.0, edge, to_mm, holds_deg)


def _roots(square: float, linear: float, whole: float) -> Iterator[float]:
    """Yield the solutions of a quadratic equation that are more than nothing."""
    under = linear * linear - 4 * square * whole
    if under < 0 or (square == 0 and linear == 0):
        return
    # This form loses no digits where one solution is small.
    half = -(linear + (sqrt(under) if linear >= 0 else -sqrt(under))) / 2
    for over, below in ((half, square), (whole, half)):
        if below and over / below > 0:
            yield over / below


def _least(of: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function with one valley, after a coarse look, is least."""
    step = (high - low) / _THIRDS
    best = min(range(_THIRDS + 1), key=lambda n: of(low + n * step))
    low, high = low + (best - 1) * step, low + (best + 1) * step
    for _ in range(_THIRDS):
        one, two = low + (high - low) / 3, high - (high - low) / 3
        low, high = (low, two) if of(one) < of(two) else (one, high)
    return (low + high) / 2


def _middle(marks_mm: Sequence[Vector]) -> Vector:
    first, ours = marks_mm[0], centred(marks_mm)[0]
    return first[0] - ours[0], first[1] - ours[1]


def _unit(x: float, y: float) -> Vector:
    length = hypot(x, y) or 1.0
    return x / length, y / length


def _turned(way: Vector, turn: float) -> Vector:
    c, s = cos(turn), sin(turn)
    return c * way[0] - s * way[1], s * way[0] + c * way[1]
