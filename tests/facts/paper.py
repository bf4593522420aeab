"""Sheets of paper, width and height in millimetres.

A4: ISO 216, from memory. Letter: 8.5 by 11 inches (ANSI/ASME Y14.1 size A, from memory) at the
25.4 mm of an inch.
"""

from __future__ import annotations

SIZES_MM = {"A4": (210.0, 297.0), "Letter": (8.5 * 25.4, 11 * 25.4)}
