"""A drill as CSV and as JSON: its readings, and its figures with the ids behind them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from bench.core.drillresults import Agreed, Measured, tilt_in
from bench.core.drills import order_of
from bench.core.entries import DrillReading, Entry
from bench.core.precision import Precision
from bench.web.csvlines import csv_line
from bench.web.drillfigures import parts
from bench.web.drillview import Shown

COLUMNS = (
    "entry", "at", "person", "turn", "cast", "repeat", "site", "gauge_mm", "contact",
    "value_1_mm", "value_2_mm", "value_3_mm", "ap_deg", "lat_deg", "instrument",
)  # fmt: skip


def csv_lines(shown: Shown) -> Iterator[str]:
    """Yield the readings asked for as CSV; the persons are blank where names are not shown."""
    yield csv_line(COLUMNS)
    for entry in shown.readings:
        yield csv_line(_row(shown, entry).values())


def json_text(shown: Shown) -> str:
    """Return plan, figures and readings, each figure with the ids of its entries."""
    drill, found = shown.drill, shown.results
    document = {
        "drill": drill.id, "plan": asdict(drill.plan), "closed": bool(drill.closed),
        "taken": drill.taken, "wanted": drill.wanted,
        "asked": {"cast": shown.cast, "person": shown.person},
        "measured": [_measured(shown, one) for one in found.measured],
        "two_records_deg": found.two_records_deg, "left_out": found.left_out,
        "agreement": _agreement(shown),
        "readings": [_row(shown, entry) for entry in shown.readings],
    }  # fmt: skip
    if not shown.people.shown:
        document["plan"] = {**asdict(drill.plan), "technicians": len(drill.plan.technicians)}
    return json.dumps(document, ensure_ascii=False, allow_nan=False)


def _row(shown: Shown, entry: Entry) -> dict[str, object]:
    body, plan = entry.body, shown.drill.plan
    assert isinstance(body, DrillReading)
    named, values = shown.named(entry.person), [*body.values_mm, None, None, None]
    turns = {turn.number: turn for turn in order_of(plan, entry.person)}
    tilt = tilt_in(shown.drill, entry) if plan.reads == "tripod_heights" else None
    site = plan.sites[plan.casts.index(body.cast)] if plan.sites and body.cast in plan.casts else ""
    found = (
        entry.id, entry.at, entry.person if named else "", body.turn if named else None, body.cast,
        turns[body.turn].repeat if body.turn in turns else None, site, plan.gauge_mm, body.contact,
        *values[:3], *(tilt or (None, None)), body.instrument,
    )  # fmt: skip
    return dict(zip(COLUMNS, found, strict=True))


def _measured(shown: Shown, one: Measured) -> dict[str, Any]:
    return {
        "axis": one.axis, "unit": one.unit, "readings": one.parts.readings,
        "parts": {
            name: {"sd": part.sd, "interval": part.sd_interval, "clamped": part.clamped}
            for name, part in parts(one.parts)
        },
        "missing": [asdict(lack) for lack in one.parts.missing],
        "by_cast": {
            cast: {**_precision(found), "entries": shown.ids_of(cast)}
            for cast, found in one.by_cast.items()
        },
        "entries": shown.ids_of(),
    }  # fmt: skip


def _precision(found: Precision) -> dict[str, Any]:
    return {
        "readings": found.readings,
        "repeatability_sd": found.repeatability_sd,
        "repeatability_interval": found.repeatability_interval,
        "reproducibility_sd": found.reproducibility_sd,
        "reproducibility_interval": found.reproducibility_interval,
        "missing": [asdict(lack) for lack in found.missing],
    }


def _agreement(shown: Shown) -> dict[str, Any] | None:
    tallied = shown.results.tallied
    if tallied is None:
        return None
    within = {
        name: {**_agreed(one), "entries": shown.ids_of(person=name)}
        for name, one in tallied.within.items() if shown.named(name)
    }  # fmt: skip
    return {"between": {**_agreed(tallied.between), "entries": shown.ids_of()}, "within": within}


def _agreed(one: Agreed) -> dict[str, Any]:
    return {"raw": asdict(one.raw), "kappa": asdict(one.kappa), "ac1": asdict(one.ac1)}
