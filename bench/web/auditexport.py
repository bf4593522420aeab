"""The audit as CSV and as JSON: the samples as they are, and the figures with the ids behind them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, astuple, fields, is_dataclass, replace
from itertools import islice
from typing import Any

from bench.core.audit.gauges import pairs_of, pooled
from bench.core.audit.samples import CaliperReading, GaugeReading, Remount
from bench.core.audit.selection import Selection, Side
from bench.core.audit.spread import Spread
from bench.web.auditview import Signalled, View
from bench.web.csvlines import csv_line
from bench.web.personfigures import audit

TABLES: dict[str, type] = {
    "remounts": Remount, "gauges": GaugeReading, "calipers": CaliperReading,
}  # fmt: skip
PERSONAL = frozenset({"technician", "person"})
_SIDES: tuple[Side, ...] = ("surveyor", "method", "cast", "technician")
IDS_AT_ONCE = 500


def csv_lines(of: str, view: View) -> Iterator[str]:
    """Return the samples of a table as CSV (RFC 4180): a line of names with their units, then one each.

    Persons are left blank while single persons are not shown.
    """
    names = [field.name for field in fields(TABLES[of])]
    hidden = PERSONAL if not view.people.shown else frozenset()
    yield csv_line(names)
    with audit().at_once():
        for sample in _samples(of, view):
            values = zip(names, astuple(sample), strict=True)
            yield csv_line("" if name in hidden else value for name, value in values)


def _samples(of: str, view: View) -> Iterable[Any]:
    every = {
        "remounts": audit().every, "gauges": audit().every_gauge, "calipers": audit().every_caliper,
    }  # fmt: skip
    return every[of](view.selection)


def json_parts(view: View) -> Iterator[str]:
    """Yield, piece by piece, the figures of everything and of each group, the signals, and all their entries.

    Figures and ids are of one moment; no list of ids is ever held as a whole.
    """
    with audit().at_once():
        before = "{"
        for name, pieces in _members(view):
            yield f"{before}{_text(name)}: "
            yield from pieces
            before = ", "
        yield "}"


def _members(view: View) -> Iterator[tuple[str, Iterable[str]]]:
    yield "asked", [_text(view.asked.args())]
    yield "tolerance_deg", [_text(view.tolerance_deg)]
    yield "whole", _with_entries(_spread(view.whole), view.selection)
    for side in _SIDES if view.people.shown else _SIDES[:-1]:
        yield side, _listed(_groups(view, side))
    yield "gauge_agreement", [_text(_gauges(view))]
    yield "calipers", [_text(_document(view.calipers))]
    yield "signals", [_text([_signal(one) for one in view.signals])]


def _signal(one: Signalled) -> dict[str, Any]:
    seen = one.acknowledged.id if one.acknowledged else None
    return {**_document(one.signal), "key": one.signal.key, "acknowledged_by": seen}


def _text(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _listed(items: Iterable[Iterable[str]]) -> Iterator[str]:
    yield "["
    for number, pieces in enumerate(items):
        yield ", " if number else ""
        yield from pieces
    yield "]"


def _with_entries(figures: dict[str, Any], selection: Selection) -> Iterator[str]:
    """Yield figures with the ids of their entries, some hundred at a time."""
    yield f'{_text(figures)[:-1]}, "entries": ['
    ids, before = audit().ids(selection), ""
    while some := list(islice(ids, IDS_AT_ONCE)):
        yield before + ", ".join(map(_text, some))
        before = ", "
    yield "]}"


def _groups(view: View, side: Side) -> Iterator[Iterator[str]]:
    if side == "cast":
        for code, count in audit().casts(view.selection):
            named = {"name": code, "count": count}
            yield _with_entries(named, replace(view.selection, cast=code))
        return
    for name, spread in view.spreads(side).items():
        named = {"name": name, **_spread(spread)}
        yield _with_entries(named, _narrowed(view.selection, side, name))


def _narrowed(selection: Selection, side: Side, name: str) -> Selection:
    if side == "surveyor":
        return replace(selection, surveyor=name)
    return (
        replace(selection, method=name) if side == "method" else replace(selection, technician=name)
    )


def _spread(one: Spread) -> dict[str, Any]:
    found: dict[str, Any] = _document(one)
    for axis, figures in (("ap", one.ap), ("lat", one.lat)):
        found[axis] |= {
            "repeatability_limit": figures.repeatability_limit,
            "reproducibility_limit": figures.reproducibility_limit,
            "between_clamped": figures.between_clamped,
        }
    return found


def _gauges(view: View) -> dict[str, Any]:
    pairs = pairs_of(audit().gauges(view.selection))
    return {
        "between_two": _document(pooled(pairs, own=False)), "own_repeats": _document(pooled(pairs, own=True)),
    }  # fmt: skip


def _document(value: Any) -> Any:
    return asdict(value) if is_dataclass(value) and not isinstance(value, type) else value
