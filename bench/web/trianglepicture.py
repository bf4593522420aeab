"""The triangle of the tripod's marks as a picture to scale, and how finely it holds a tilt in words."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from math import atan2, ceil, cos, degrees, hypot, radians, sin

from bench.core.arch import Vector
from bench.core.lab import Lab
from bench.core.marks import moves_toward_edges
from bench.core.rules.records import hold_of
from bench.core.tripod import Triangle, centred, how_finely_held, in_cast_frame
from bench.core.widening import LETTERS, Letter, weak_way
from bench.web.archmap import Text, closed, line
from bench.words.reader import Reader

EDGE_MM, LEAST_HALF_MM, LETTER_MM, LENGTH_MM, SCALE_MM = 9.0, 24.0, 5.2, 3.6, 10.0


@dataclass(frozen=True, slots=True)
class TrianglePicture:
    """Everything `pieces/triangle.html` draws; lengths in mm, +y toward the technician."""

    view_box: str
    label: str
    outline: str
    weak: str
    marks: tuple[Text, ...]
    letters: tuple[Text, ...]
    lengths: tuple[Text, ...]
    turn: str
    scale: str
    scale_label: Text
    front: Text


@dataclass(frozen=True, slots=True)
class Hold:
    """How finely the marks hold the cast, in words; `within` is the lab's limit on both axes."""

    within: bool
    sentence: str
    weak: str
    total: str
    advice: str


def hold_in_words(triangle: Triangle, lab: Lab, reader: Reader) -> Hold:
    """Return how finely a triangle holds the cast, and what would mend it.

    At the lab's own reading SD where it has one, else at the policy's; the words say which.
    """
    sd, limit_deg = lab.reading_sd, lab.policy.number("tripod_sd_limit_deg")
    held = hold_of(triangle, lab)
    within = held.worst_deg <= limit_deg
    way = weak_way(triangle, sd.sd_mm)
    figures = {
        "worst": _fine(reader, held.worst_deg), "best": _fine(reader, held.best_deg),
        "total": _fine(reader, held.total95_deg), "limit": reader.angle(limit_deg),
        "sd": reader.length(sd.sd_mm), "from": way.side[0], "to": way.side[1],
        "source": reader.say(f"tripod.sd.{sd.source}", spare=sd.spare),
    }  # fmt: skip
    return Hold(
        within, reader.say(f"tripod.hold.{'within' if within else 'outside'}", **figures),
        reader.say("tripod.hold.weak", **figures), reader.say("tripod.hold.total", **figures),
        "" if within else _advice(triangle, sd.sd_mm, held.worst_deg, limit_deg, reader),
    )  # fmt: skip


def _advice(
    triangle: Triangle, sd_mm: float, holds_deg: float, limit_deg: float, reader: Reader
) -> str:
    """Say which one mark to move, and which way on the cast; A lies in front, as it is marked."""
    marks = in_cast_frame(triangle)
    found = next(iter(moves_toward_edges(marks, sd_mm, limit_deg)), None)
    if found is None:
        return reader.say("tripod.hold.move_more")
    by_mm = ceil(found.by_mm)
    share = by_mm / found.by_mm
    x, y = marks[found.mark]
    to_mm = x + share * (found.to_mm[0] - x), y + share * (found.to_mm[1] - y)
    moved = [*marks[: found.mark], to_mm, *marks[found.mark + 1 :]]
    would = _fine(reader, how_finely_held(moved, sd_mm).worst_deg)
    return reader.say(
        "tripod.hold.move", mark=LETTERS[found.mark], by=by_mm, would=would,
        way=reader.say(f"tripod.way.{found.toward}"), worst=_fine(reader, holds_deg),
    )  # fmt: skip


def _fine(reader: Reader, angle_deg: float) -> str:
    return reader.say("choices.figure.deg", value=reader.number(angle_deg, 2))


