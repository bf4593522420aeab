"""The arch map and the square drawn for paper, from the same plan as on the pages."""

from __future__ import annotations

from math import dist
from typing import Any, TypeGuard

from reportlab.graphics.shapes import Circle, Drawing, Line, PolyLine, Rect, String
from reportlab.graphics.shapes import Polygon as Filled
from reportlab.lib.colors import Color
from reportlab.lib.units import mm

from bench.core.archmarks import State
from bench.core.archplan import Plan
from bench.core.archshapes import Disc, Lettering, Polygon, Shape, Stroke, shapes
from bench.sheets import ink
from bench.sheets.square import Square
from bench.words.reader import Reader

_SIDE_ROOM_MM, _EDGE_MM, _NEAR_MM = 4.2, 0.8, 1.5
_FILLS: dict[State, Color] = {
    "done": ink.DONE_WASH, "stale": ink.STALE_WASH, "stopped": ink.STOP_WASH,
    "part": ink.WHITE, "todo": ink.WHITE, "plain": ink.WHITE,
}  # fmt: skip
_LINES: dict[State, Color] = {
    "done": ink.DONE, "stale": ink.STALE, "stopped": ink.STOP,
    "part": ink.DONE, "todo": ink.INK, "plain": ink.EDGE,
}  # fmt: skip
_OWN_INK: dict[str, Color] = {
    "ridge": ink.HAIR, "hatch": ink.STALE_LINE, "cross": ink.STOP, "push": ink.DONE, "resultant": ink.INK,
    "fulcrum": ink.INK, "leader": ink.EDGE, "tick": ink.INK,
}  # fmt: skip
_WIDTHS_MM = {
    "ridge": 0.12,
    "bar": 0.9,
    "hatch": 0.3,
    "cross": 0.55,
    "push": 0.5,
    "resultant": 0.8,
    "leader": 0.18,
}


def map_drawing(plan: Plan, reader: Reader, width_mm: float, most_height_mm: float) -> Any:
    """Return the arch map as a drawing no wider and no higher than given, with the sides written on it."""
    half = max(plan.half_width_mm + _EDGE_MM, 34.0)
    top, bottom = plan.front_mm + _SIDE_ROOM_MM, plan.back_mm - _SIDE_ROOM_MM
    scale = min(width_mm / (2 * half), most_height_mm / (top - bottom)) * mm
    drawing = Drawing(width_mm * mm, (top - bottom) * scale)
    pen = _Pen(drawing, scale, width_mm * mm / 2, -bottom * scale)
    every = shapes(plan)
    for shape in every:
        if not _is_number(shape):
            pen.draw(shape)
    for shape in filter(_is_number, every):
        pen.patch(shape, plan)
        pen.draw(shape)
    for text, at in _sides(plan, reader, half, top, bottom):
        pen.letter(at, text, 2.3, ink.SOFT)
    return drawing


def _sides(
    plan: Plan, reader: Reader, half: float, top: float, bottom: float
) -> list[tuple[str, tuple[float, float]]]:
    upper = any(tooth.place.tooth < 30 for tooth in plan.teeth)
    left, right = ("right", "left") if upper else ("left", "right")
    foot = bottom + 1.4
    return [
        (reader.say("shell.map.front"), (0.0, top - 1.8)),
        (reader.say(f"shell.map.{left}"), (-half + 11.0, foot)),
        (reader.say(f"shell.map.{right}"), (half - 11.0, foot)),
    ]


def _is_number(shape: Shape) -> TypeGuard[Lettering]:
    return isinstance(shape, Lettering) and shape.role == "number"


