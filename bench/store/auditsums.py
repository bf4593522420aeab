"""Sums of re-mounts by group: whole months from their own table, only the ends of a time one by one."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Sequence
from dataclasses import replace

from bench.core.audit.selection import Selection, Side
from bench.core.audit.sums import Sums

Where = tuple[list[str], list[object]]
COLUMN: dict[Side, str] = {
    "technician": "technician", "surveyor": "surveyor", "cast": "code", "method": "method",
}  # fmt: skip
_NAMES = ("count", "inside", "ap", "ap_squares", "lat", "lat_squares", "x", "y", "sunk")
_MONTHLY = ", ".join(_NAMES)
_SINGLE = "1, total <= tolerance, ap, ap * ap, lat, lat * lat, x, y, sunk"
_TOTALS = ", ".join(f"sum({name})" for name in _NAMES)
_A_TIME = re.compile(r"\d{4}-\d\d-\d\dT[\d:.]+Z", re.ASCII)
_BEGINS = "-01T00:00:00.000Z"


def sums_by(
    conn: sqlite3.Connection, selection: Selection, sides: Sequence[Side]
) -> dict[tuple[str, ...], Sums]:
    """Return the sums of a selection for each combination of the sides given that occurs."""
    columns = ", ".join(COLUMN[side] for side in sides)
    parts = _parts(selection, "cast" in sides)
    told = [
        f"SELECT {columns}, {figures} FROM {table} WHERE {' AND '.join(where)}"
        for table, figures, where, _ in parts
    ]
    names = f"{columns}, {', '.join(_NAMES)}"
    sql = (
        f"WITH parts ({names}) AS ({' UNION ALL '.join(told)}) "
        f"SELECT {columns}, {_TOTALS} FROM parts GROUP BY {columns} HAVING sum(count) > 0"
    )
    rows = conn.execute(sql, [value for _, _, _, params in parts for value in params])
    return {tuple(row[: len(sides)]): Sums(*row[len(sides) :]) for row in rows}


def sums_of_casts(
    conn: sqlite3.Connection, selection: Selection, codes: Sequence[str]
) -> dict[tuple[str, ...], Sums]:
    """Return the sums of some casts by cast and technician."""
    found: dict[tuple[str, ...], Sums] = {}
    for code in codes:
        found |= sums_by(conn, replace(selection, cast=code), ("cast", "technician"))
    return found


def condition(selection: Selection) -> Where:
    """Return the condition on a re-mount to belong to a selection, and its parameters."""
    where, params = of_somebody(selection)
    for sql, value in (("at >= ?", selection.since), ("at < ?", selection.until)):
        if value:
            where.append(sql)
            params.append(value)
    if selection.cast is not None:
        where.append("code = ?")
        params.append(selection.cast)
    return where, params


def of_somebody(selection: Selection) -> Where:
    """Return the condition on person, surveyor, method and reading alone."""
    where, params = ["1"], list[object]()
    for side in ("technician", "surveyor", "method"):
        asked = getattr(selection, side)
        if asked is not None:
            where.append(f"{side} = ?")
            params.append(asked)
    if selection.reading != "every":
        where.append(selection.reading)
    return where, params


Part = tuple[str, str, list[str], list[object]]


def _parts(selection: Selection, by_cast: bool) -> list[Part]:
    ends = [end for end in (selection.since, selection.until) if end]
    if by_cast or selection.cast is not None or not all(map(_A_TIME.fullmatch, ends)):
        return [("audit_remounts", _SINGLE, *condition(selection))]
    since, until = selection.since, selection.until
    first = _month_from(since) if since else ""
    last = until[:7] + _BEGINS if until else ""
    parts = [
        _part(
            "audit_months", _MONTHLY, selection, ("month >= ?", first[:7]), ("month < ?", last[:7])
        )
    ]
    if since:
        before = min(first, until) if until else first
        parts.append(_single(selection, since, before))
    if until:
        parts.append(_single(selection, max(first, last), until))
    return parts


def _month_from(at: str) -> str:
    """Return when the first month begins that holds nothing from before a time."""
    year, month = int(at[:4]), int(at[5:7])
    if at == at[:7] + _BEGINS:
        return at
    return f"{year + month // 12:04}-{month % 12 + 1:02}{_BEGINS}"


def _single(selection: Selection, since: str, until: str) -> Part:
    return _part("audit_remounts", _SINGLE, selection, ("at >= ?", since), ("at < ?", until))


def _part(table: str, figures: str, selection: Selection, *bounds: tuple[str, str]) -> Part:
    where, params = of_somebody(selection)
    known = [(sql, value) for sql, value in bounds if value]
    return table, figures, [*where, *(sql for sql, _ in known)], [*params, *(v for _, v in known)]
