"""The audit as CSV and as JSON: the samples as they are, and the figures with the ids behind them."""

from __future__ import annotations

import csv
import io
import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, astuple, fields, is_dataclass
from typing import Any

from bench.core.audit.gauges import pairs_of, pooled
from bench.core.audit.samples import CaliperReading, GaugeReading, Remount
from bench.core.audit.spread import Spread
from bench.web.auditview import View, audit

TABLES: dict[str, type] = {
    "remounts": Remount, "gauges": GaugeReading, "calipers": CaliperReading,
}  # fmt: skip
PERSONAL = frozenset({"technician", "person"})
# A spreadsheet takes text that begins with one of these for a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_SIDES = ("surveyor", "method", "cast", "technician")


def csv_lines(of: str, view: View) -> Iterator[str]:
    """Return the samples of a table as CSV (RFC 4180): a line of names with their units, then one each.

    Persons are left blank while single persons are not shown.
    """
    names = [field.name for field in fields(TABLES[of])]
    hidden = PERSONAL if not view.people.shown else frozenset()
    # Asked for here, while the request is there: the lines are read when it is answered already.
    return _lines(names, {n for n, name in enumerate(names) if name in hidden}, _samples(of, view))


def _lines(names: list[str], hidden: set[int], samples: Iterable[Any]) -> Iterator[str]:
    yield _csv_line(names)
    for sample in samples:
        yield _csv_line(["" if n in hidden else _plain(v) for n, v in enumerate(astuple(sample))])


def _samples(of: str, view: View) -> Iterable[Any]:
    if of == "remounts":
        return audit().every(view.selection)
    return audit().gauges(view.selection) if of == "gauges" else audit().calipers(view.selection)


def _plain(value: object) -> object:
    if isinstance(value, bool):
        return int(value)
    if isinstance(value, str) and value.startswith(_FORMULA):
        return f"'{value}"
    return value


def _csv_line(values: list[Any]) -> str:
    out = io.StringIO()
    csv.writer(out).writerow(values)
    return out.getvalue()


def json_text(view: View) -> str:
    """Return the figures of everything and of each group, the signals, and the ids of their entries."""
    ids = _ids(view)
    sides = _SIDES if view.people.shown else _SIDES[:-1]
    groups = {side: _groups(view, side, ids[side]) for side in sides}
    document = {
        "asked": view.asked.args(),
        "tolerance_deg": view.tolerance_deg,
        "whole": {**_spread(view.whole), "entries": [key for by in ids["method"].values() for key in by]},
        **groups,
        "gauge_agreement": _gauges(view),
        "calipers": _document(view.calipers),
        "signals": [{**_document(one.signal), "key": one.signal.key,
                     "acknowledged_by": one.acknowledged.id if one.acknowledged else None}
                    for one in view.signals],
    }  # fmt: skip
    return json.dumps(document, ensure_ascii=False, allow_nan=False)


def _ids(view: View) -> Mapping[str, Mapping[str, list[str]]]:
    found: dict[str, defaultdict[str, list[str]]] = {side: defaultdict(list) for side in _SIDES}
    for one in audit().every(view.selection):
        named = (one.surveyor, one.method, one.case, one.technician)
        for side, name in zip(_SIDES, named, strict=True):
            found[side][name].append(one.entry)
    return found


def _groups(view: View, side: Any, ids: Mapping[str, list[str]]) -> list[dict[str, Any]]:
    if side == "cast":
        return [
            {"name": name, "count": len(ids[name]), "entries": ids[name]} for name in sorted(ids)
        ]
    spreads = view.spreads(side)
    return [{"name": name, **_spread(one), "entries": ids[name]} for name, one in spreads.items()]


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
