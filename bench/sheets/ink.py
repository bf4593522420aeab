"""The inks, letters and styles of paper: the same few colours as on the pages."""

from __future__ import annotations

import unicodedata
from html import escape
from typing import Any

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph

from bench.sheets.blocks import Force, unbroken

# The standard fonts hold no minus sign; their en dash is as long.
_MINUS, _EN_DASH = "\u2212", "\u2013"
PLAIN, BOLD = "Helvetica", "Helvetica-Bold"
INK: Color = HexColor(0x1F2A33)
SOFT: Color = HexColor(0x4D5760)
HAIR: Color = HexColor(0xB9AF9C)
EDGE: Color = HexColor(0x6B7178)
DONE: Color = HexColor(0x285A48)
STALE: Color = HexColor(0x83500A)
STALE_LINE: Color = HexColor(0xB9791C)
STOP: Color = HexColor(0xA1261C)
WASH: Color = HexColor(0xF2EDE2)
DONE_WASH: Color = HexColor(0xDBE7DF)
STALE_WASH: Color = HexColor(0xFBEED3)
STOP_WASH: Color = HexColor(0xFAE3DE)
WHITE: Color = HexColor(0xFFFFFF)
OF_FORCE: dict[Force, Color] = {"plain": INK, "done": DONE, "stale": STALE, "stopped": STOP}


def latin(text: str, *, parted: bool = False) -> str:
    """Return text in the letters that the standard fonts of PDF hold; '?' stands for any other.

    Soft hyphens go, unless the text is parted into lines by what takes it.
    """
    return "".join(_letter(sign) for sign in (text if parted else text.replace("\u00ad", "")))


def _letter(sign: str) -> str:
    if sign == _MINUS:
        return _EN_DASH
    try:
        sign.encode("cp1252")
        return sign
    except UnicodeEncodeError:
        plain = unicodedata.normalize("NFKD", sign).encode("ascii", "ignore").decode()
        return plain or ("" if unicodedata.combining(sign) else "?")


def style(
    size_pt: float, *, bold: bool = False, ink: Color = INK, lead: float = 1.22
) -> ParagraphStyle:
    """Return a style of text: its size in points, its leading as a multiple."""
    return ParagraphStyle(
        "text", fontName=BOLD if bold else PLAIN, fontSize=size_pt, leading=size_pt * lead, textColor=ink,
        splitLongWords=1,
    )  # fmt: skip


def words(text: str, look: ParagraphStyle) -> Any:
    """Return a paragraph of plain text: nothing in it is taken for markup."""
    return Paragraph(escape(unbroken(latin(text, parted=True)), quote=False), look)


def labelled(label: str, text: str, look: ParagraphStyle) -> Any:
    """Return a paragraph that begins with a soft label."""
    told, value = (escape(unbroken(latin(one, parted=True)), quote=False) for one in (label, text))
    return Paragraph(f'<font color="#{SOFT.hexval()[2:]}">{told}:</font> {value}', look)
