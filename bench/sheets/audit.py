"""The audit on paper: as many pages as it takes, plots and tables in ink that a copier keeps."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from reportlab.graphics.shapes import Circle, Drawing, Line, Polygon, String
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import KeepTogether, LongTable, SimpleDocTemplate, Spacer, TableStyle

from bench.sheets import ink
from bench.sheets.blocks import Table

PAGE_MM, MARGIN_MM = (210.0, 297.0), 14.0
TEXT_PT, CELL_PT = 9.2, 7.6
_FRAME_PT = 6.0  # what the page keeps free inside its margins
WIDTH = (PAGE_MM[0] - 2 * MARGIN_MM) * mm - 2 * _FRAME_PT
_NAMES_PT, _ROW_PT, _FOOT_PT = 110.0, 15.0, 26.0

Three = tuple[float, float, float]


@dataclass(frozen=True)
class Dots:
    """The limits of groups: name, and low, figure and high or None; the tolerance; the axis' words.

    `point` is the decimal sign of the figures along the axis.
    """

    rows: tuple[tuple[str, Three | None], ...]
    tolerance_deg: float
    axis: str
    point: str = "."


@dataclass(frozen=True)
class Section:
    """One part of the report: its title and what it holds."""

    title: str
    pairs: tuple[tuple[str, str], ...] = ()
    table: Table | None = None
    dots: Dots | None = None
    notes: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class Report:
    """The whole report; `page` has a place for the page's number."""

    title: str
    what: str
    about: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]
    foot: str
    page: str


def report_pdf(report: Report) -> bytes:
    """Return the report as PDF on A4; the same report always gives the same bytes."""
    out = io.BytesIO()
    margins = dict.fromkeys(("leftMargin", "rightMargin", "topMargin"), MARGIN_MM * mm)
    document = SimpleDocTemplate(
        out, pagesize=tuple(side * mm for side in PAGE_MM), bottomMargin=(MARGIN_MM + 6) * mm,
        title=ink.latin(report.title), invariant=1, **margins,
    )  # fmt: skip

    def foot(canvas: Canvas, page: Any) -> None:
        canvas.setFont(ink.PLAIN, CELL_PT)
        canvas.setFillColor(ink.SOFT)
        left = MARGIN_MM * mm + _FRAME_PT
        canvas.drawString(left, MARGIN_MM * mm, ink.latin(report.foot))
        number = ink.latin(report.page.replace("#", str(page.page)))
        canvas.drawRightString(left + WIDTH, MARGIN_MM * mm, number)

    document.build(list(_story(report)), onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


def _story(report: Report) -> Iterator[Any]:
    yield ink.words(report.title, ink.style(TEXT_PT * 1.9, bold=True))
    yield Spacer(1, 4)
    yield ink.words(report.what, ink.style(TEXT_PT, ink=ink.SOFT))
    yield Spacer(1, 5)
    for label, text in report.about:
        yield ink.labelled(label, text, ink.style(TEXT_PT))
    for section in report.sections:
        yield from _section(section)


def _section(section: Section) -> Iterator[Any]:
    look = ink.style(TEXT_PT)
    first: list[Any] = [
        Spacer(1, 12),
        ink.words(section.title, ink.style(TEXT_PT * 1.25, bold=True)),
        Spacer(1, 3),
    ]
    if section.note:
        first += [ink.words(section.note, ink.style(CELL_PT, ink=ink.SOFT)), Spacer(1, 2)]
    first += [ink.labelled(label, text, look) for label, text in section.pairs]
    if section.dots and section.dots.rows:
        first.append(_dots(section.dots))
    yield KeepTogether(first)
    for note in section.notes:
        yield ink.words(f"- {note}", look)
    if section.table and section.table.rows:
        yield _table(section.table)


def _table(table: Table) -> Any:
    head = [ink.words(text, ink.style(CELL_PT, ink=ink.SOFT)) for text in table.head]
    rows = [[ink.words(cell, ink.style(CELL_PT)) for cell in row.cells] for row in table.rows]
    made = LongTable([head, *rows], colWidths=_widths(len(head)), repeatRows=1)
    made.setStyle(TableStyle([
        ("VALIGN", (0, 0), (-1, -1), "TOP"), ("LINEBELOW", (0, 0), (-1, -1), 0.3, ink.HAIR),
        ("LINEBELOW", (0, 0), (-1, 0), 0.8, ink.EDGE), ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 5), ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
    ]))  # fmt: skip
    return made


def _widths(columns: int) -> list[float]:
    shares = [1.0, 0.85, *[1.2] * (columns - 2)] if columns > 4 else [1.0] * columns
    return [WIDTH * share / sum(shares) for share in shares]


def _dots(dots: Dots) -> Any:
    high = _ROW_PT * len(dots.rows) + _FOOT_PT
    most = max([dots.tolerance_deg, *(figures[2] for _, figures in dots.rows if figures)]) * 1.05
    drawing = Drawing(WIDTH, high)

    def x(deg: float) -> float:
        return float(_NAMES_PT + (WIDTH - _NAMES_PT - 10) * deg / most)

    for shape in (*_axis(dots, x, most), *_rows(dots, x, high)):
        drawing.add(shape)
    at = x(dots.tolerance_deg)
    drawing.add(
        Line(at, _FOOT_PT - 4, at, high, strokeColor=ink.STOP, strokeDashArray=[6, 2, 1, 2])
    )
    return drawing


def _axis(dots: Dots, x: Any, most: float) -> Iterator[Any]:
    yield Line(x(0), _FOOT_PT - 4, x(most), _FOOT_PT - 4, strokeColor=ink.EDGE, strokeWidth=0.6)
    step = dots.tolerance_deg * max(0.5, round(most / dots.tolerance_deg / 6))
    for place in range(int(most / step) + 1):
        figure = f"{place * step:g}°".replace(".", dots.point)
        yield _text(x(place * step), _FOOT_PT - 13, figure, anchor="middle")
    yield _text(x(0), _FOOT_PT - 23, dots.axis)


def _rows(dots: Dots, x: Any, high: float) -> Iterator[Any]:
    for place, (name, figures) in enumerate(dots.rows):
        y = high - _ROW_PT * (place + 0.6)
        yield _text(0, y - 2.5, name, fill=ink.INK)
        if figures:
            low, at, end = (x(deg) for deg in figures)
            yield Line(low, y, end, y, strokeColor=ink.INK, strokeWidth=1)
            yield from (Line(edge, y - 3, edge, y + 3, strokeColor=ink.INK) for edge in (low, end))
            yield _mark(at, y, outside=figures[0] > dots.tolerance_deg)


def _mark(x: float, y: float, *, outside: bool) -> Any:
    """Return a dot, or a hollow lozenge for what is outside: a copier keeps shapes, not colours."""
    if outside:
        corners = [x - 4, y, x, y + 4, x + 4, y, x, y - 4]
        return Polygon(corners, fillColor=ink.WHITE, strokeColor=ink.STOP, strokeWidth=1.3)
    return Circle(x, y, 3, fillColor=ink.DONE, strokeColor=ink.WHITE, strokeWidth=0.6)


def _text(x: float, y: float, text: str, fill: Any = ink.SOFT, anchor: str = "start") -> Any:
    return String(
        x,
        y,
        ink.latin(text),
        fontName=ink.PLAIN,
        fontSize=CELL_PT,
        fillColor=fill,
        textAnchor=anchor,
    )