def triangle_picture(
    triangle: Triangle,
    reader: Reader,
    a_direction_deg: float = 90.0,
    fourth_mm: Vector | None = None,
) -> TrianglePicture:
    """Return the triangle seen from above, front at the top, mark A lying in a direction from its middle.

    `a_direction_deg` counts from +X (viewer's right) toward the front; 90 is straight in front.
    `fourth_mm` is the place of a fourth mark in that frame.
    """
    marks = in_cast_frame(triangle, a_direction_deg)
    every = (*marks, fourth_mm) if fourth_mm else marks
    left, right, bottom, top = _frame(every)
    weak_deg = _weak_direction_deg(triangle, marks)
    return TrianglePicture(
        view_box=f"{left:.1f} {-top:.1f} {right - left:.1f} {top - bottom:.1f}",
        label=_label(triangle, reader),
        outline=closed(marks),
        weak=line(_through(weak_deg, LEAST_HALF_MM / 2)),
        marks=tuple(_text(mark, "") for mark in every),
        letters=tuple(
            _text(_away(mark, LETTER_MM), letter)
            for mark, letter in zip(every, (*LETTERS, "D"), strict=False)
        ),
        lengths=tuple(_length(marks, first, second, reader) for first, second in combinations(range(3), 2)),
        turn=_turn(triangle.sense == "clockwise"),
        scale=line(((left + 2, bottom + 3.5), (left + 2 + SCALE_MM, bottom + 3.5))),
        scale_label=_text((left + 2 + SCALE_MM / 2, bottom + 1.5), _scale_words(reader)),
        front=_text(((left + right) / 2, top - 2.2), reader.say("shell.map.front")),
    )  # fmt: skip


def _scale_words(reader: Reader) -> str:
    return reader.say("tripod.scale", length=reader.number(SCALE_MM, 0))


def _frame(marks: tuple[Vector, ...]) -> tuple[float, float, float, float]:
    xs, ys = [x for x, _ in marks], [y for _, y in marks]
    return (
        min(-LEAST_HALF_MM, min(xs) - EDGE_MM), max(LEAST_HALF_MM, max(xs) + EDGE_MM),
        min(-LEAST_HALF_MM, min(ys) - EDGE_MM - 4), max(LEAST_HALF_MM, max(ys) + EDGE_MM + 3),
    )  # fmt: skip


def _weak_direction_deg(triangle: Triangle, marks: tuple[Vector, ...]) -> float:
    """Return the weak direction after the triangle was turned into the frame of the cast."""
    drawn, own = marks[0], centred(triangle.marks_mm)[0]
    turned = degrees(atan2(drawn[1], drawn[0]) - atan2(own[1], own[0]))
    return how_finely_held(triangle.marks_mm, 1.0).weak_direction_deg + turned


def _through(direction_deg: float, half_mm: float) -> tuple[Vector, Vector]:
    x, y = half_mm * cos(radians(direction_deg)), half_mm * sin(radians(direction_deg))
    return (-x, -y), (x, y)


def _length(marks: tuple[Vector, ...], first: int, second: int, reader: Reader) -> Text:
    (x, y), (to_x, to_y) = marks[first], marks[second]
    middle = ((x + to_x) / 2, (y + to_y) / 2)
    # Figures are wider than high, so those beside a steep side stand further off it.
    sideways = abs(middle[0]) / (hypot(*middle) or 1.0)
    return _text(
        _away(middle, LENGTH_MM + 1.6 * sideways), reader.number(hypot(to_x - x, to_y - y), 1)
    )


def _label(triangle: Triangle, reader: Reader) -> str:
    lengths = {
        f"{LETTERS[a]}{LETTERS[b]}".lower(): reader.number(_apart(triangle, a, b), 1)
        for a, b in combinations(range(3), 2)
    }
    return reader.say("tripod.picture", sense=reader.choice("sense", triangle.sense), **lengths)


def _apart(triangle: Triangle, first: int, second: int) -> float:
    (x, y), (to_x, to_y) = triangle.marks_mm[first], triangle.marks_mm[second]
    return hypot(to_x - x, to_y - y)


def _turn(clockwise: bool, radius_mm: float = 5.0) -> str:
    """Return the path of an arrow that turns from A by B to C about the middle."""
    steps = range(0, 271, 15)
    way = -1 if clockwise else 1
    arc = [_polar(radius_mm, 90 + way * step) for step in steps]
    tip = 90 + way * 285
    head = (
        _polar(radius_mm + 1.6, 90 + way * 262),
        _polar(radius_mm, tip),
        _polar(radius_mm - 1.6, 90 + way * 262),
    )
    return line(tuple(arc)) + line(head)


def _polar(radius_mm: float, direction_deg: float) -> Vector:
    return radius_mm * cos(radians(direction_deg)), radius_mm * sin(radians(direction_deg))


def _away(point: Vector, by_mm: float) -> Vector:
    length = hypot(*point)
    if length < 1e-6:
        return point[0] + by_mm, point[1]
    return point[0] * (1 + by_mm / length), point[1] * (1 + by_mm / length)


def _text(at: Vector, text: str) -> Text:
    return Text(round(at[0], 2) + 0.0, round(-at[1], 2) + 0.0, text)


__all__ = ["Hold", "Letter", "TrianglePicture", "hold_in_words", "triangle_picture"]
