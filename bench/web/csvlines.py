"""Lines of CSV as RFC 4180 has them, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

# A spreadsheet takes text that begins with one of these for a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def csv_line(values: Iterable[object]) -> str:
    """Return one line; yes and no are 1 and 0, nothing is blank."""
    out = io.StringIO()
    csv.writer(out).writerow([_plain(value) for value in values])
    return out.getvalue()


def _plain(value: object) -> object:
    if isinstance(value, bool):
        return int(value)
    if isinstance(value, str) and value.startswith(_FORMULA):
        return f"'{value}"
    return value
