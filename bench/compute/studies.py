"""The computations on repeat readings: precision, agreement and charts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated

import msgspec
from msgspec import Meta

from bench.compute.answering import NotTaken
from bench.compute.given import Given, Name
from bench.core.agreement import (
    Agreement,
    agreeing_subjects,
    cohen,
    fleiss,
    gwet,
    raw_agreement,
    readers_as_counts,
    table_of,
)
from bench.core.charts import individuals_chart
from bench.core.drift import drift_of
from bench.core.enough import Shortage
from bench.core.outlying import Standout, cochran, grubbs, mandel
from bench.core.precision import precision as precision_of
from bench.core.runrules import Signal

Answer = dict[str, object]
Reading = Annotated[float, Meta(ge=-1e15, le=1e15)]
Readings = Annotated[tuple[Reading, ...], Meta(max_length=10_000)]
Count = Annotated[int, Meta(ge=0, le=1000)]
Category = Annotated[str, Meta(max_length=100)] | int | bool


class PrecisionGiven(Given, frozen=True):
    """Readings by person (or laboratory), then by item."""

    cells: Annotated[dict[Name, dict[Name, Readings]], Meta(max_length=1000)]


class KappaGiven(Given, frozen=True):
    """A table of subjects by categories (how many readers chose each), or two readers' pairs."""

    table: Annotated[tuple[tuple[Count, ...], ...], Meta(max_length=10_000)] | msgspec.UnsetType = (
        msgspec.UNSET
    )
    pairs: (
        Annotated[tuple[tuple[Category, Category], ...], Meta(max_length=10_000)]
        | msgspec.UnsetType
    ) = msgspec.UNSET


class ChartGiven(Given, frozen=True):
    """Readings in order, and how many of the first set the limits (all when left out)."""

    readings: Readings
    baseline: Annotated[int, Meta(ge=2)] | None = None


def precision(given: PrecisionGiven) -> Answer:
    """Return repeatability and reproducibility of each item, with who stands out."""
    items = dict.fromkeys(item for cells in given.cells.values() for item in cells)
    return {item: _precision(_of_item(given, item)) for item in items}


def kappa(given: KappaGiven) -> Answer:
    """Return kappa (Fleiss' of a table, Cohen's of pairs), AC1 and raw agreement."""
    if isinstance(given.table, tuple) == isinstance(given.pairs, tuple):
        raise NotTaken("bad_input", "Give either a table or pairs. Kappa is of one of them.")
    if isinstance(given.pairs, tuple):
        square = table_of([(_told_apart(a), _told_apart(b)) for a, b in given.pairs])
        return _kappa("Cohen", cohen(square), readers_as_counts(square))
    table = given.table if isinstance(given.table, tuple) else ()
    return _kappa("Fleiss", fleiss(table), table)


def chart(given: ChartGiven) -> Answer:
    """Return the chart of single readings, their moving ranges and their weighted averages."""
    drawn = individuals_chart(given.readings, given.baseline)
    drift = drift_of(given.readings, given.baseline)
    return {
        "readings": drawn.readings,
        "baseline": drawn.baseline,
        "centre": drawn.centre,
        "sd": drawn.sd,
        "limits": None if drawn.lower is None else (drawn.lower, drawn.upper),
        "moving_range": {"centre": drawn.mean_moving_range, "upper": drawn.moving_range_upper},
        "settled": drawn.settled,
        "signals": _signals(drawn.signals + drift.signals),
        "missing": _missing(drawn.missing),
    }


def _of_item(given: PrecisionGiven, item: str) -> Mapping[str, Sequence[float]]:
    return {person: cells[item] for person, cells in given.cells.items() if item in cells}


def _precision(cells: Mapping[str, Sequence[float]]) -> Answer:
    found, ends = precision_of(cells), grubbs(cells)
    return {
        "persons": found.persons,
        "readings": found.readings,
        "mean": found.mean,
        "s_r": found.repeatability_sd,
        "s_L": found.between_sd,
        "s_R": found.reproducibility_sd,
        "s_r_interval": found.repeatability_interval,
        "s_R_interval": found.reproducibility_interval,
        "s_L_clamped": found.between_clamped,
        "r_limit": found.repeatability_limit,
        "R_limit": found.reproducibility_limit,
        "cochran": _standout(cochran(cells)),
        "grubbs": {"largest": _standout(ends.largest), "smallest": _standout(ends.smallest)},
        "mandel": [{"person": row.person, "h": row.h, "k": row.k} for row in mandel(cells).rows],
        "missing": _missing(found.missing),
    }


def _standout(found: Standout) -> Answer:
    return {
        "person": found.person,
        "value": found.value,
        "critical_5": found.critical_5,
        "critical_1": found.critical_1,
        "verdict": found.verdict,
        "missing": _missing(found.missing),
    }


def _kappa(name: str, found: Agreement, counts: Sequence[Sequence[int]]) -> Answer:
    one = gwet(counts)
    raw = raw_agreement(*agreeing_subjects(counts))
    return {
        "kind": name,
        "subjects": found.subjects,
        "kappa": found.value,
        "observed": found.observed,
        "expected": found.expected,
        "interval": found.interval,
        "undefined": found.undefined,
        "ac1": one.value,
        "ac1_interval": one.interval,
        "all_agree": {"subjects": raw.agreeing, "share": raw.share, "interval": raw.interval},
        "missing": _missing(found.missing),
    }


def _told_apart(value: str | int | bool) -> tuple[str, str | int | bool]:
    """Return a category that is not equal to one of another type, as 1 and true are in Python."""
    return type(value).__name__, value


def _signals(signals: Sequence[Signal]) -> list[Answer]:
    ordered = sorted(signals, key=lambda signal: signal.at)
    return [{"rule": s.rule, "side": s.side, "at": s.at, "indexes": s.indexes} for s in ordered]


def _missing(missing: Sequence[Shortage]) -> list[Answer]:
    return [
        {"what": m.what, "where": m.where, "have": m.have, "need": m.need, "message": str(m)}
        for m in missing
    ]
