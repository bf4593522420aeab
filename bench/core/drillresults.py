"""What a drill shows: how well readings repeat, by one technician and between technicians, with intervals."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import fsum, sqrt

from bench.core.agreement import Agreement, Raw, agreeing_subjects, fleiss, gwet, raw_agreement
from bench.core.components import Components, components
from bench.core.directions import TWO_RECORDS
from bench.core.drills import Drill, order_of
from bench.core.entries import DrillReading, Entry
from bench.core.entries.vocabulary import CONTACTS
from bench.core.precision import Precision, precision
from bench.core.remount import HeightsRefused, tilt_off
from bench.core.tripod import triangle_from

Value = Callable[[DrillReading], float]
Table = dict[str, dict[str, list[float]]]


@dataclass(frozen=True)
class Measured:
    """One figure that a drill repeats: `axis` is distance, ap or lat; its unit is mm or deg.

    `by_cast` are repeatability and reproducibility of each cast; `parts` where the spread comes from.
    """

    axis: str
    unit: str
    parts: Components
    by_cast: Mapping[str, Precision]


@dataclass(frozen=True)
class Agreed:
    """How readings in categories agree: raw, kappa, and AC1, which holds when one category rules."""

    raw: Raw
    kappa: Agreement
    ac1: Agreement


@dataclass(frozen=True)
class Tallied:
    """The agreement of a drill of categories: between technicians, and of each with themself.

    `table` holds for each cast and technician the contacts in the order they were read.
    """

    between: Agreed
    within: Mapping[str, Agreed]
    table: Mapping[str, Mapping[str, tuple[str, ...]]]


@dataclass(frozen=True)
class Results:
    """What a drill shows so far: figures for measured readings, agreement for categories."""

    measured: tuple[Measured, ...] = ()
    tallied: Tallied | None = None
    left_out: int = 0

    @property
    def two_records_deg(self) -> float | None:
        """The total angle that two records of one person differ by less than, 95 times of 100.

        An angle is no signed reading: the factor is 3.46 on the SD of one axis, not 2.8.
        """
        parts = [one.parts.variances for one in self.measured if one.unit == "deg"]
        if not parts or None in parts:
            return None
        return TWO_RECORDS * sqrt(fsum(one.repeat.variance for one in parts if one) / len(parts))


def results_of(drill: Drill) -> Results:
    """Return what a drill shows from the readings taken so far; each figure says what it lacks.

    `left_out` counts readings whose heights no cast of this shape can have. Technicians count who
    have read, so that one who has not begun does not keep the others' figures back.
    """
    if drill.plan.reads == "undercut":
        return Results(tallied=_tallied(drill))
    if drill.plan.reads == "distance":
        table = _table(drill, lambda body: body.values_mm[0])
        return Results((_measured("distance", "mm", table),))
    fitting = {
        e.id: tilt for e in readings_in_order(drill) if (tilt := tilt_in(drill, e)) is not None
    }
    axes = [_axis(drill, axis, {key: pair[place] for key, pair in fitting.items()})
            for place, axis in enumerate(("ap", "lat"))]  # fmt: skip
    return Results(tuple(axes), left_out=drill.taken - len(fitting))


def readings_in_order(drill: Drill) -> list[Entry]:
    """Return the readings in the order each technician took them."""
    return [
        drill.read[technician][turn.number]
        for technician in drill.plan.technicians
        for turn in order_of(drill.plan, technician)
        if turn.number in drill.read.get(technician, {})
    ]


def _body(entry: Entry) -> DrillReading:
    assert isinstance(entry.body, DrillReading)
    return entry.body


def _table(drill: Drill, value: Value) -> Table:
    return _filled(
        drill, {e.id: value(_body(e)) for e in readings_in_order(drill) if _body(e).values_mm}
    )


def _filled(drill: Drill, values: Mapping[str, float]) -> Table:
    table: Table = {cast: {} for cast in drill.plan.casts}
    for entry in readings_in_order(drill):
        body = _body(entry)
        if entry.id in values and body.cast in table:
            table[body.cast].setdefault(entry.person, []).append(values[entry.id])
    return table


def _measured(axis: str, unit: str, table: Table) -> Measured:
    """Casts that nobody has read yet are left out of the parts, so that a drill broken off shows some."""
    read = {cast: cells for cast, cells in table.items() if cells}
    return Measured(
        axis, unit, components(read), {cast: precision(cells) for cast, cells in table.items()}
    )


def _axis(drill: Drill, axis: str, values: Mapping[str, float]) -> Measured:
    return _measured(axis, "deg", _filled(drill, values))


def tilt_in(drill: Drill, entry: Entry) -> tuple[float, float] | None:
    """Return the tilt (degrees, front and side) that heights read on a cast make, None for none it can have."""
    body = _body(entry)
    if body.cast not in drill.plan.casts:
        return None
    first = 3 * drill.plan.casts.index(body.cast)
    d_ab_mm, d_ac_mm, d_bc_mm = drill.plan.distances_mm[first : first + 3]
    marks = triangle_from(d_ab_mm, d_ac_mm, d_bc_mm).marks_mm
    try:
        off = tilt_off(marks, body.values_mm)
    except HeightsRefused:
        return None
    return off.ap_deg, off.lat_deg


def _tallied(drill: Drill) -> Tallied:
    table: dict[str, dict[str, list[str]]] = {cast: {} for cast in drill.plan.casts}
    for entry in readings_in_order(drill):
        body = _body(entry)
        if body.cast in table and body.contact:
            table[body.cast].setdefault(entry.person, []).append(body.contact)
    first = [[row[0] for row in cells.values()] for cells in table.values()]
    within = {
        name: _agreed([cells.get(name, []) for cells in table.values()])
        for name in drill.plan.technicians
    }
    shown = {
        cast: {name: tuple(row) for name, row in cells.items()} for cast, cells in table.items()
    }
    return Tallied(_agreed(first), within, shown)


def _agreed(rows: Sequence[Sequence[str]]) -> Agreed:
    counts = [[row.count(contact) for contact in CONTACTS] for row in rows]
    return Agreed(raw_agreement(*agreeing_subjects(counts)), fleiss(counts), gwet(counts))
