"""The survey sheet on paper: always one page, set as large as the case allows."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any, Literal, get_args

from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Image, Spacer, Table, TableStyle

from bench.core.archplan import Plan
from bench.sheets import ink
from bench.sheets.blocks import Block, Note, unbroken
from bench.sheets.blocks import Table as Grid
from bench.sheets.facts import Facts
from bench.sheets.mapdrawing import map_drawing, square_drawing
from bench.sheets.square import square_dots
from bench.words.reader import Reader

Paper = Literal["A4", "Letter"]
PAPERS: tuple[Paper, ...] = get_args(Paper)
SIZES_MM: dict[Paper, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
TEXT_PT = (9.4, 9.0, 8.6, 8.2, 7.8, 7.4, 7.0, 6.6, 6.2)
NOTES_KEPT = (60, 24, 14, 9, 6, 4)
NEVER_CUT = frozenset({"changes", "setting", "tripod"})
MARGIN_MM, GUTTER_MM, SQUARE_MM = 11.0, 6.0, 21.0
LEFT_SHARE = 0.43
_MAP_HEIGHT_MM, _PHOTO_MM = 82.0, (40.0, 32.0)
_CELL_SCALE, _CELL_PT = 0.92, 4.0


class SheetTooFull(ValueError):
    """A case that no page can hold even in the smallest letters."""


@dataclass(frozen=True)
class Placed:
    """Something to draw: its left edge and its foot in points, and the thing itself."""

    x: float
    y: float
    item: Any


def sheet_pdf(
    facts: Facts, reader: Reader, *, paper: Paper = "A4", photo: bytes | None = None
) -> bytes:
    """Return the survey sheet as one page of PDF; the same facts always give the same bytes.

    `photo` is the tripod's photo as JPEG. The text is set in the largest of its sizes at which all
    fits; where the smallest is too large, long lists are cut and say how many lines they leave out;
    the tooth changes asked for never are.
    """
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=tuple(side * mm for side in SIZES_MM[paper]), invariant=1)
    canvas.setTitle(ink.latin(f"{facts.title} {facts.number} {facts.shown_code}"))
    for placed in _fitted(facts, reader, paper, photo):
        placed.item.drawOn(canvas, placed.x, placed.y)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _fitted(facts: Facts, reader: Reader, paper: Paper, photo: bytes | None) -> list[Placed]:
    plan = facts.marked.plan(reader)
    for kept in NOTES_KEPT:
        sizes = TEXT_PT if kept == NOTES_KEPT[0] else TEXT_PT[-1:]
        for size_pt, beside in product(sizes, (True, False)):
            setting = _Setting(facts, reader, paper, photo, plan, size_pt, kept, beside)
            placed = setting.placed()
            if placed is not None:
                return placed
    raise SheetTooFull(facts.code)


@dataclass(frozen=True)
class _Setting:
    """One try at setting the page: at a size of text, keeping so many notes of each block.

    `beside` puts the blocks of the middle beside the map, else below it.
    """

    facts: Facts
    reader: Reader
    paper: Paper
    photo: bytes | None
    plan: Plan
    size_pt: float
    kept: int
    beside: bool

    @property
    def width(self) -> float:
        return float((SIZES_MM[self.paper][0] - 2 * MARGIN_MM) * mm)

    @property
    def _right(self) -> tuple[Block, ...]:
        return (*self.facts.right, *(self.facts.middle if self.beside else ()))

    @property
    def _below(self) -> tuple[Block, ...]:
        return (*(() if self.beside else self.facts.middle), *self.facts.below)

    def placed(self) -> list[Placed] | None:
        """Return everything in its place, or None when the page does not hold it."""
        left_edge, top = MARGIN_MM * mm, (SIZES_MM[self.paper][1] - MARGIN_MM) * mm
        left = (self.width - GUTTER_MM * mm) * LEFT_SHARE
        right = self.width - GUTTER_MM * mm - left
        placed: list[Placed] = []
        y = _stack(placed, left_edge, top, self.width, [self._head(), *self._status()])
        y -= self.size_pt * 0.7
        y_left = _stack(placed, left_edge, y, left, list(self._left(left)))
        x_right = left_edge + left + GUTTER_MM * mm
        y_right = _stack(placed, x_right, y, right, list(self._blocks(self._right, right)))
        y = min(y_left, y_right) - self.size_pt * 0.3
        y = _stack(placed, left_edge, y, self.width, list(self._blocks(self._below, self.width)))
        foot = list(self._foot())
        height = sum(item.wrap(self.width, 1e6)[1] for item in foot)
        if y - self.size_pt * 0.5 < MARGIN_MM * mm + height:
            return None
        _stack(placed, left_edge, MARGIN_MM * mm + height, self.width, foot)
        return placed

    def _style(self, scale: float = 1.0, **look: Any) -> Any:
        return ink.style(self.size_pt * scale, **look)

    def _head(self) -> Any:
        facts = self.facts
        pairs = [ink.labelled(label, text, self._style()) for label, text in facts.about]
        half = -(-len(pairs) // 2)
        rows = [[pairs[n], pairs[n + half] if n + half < len(pairs) else ""] for n in range(half)]
        square_pt = (SQUARE_MM + 3) * mm
        inner = self.width - square_pt
        about = _bare(rows, [inner * 0.5, inner * 0.5])
        heading = ink.words(
            f"{facts.title}  {facts.number}", self._style(1.9, bold=True, lead=1.15)
        )
        code = self._style(1.0, bold=True)
        code.alignment = 2
        square = [
            square_drawing(square_dots(facts.address), SQUARE_MM),
            Spacer(1, 2),
            ink.words(facts.shown_code, code),
        ]
        return _bare([[[heading, Spacer(1, 4), about], square]], [inner, square_pt], align="RIGHT")

    def _status(self) -> Iterator[Any]:
        released = self.facts.released
        colour = ink.DONE if released else ink.STOP
        text = ink.words(self.facts.status, self._style(1.15, bold=True, ink=colour))
        band = Table([[text]], colWidths=[self.width])
        band.setStyle(TableStyle([
            ("BOX", (0, 0), (-1, -1), 0.9, colour),
            ("BACKGROUND", (0, 0), (-1, -1), ink.DONE_WASH if released else ink.STOP_WASH),
            ("TOPPADDING", (0, 0), (-1, -1), 1.5), ("BOTTOMPADDING", (0, 0), (-1, -1), 4.5),
        ]))  # fmt: skip
        yield Spacer(1, self.size_pt * 0.5)
        yield band

    def _left(self, width: float) -> Iterator[Any]:
        shrink = self.size_pt / TEXT_PT[0]
        yield map_drawing(self.plan, self.reader, width / mm, _MAP_HEIGHT_MM * shrink)
        yield ink.words(self.reader.say("sheet.map.key"), self._style(0.82, ink=ink.SOFT))
        yield from self._block(self.facts.setting, width)
        yield from self._block(self.facts.tripod, width)
        if self.photo:
            yield Spacer(1, 2)
            yield self._photo(self.photo, width, shrink)

    def _photo(self, photo: bytes, width: float, shrink: float) -> Any:
        wide, high = ImageReader(io.BytesIO(photo)).getSize()
        scale = min(_PHOTO_MM[0] * mm * shrink / wide, _PHOTO_MM[1] * mm * shrink / high)
        image = Image(io.BytesIO(photo), wide * scale, high * scale)
        image.hAlign = "LEFT"
        caption = ink.words(
            self.reader.say("sheet.page.photo_caption"), self._style(0.82, ink=ink.SOFT)
        )
        return _bare([[image, caption]], [wide * scale + 6, width - wide * scale - 6])

    def _blocks(self, blocks: Sequence[Block], width: float) -> Iterator[Any]:
        for block in blocks:
            if not block.empty:
                yield from self._block(block, width)

    def _block(self, block: Block, width: float) -> Iterator[Any]:
        yield self._title(block.title, width)
        for label, text in block.pairs:
            yield ink.labelled(label, text, self._style())
        if block.table and block.table.rows:
            yield self._grid(block.table, width)
        for note in block.notes if block.key in NEVER_CUT else self._cut(block.notes):
            yield self._note(note)

    def _title(self, title: str, width: float) -> Any:
        text = ink.words(title, self._style(1.05, bold=True))
        line = Table([[text]], colWidths=[width])
        line.setStyle(TableStyle([
            *_NO_ROOM, ("TOPPADDING", (0, 0), (-1, -1), self.size_pt * 0.55),
            ("LINEBELOW", (0, 0), (-1, -1), 0.6, ink.INK), ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
        ]))  # fmt: skip
        return line

    def _note(self, note: Note) -> Any:
        return ink.words(
            note.text, self._style(bold=note.force == "done", ink=ink.OF_FORCE[note.force])
        )

    def _cut(self, notes: Sequence[Note]) -> list[Note]:
        if len(notes) <= self.kept:
            return list(notes)
        more = self.reader.say("sheet.more", count=len(notes) - self.kept)
        return [*notes[: self.kept], Note(more)]

    def _grid(self, grid: Grid, width: float) -> Any:
        head = [ink.words(text, self._style(0.84, ink=ink.SOFT)) for text in grid.head]
        rows = [
            [ink.words(cell, self._cell(row.force, place == len(row.cells) - 1))
             for place, cell in enumerate(row.cells)]
            for row in grid.rows
        ]  # fmt: skip
        columns = list(zip(grid.head, *(row.cells for row in grid.rows), strict=True))
        table = Table([head, *rows], colWidths=_widths(columns, width, self.size_pt * _CELL_SCALE))
        table.setStyle(TableStyle([
            *_NO_ROOM, ("RIGHTPADDING", (0, 0), (-1, -1), _CELL_PT - 1), ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.2),
            ("LINEBELOW", (0, 0), (-1, -1), 0.25, ink.HAIR),
        ]))  # fmt: skip
        return table

    def _cell(self, force: Any, last: bool) -> Any:
        return self._style(_CELL_SCALE, bold=last and force != "plain", ink=ink.OF_FORCE[force])

    def _foot(self) -> Iterator[Any]:
        facts, small = self.facts, self._style(0.82, ink=ink.SOFT)
        yield ink.words(" ".join(facts.cautions), small)
        yield ink.words(facts.decides, self._style(0.9, bold=True))
        yield self._signature()
        yield ink.words(facts.recorded, small)

    def _signature(self) -> Any:
        dentist, date, changes = (
            ink.words(t, self._style(0.82, ink=ink.SOFT)) for t in self.facts.signature
        )
        table = Table([["", "", "", "", ""], [dentist, "", date, "", changes]],
                      colWidths=[self.width * share for share in (0.38, 0.03, 0.16, 0.03, 0.40)],
                      rowHeights=[self.size_pt * 2.4, None])  # fmt: skip
        lines = [("LINEABOVE", (n, 1), (n, 1), 0.7, ink.INK) for n in (0, 2)]
        room = [("TOPPADDING", (0, 1), (-1, 1), 1.5), ("BOTTOMPADDING", (0, 1), (-1, 1), 3)]
        table.setStyle(TableStyle([*_NO_ROOM, *lines, ("VALIGN", (0, 0), (-1, -1), "TOP"), *room]))
        return table


_NO_ROOM = tuple(
    (f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")
)


def _bare(rows: list[list[Any]], widths: list[float], align: str = "LEFT") -> Any:
    table = Table(rows, colWidths=widths)
    table.setStyle(TableStyle([
        *_NO_ROOM, ("VALIGN", (0, 0), (-1, -1), "TOP"), ("ALIGN", (-1, 0), (-1, -1), align),
        ("RIGHTPADDING", (0, 0), (0, -1), 4),
    ]))  # fmt: skip
    return table


def _widths(columns: Sequence[Sequence[str]], width: float, size_pt: float) -> list[float]:
    """Return the columns' widths: each holds its longest word; what is left goes where text would wrap."""
    least = [
        max(_wide(word, size_pt) for text in column for word in re.split("[ \n]", unbroken(text)))
        for column in columns
    ]
    whole = [max(_wide(text, size_pt) for text in column) for column in columns]
    spare = width - sum(least)
    if spare <= 0:
        return [width * one / sum(least) for one in least]
    wish = [all_of - some for all_of, some in zip(whole, least, strict=True)]
    share = min(1.0, spare / (sum(wish) or 1.0))
    rest = (spare - share * sum(wish)) / len(columns)
    return [some + share * more + rest for some, more in zip(least, wish, strict=True)]


def _wide(text: str, size_pt: float) -> float:
    return float(stringWidth(unbroken(ink.latin(text)), ink.BOLD, size_pt)) + _CELL_PT


def _stack(placed: list[Placed], x: float, top: float, width: float, items: list[Any]) -> float:
    """Put things below one another from `top` downward and return where the next would begin."""
    y = top
    for item in items:
        y -= item.wrap(width, 1e6)[1]
        placed.append(Placed(x, y, item))
    return y