class _Pen:
    """Puts shapes in mm of the cast onto a drawing in points."""

    def __init__(self, drawing: Any, scale: float, x0: float, y0: float) -> None:
        self.drawing, self.scale, self.x0, self.y0 = drawing, scale, x0, y0

    def draw(self, shape: Shape) -> None:
        """Draw one shape."""
        if isinstance(shape, Polygon):
            self._polygon(shape)
        elif isinstance(shape, Stroke):
            self._stroke(shape)
        elif isinstance(shape, Disc):
            self._disc(shape)
        else:
            self._lettering(shape)

    def patch(self, number: Lettering, plan: Plan) -> None:
        """Clear the ground under a tooth's number where a line or hatching runs through it."""
        ends = [end for overlay in plan.overlays for end in (overlay.start, overlay.end)]
        crossed = any(dist(number.at, end) < _NEAR_MM for end in ends)
        if crossed or number.state in ("stale", "stopped"):
            x, y = self._flat([number.at])
            wide, high = 2.0 * self.scale, 1.5 * self.scale
            fill = _FILLS[number.state]
            self.drawing.add(Rect(x - wide, y - high, 2 * wide, 2 * high, rx=high, ry=high,
                                  fillColor=fill, strokeColor=None))  # fmt: skip

    def _flat(self, points: Any) -> list[float]:
        return [
            along
            for x, y in points
            for along in (self.x0 + x * self.scale, self.y0 + y * self.scale)
        ]

    def _polygon(self, shape: Polygon) -> None:
        fill: Color | None = _FILLS[shape.state]
        line = _LINES[shape.state]
        if shape.role == "head":
            fill, line = ink.DONE if shape.state == "done" else ink.INK, None
        elif shape.role == "missing":
            fill = None
        elif shape.role == "badge" and shape.state in ("done", "stopped"):
            fill = line
        dash = [0.9 * self.scale, 0.7 * self.scale] if shape.dashed else None
        self.drawing.add(Filled(
            self._flat(shape.points), fillColor=fill, strokeColor=line,
            strokeWidth=(0.2 if shape.role == "missing" else 0.32) * self.scale, strokeDashArray=dash,
        ))  # fmt: skip

    def _stroke(self, shape: Stroke) -> None:
        width = _WIDTHS_MM.get(shape.role, 0.35) * self.scale
        dash = [1.8 * self.scale, 1.0 * self.scale] if shape.dashed else None
        colour = (
            _LINES[shape.state]
            if shape.role == "push" or shape.state == "stopped"
            else _OWN_INK.get(shape.role, ink.EDGE)
        )
        kind = Line if len(shape.points) == 2 else PolyLine
        where = self._flat(shape.points)
        line = kind(*where) if kind is Line else kind(where)
        line.strokeColor, line.strokeWidth, line.strokeDashArray = colour, width, dash
        self.drawing.add(line)

    def _disc(self, shape: Disc) -> None:
        x, y = self._flat([shape.at])
        fill = ink.WHITE if shape.role == "ring" else _LINES[shape.state]
        line = ink.INK if shape.role == "ring" else ink.WHITE
        self.drawing.add(Circle(
            x, y, shape.radius_mm * self.scale, fillColor=fill, strokeColor=line, strokeWidth=0.25 * self.scale,
        ))  # fmt: skip

    def _lettering(self, shape: Lettering) -> None:
        plate = shape.role == "badge" and shape.state in ("done", "stopped")
        colour = ink.WHITE if plate else ink.INK
        self.letter(shape.at, shape.text, shape.size_mm, colour, bold=shape.role == "badge")

    def letter(
        self,
        at: tuple[float, float],
        text: str,
        size_mm: float,
        colour: Color,
        *,
        bold: bool = False,
    ) -> None:
        """Write a text centred on a point."""
        x, y = self._flat([at])
        size = size_mm * self.scale
        self.drawing.add(String(
            x, y - size * 0.36, ink.latin(text), fontName=ink.BOLD if bold else ink.PLAIN, fontSize=size,
            fillColor=colour, textAnchor="middle",
        ))  # fmt: skip


def square_drawing(square: Square, side_mm: float) -> Any:
    """Return the square as a drawing whose dark part is `side_mm` wide; the light zone is the paper's."""
    dot = side_mm * mm / square.count
    drawing = Drawing(side_mm * mm, side_mm * mm)
    for x, y, length in square.runs:
        drawing.add(Rect(
            x * dot, side_mm * mm - (y + 1) * dot, length * dot, dot, strokeColor=None,
            fillColor=ink.INK, strokeWidth=0,
        ))  # fmt: skip
    return drawing
