"""The label of a case: a square that a camera reads, and the same in words for people."""

from __future__ import annotations

import io
import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

from PIL import Image, ImageDraw, ImageFont
from qrcode.constants import ERROR_CORRECT_Q
from qrcode.main import QRCode

from bench.core.ids import code_from_typed, shown_code
from bench.core.teeth import Arch

Paper = Literal["A4", "Letter"]

CODE_SIZES_MM = (20, 25, 30)
PAPERS_MM: dict[Paper, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
LEAST_MODULE_MM = 0.5
LEAST_MODULE_PX = 3
MOST_DPI = 1200
MOST_LABELS = 500
PNG_DPI = 300
PDF_DPI = 400

_MM_PER_INCH = 25.4
_QUIET_MM = 5.0
_TEXT_MM = 30.0
_PAGE_EDGE_MM = 7.0
_CUT_EDGE_MM = 3.0
_CUT_ARM_MM = 2.0
_CUT_LINE_MM = 0.15
_ADDRESS = re.compile(r"HTTPS?://[A-Z0-9.-]+(:[0-9]{1,5})?(/[A-Z0-9.$%*+-]+)*", re.ASCII)


class Say(Protocol):
    """Words by their key in the catalogue."""

    def __call__(self, key: str, /, **params: object) -> str: ...


class BadLabel(ValueError):
    """A label that cannot be drawn; the words for it are `labels.refused.<code>` and `params`."""

    def __init__(self, code: str, params: Mapping[str, str | int]) -> None:
        super().__init__(code, dict(params))
        self.code = code
        self.params = dict(params)


@dataclass(frozen=True)
class LabelFacts:
    """What one label says: label code, the lab's case number, arch, and where the bench PC is."""

    code: str
    number: str
    arch: Arch
    base_url: str

    @property
    def address(self) -> str:
        """The text held in the square."""
        return label_address(self.base_url, self.code)


def label_address(base_url: str, code: str) -> str:
    """Return the upper-case address held in a label's square: <base>/C/<code>.

    Upper case keeps it in the alphanumeric mode of ISO/IEC 18004, whose squares need fewer dots.
    Raises BadLabel ('address') for a base that mode or the web cannot carry, BadCode for a code
    that is none.
    """
    base = base_url.strip().rstrip("/").upper()
    if not _ADDRESS.fullmatch(base):
        raise BadLabel("address", {"address": base_url.strip()[:80]})
    return f"{base}/C/{code_from_typed(code)}"


def label_size_mm(code_mm: int = 20) -> tuple[float, float]:
    """Return width and height of a label: its square, the quiet zone around, words beside it."""
    if code_mm not in CODE_SIZES_MM:
        sizes = ", ".join(map(str, CODE_SIZES_MM))
        raise BadLabel("size", {"code_mm": code_mm, "sizes": sizes})
    return code_mm + 2 * _QUIET_MM + _TEXT_MM, code_mm + 2 * _QUIET_MM


def label_image(facts: LabelFacts, say: Say, *, code_mm: int = 20, dpi: int = PNG_DPI) -> bytes:
    """Return one label with its cut marks as a PNG that knows its physical size.

    `code_mm` (20, 25 or 30) is the side of the dark square from its first to its last dot. The
    light quiet zone comes on top of it, 5 mm on each side: ISO/IEC 18004 asks for four dots, at
    most 4.8 mm here. Raises BadLabel ('address', 'address_long', 'size', 'dpi').
    """
    return _as_png(_single_page(facts, say, code_mm, dpi), dpi)


def label_pdf(facts: LabelFacts, say: Say, *, code_mm: int = 20) -> bytes:
    """Return one label with its cut marks as a PDF page of its own physical size."""
    return _as_pdf(iter([_single_page(facts, say, code_mm, PDF_DPI)]))


def label_sheet_images(
    labels: Sequence[LabelFacts],
    say: Say,
    *,
    paper: Paper = "A4",
    code_mm: int = 20,
    dpi: int = PNG_DPI,
) -> list[bytes]:
    """Return the labels as full sheets of paper, one PNG a sheet, with cut marks at each corner.

    Raises BadLabel as `label_image` does, and 'paper', 'empty' or 'many' (over 500 labels).
    """
    return [_as_png(sheet, dpi) for sheet in _sheets(labels, say, paper, code_mm, dpi)]


def label_sheet_pdf(
    labels: Sequence[LabelFacts], say: Say, *, paper: Paper = "A4", code_mm: int = 20
) -> bytes:
    """Return the labels as a PDF of full sheets; to be printed at 100 %, not fitted to the page."""
    return _as_pdf(_sheets(labels, say, paper, code_mm, PDF_DPI))


def labels_per_sheet(paper: Paper = "A4", code_mm: int = 20) -> tuple[int, int]:
    """Return how many labels stand side by side and below each other on one sheet."""
    if paper not in PAPERS_MM:
        raise BadLabel("paper", {"paper": str(paper), "papers": ", ".join(PAPERS_MM)})
    across, down = (
        int((page - 2 * _PAGE_EDGE_MM) // label)
        for page, label in zip(PAPERS_MM[paper], label_size_mm(code_mm), strict=True)
    )
    return across, down


def _px(length_mm: float, dpi: int) -> int:
    return round(length_mm * dpi / _MM_PER_INCH)


def _dots(address: str, code_mm: int) -> list[list[bool | None]]:
    square = QRCode(error_correction=ERROR_CORRECT_Q, box_size=1, border=0)
    square.add_data(address, optimize=0)
    square.make(fit=True)
    if code_mm / square.modules_count < LEAST_MODULE_MM:
        raise BadLabel("address_long", {"address": address[:80], "code_mm": code_mm})
    dots: list[list[bool | None]] = square.modules
    return dots


def _square(address: str, code_mm: int, dpi: int) -> Image.Image:
    """Draw the dark square; each dot's edges are rounded singly, so the whole keeps its size."""
    dots = _dots(address, code_mm)
    side_px = _px(code_mm, dpi)
    least_dpi = int(LEAST_MODULE_PX * len(dots) * _MM_PER_INCH / code_mm) + 1
    if not least_dpi <= dpi <= MOST_DPI:
        params = {"code_mm": code_mm, "dpi": dpi, "least": least_dpi, "most": MOST_DPI}
        raise BadLabel("dpi", params)
    edges = [round(i * side_px / len(dots)) for i in range(len(dots) + 1)]
    square = Image.new("L", (side_px, side_px), 255)
    draw = ImageDraw.Draw(square)
    for y, row in enumerate(dots):
        for x, dark in enumerate(row):
            if dark:
                corner = (edges[x + 1] - 1, edges[y + 1] - 1)
                draw.rectangle([(edges[x], edges[y]), corner], fill=0)
    return square


def _drawable(text: str) -> str:
    """Return text in the letters that the built-in font holds: the printable ones of ASCII."""
    plain = unicodedata.normalize("NFKD", text.replace("\u00df", "ss"))
    kept = (letter for letter in plain if not unicodedata.combining(letter))
    return "".join(letter if " " <= letter <= "~" else "?" for letter in kept)


def _fitted(text: str, width_px: int, size_px: int) -> tuple[str, ImageFont.FreeTypeFont]:
    """Return the text and a font no wider than `width_px`: smaller by up to half, then cut."""
    for size in range(size_px, size_px // 2, -1):
        font = _font(size)
        if font.getlength(text) <= width_px:
            return text, font
    while text and font.getlength(text + "...") > width_px:
        text = text[:-1]
    return text + "...", font


def _font(size_px: int) -> ImageFont.FreeTypeFont:
    font = ImageFont.load_default(max(size_px, 1))
    if not isinstance(font, ImageFont.FreeTypeFont):
        raise RuntimeError("Pillow was built without FreeType, which draws the words of a label")
    return font


def _draw_label(
    page: Image.Image,
    at_mm: tuple[float, float],
    facts: LabelFacts,
    say: Say,
    code_mm: int,
    dpi: int,
) -> None:
    left_mm, top_mm = at_mm
    square = _square(facts.address, code_mm, dpi)
    page.paste(square, (_px(left_mm + _QUIET_MM, dpi), _px(top_mm + _QUIET_MM, dpi)))
    draw = ImageDraw.Draw(page)
    x_px = _px(left_mm + code_mm + 2 * _QUIET_MM, dpi)
    rows = (
        (shown_code(facts.code), 5.2, 0.0),
        (say(f"labels.arch.{facts.arch}"), 4.0, 0.42),
        (say("labels.case", number=facts.number), 4.0, 0.75),
    )
    for words, size_mm, down in rows:
        text, font = _fitted(_drawable(words), _px(_TEXT_MM - 2.0, dpi), _px(size_mm, dpi))
        y_px = _px(top_mm + _QUIET_MM + down * code_mm, dpi)
        draw.text((x_px, y_px), text, fill=0, font=font, anchor="lt")


def _cut_marks(page: Image.Image, corner_mm: tuple[float, float], dpi: int) -> None:
    x_px, y_px = (_px(along_mm, dpi) for along_mm in corner_mm)
    arm_px, line_px = _px(_CUT_ARM_MM, dpi), max(1, _px(_CUT_LINE_MM, dpi))
    draw = ImageDraw.Draw(page)
    draw.line([(x_px - arm_px, y_px), (x_px + arm_px, y_px)], fill=0, width=line_px)
    draw.line([(x_px, y_px - arm_px), (x_px, y_px + arm_px)], fill=0, width=line_px)


def _place(
    page: Image.Image,
    at_mm: tuple[float, float],
    facts: LabelFacts,
    say: Say,
    code_mm: int,
    dpi: int,
) -> None:
    _draw_label(page, at_mm, facts, say, code_mm, dpi)
    width_mm, height_mm = label_size_mm(code_mm)
    for x_mm in (at_mm[0], at_mm[0] + width_mm):
        for y_mm in (at_mm[1], at_mm[1] + height_mm):
            _cut_marks(page, (x_mm, y_mm), dpi)


def _blank(width_mm: float, height_mm: float, dpi: int) -> Image.Image:
    return Image.new("L", (_px(width_mm, dpi), _px(height_mm, dpi)), 255)


def _single_page(facts: LabelFacts, say: Say, code_mm: int, dpi: int) -> Image.Image:
    width_mm, height_mm = label_size_mm(code_mm)
    _square(facts.address, code_mm, dpi)  # refuses nonsense before a page takes memory
    page = _blank(width_mm + 2 * _CUT_EDGE_MM, height_mm + 2 * _CUT_EDGE_MM, dpi)
    _place(page, (_CUT_EDGE_MM, _CUT_EDGE_MM), facts, say, code_mm, dpi)
    return page


def _sheets(
    labels: Sequence[LabelFacts], say: Say, paper: Paper, code_mm: int, dpi: int
) -> Iterator[Image.Image]:
    across, down = labels_per_sheet(paper, code_mm)
    if not labels:
        raise BadLabel("empty", {})
    if len(labels) > MOST_LABELS:
        raise BadLabel("many", {"labels": len(labels), "most": MOST_LABELS})
    _square(labels[0].address, code_mm, dpi)  # refuses nonsense before a page takes memory
    for first in range(0, len(labels), across * down):
        yield _sheet(labels[first : first + across * down], say, paper, code_mm, dpi)


def _sheet(
    labels: Sequence[LabelFacts], say: Say, paper: Paper, code_mm: int, dpi: int
) -> Image.Image:
    page_mm, label_mm = PAPERS_MM[paper], label_size_mm(code_mm)
    across, down = labels_per_sheet(paper, code_mm)
    left_mm = (page_mm[0] - across * label_mm[0]) / 2
    top_mm = (page_mm[1] - down * label_mm[1]) / 2
    page = _blank(*page_mm, dpi)
    for place, facts in enumerate(labels):
        row, column = divmod(place, across)
        at_mm = (left_mm + column * label_mm[0], top_mm + row * label_mm[1])
        _place(page, at_mm, facts, say, code_mm, dpi)
    return page


def _as_png(page: Image.Image, dpi: int) -> bytes:
    out = io.BytesIO()
    page.save(out, "PNG", dpi=(dpi, dpi), optimize=True)
    return out.getvalue()


def _as_pdf(pages: Iterator[Image.Image]) -> bytes:
    """Write pages one by one, so that a long list of labels never holds more than one in memory.

    Black and white without dither keeps edges sharp and the file small.
    """
    out = io.BytesIO()
    for page in pages:
        crisp = page.convert("1", dither=Image.Dither.NONE)
        extra = {"append": True} if out.tell() else {"creationDate": None, "modDate": None}
        out.seek(0)
        crisp.save(out, "PDF", resolution=PDF_DPI, title="", **extra)
        out.seek(0, io.SEEK_END)
    return out.getvalue()
