"""What a case's entries hold for the audit: re-mounts, gauge readings and caliper readings repeated."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from bench.core.case import Case, Said
from bench.core.entries import Entry, Remounted, TripodMarked, UndercutRead, Withdrawn
from bench.core.surfaces import Surface

# A cast read again within this time, by the same person on the same record after a reading outside
# the tolerance, was corrected and not put back anew (common practice, no source).
ROUND_S = 3600.0
# Distances of one triangle read again lie closer than this; others belong to new marks (common
# practice, no source).
SAME_MARKS_MM = 2.0


@dataclass(frozen=True, slots=True)
class Remount:
    """What was still off, degrees, when a cast was put back: one reading of a round of readings.

    A round is one putting back: its first reading is before correction, its last one after; `round`
    is the id of its first entry. `record` is the tripod, or else the setting, that it was held to.
    """

    entry: str
    round: str
    at: str
    case: str
    technician: str
    surveyor: str
    method: str
    record: str
    ap_deg: float
    lat_deg: float
    total_deg: float
    tolerance_deg: float
    first: bool
    last: bool


@dataclass(frozen=True, slots=True)
class GaugeReading:
    """A site read with a gauge at a setting that others, or the same person, read as well.

    It is what was read: also where a later statement put it aside, unless it was taken back.
    """

    entry: str
    at: str
    case: str
    setting: str
    tooth: int
    surface: Surface
    gauge_mm: float
    person: str
    contact: str

    @property
    def subject(self) -> tuple[str, str, int, str, float]:
        """What was read: case, setting, tooth, surface and gauge."""
        return self.case, self.setting, self.tooth, self.surface, self.gauge_mm


@dataclass(frozen=True, slots=True)
class CaliperReading:
    """The distances of a triangle of marks, mm, that was measured more than once.

    `marks` is the id of the entry that measured it first.
    """

    entry: str
    at: str
    case: str
    marks: str
    person: str
    d_ab_mm: float
    d_ac_mm: float
    d_bc_mm: float

    @property
    def sides_mm(self) -> tuple[float, float, float]:
        """The three distances."""
        return self.d_ab_mm, self.d_ac_mm, self.d_bc_mm


@dataclass(frozen=True, slots=True)
class Samples:
    """Everything of one case that the audit rests on, in order of the entries' ids."""

    remounts: tuple[Remount, ...] = ()
    gauges: tuple[GaugeReading, ...] = ()
    calipers: tuple[CaliperReading, ...] = ()


def samples_of(case: Case) -> Samples:
    """Return what a case holds for the audit.

    Re-mounts count while they stand. Readings with gauge and caliper count as they were read, also
    when a later statement put them aside; a statement made in place of others is a decision in
    their knowledge and no reading.
    """
    return Samples(
        tuple(_remounts(case)), tuple(_gauges(case)), tuple(_calipers(case)),
    )  # fmt: skip


def _remounts(case: Case) -> Iterator[Remount]:
    for readings in _rounds(case.said(Remounted)):
        for place, said in enumerate(readings):
            made = _remount(case.code, readings[0].entry.id, said)
            yield replace(made, first=place == 0, last=place == len(readings) - 1)


def _rounds(said: Sequence[Said[Remounted]]) -> list[list[Said[Remounted]]]:
    rounds: list[list[Said[Remounted]]] = []
    for one in said:
        if rounds and _corrected(rounds[-1][-1], one):
            rounds[-1].append(one)
        else:
            rounds.append([one])
    return rounds


def _corrected(before: Said[Remounted], after: Said[Remounted]) -> bool:
    """Say whether a reading was made after correcting what the one before found."""
    if before.body.passes or _held_to(before) != _held_to(after):
        return False
    passed = datetime.fromisoformat(after.entry.at) - datetime.fromisoformat(before.entry.at)
    return 0 <= passed.total_seconds() <= ROUND_S


def _held_to(said: Said[Remounted]) -> tuple[str, str, str, str]:
    body = said.body
    return said.entry.person, body.tripod or said.entry.setting or "", body.method, body.surveyor


def _remount(code: str, first: str, said: Said[Remounted]) -> Remount:
    entry, body = said.entry, said.body
    return Remount(
        entry=entry.id, round=first, at=entry.at, case=code, technician=entry.person,
        surveyor=body.surveyor, method=body.method, record=body.tripod or entry.setting or "",
        ap_deg=body.ap_deg, lat_deg=body.lat_deg, total_deg=body.total_deg,
        tolerance_deg=body.tolerance_deg, first=True, last=True,
    )  # fmt: skip


def _as_read(case: Case, kind: type) -> list[Entry]:
    """Return the readings of a kind that were made at a setting and not taken back."""
    return [
        entry for entry in case.entries
        if isinstance(entry.body, kind) and entry.setting and not entry.supersedes
        and not _taken_back(case, entry)
    ]  # fmt: skip


def _taken_back(case: Case, entry: Entry) -> bool:
    by = case.aside.get(entry.id)
    return by is not None and isinstance(by.body, Withdrawn)


def _gauges(case: Case) -> Iterator[GaugeReading]:
    readings = [_gauge(case.code, entry) for entry in _as_read(case, UndercutRead)]
    by_subject: defaultdict[tuple[str, str, int, str, float], int] = defaultdict(int)
    for reading in readings:
        by_subject[reading.subject] += 1
    yield from (reading for reading in readings if by_subject[reading.subject] > 1)


def _gauge(code: str, entry: Entry) -> GaugeReading:
    body = entry.body
    assert isinstance(body, UndercutRead)
    return GaugeReading(
        entry.id, entry.at, code, entry.setting or "", body.tooth, body.surface, body.gauge_mm,
        entry.person, body.contact,
    )  # fmt: skip


def _calipers(case: Case) -> Iterator[CaliperReading]:
    groups: list[list[Entry]] = []
    for entry in _as_read(case, TripodMarked):
        same = next((group for group in groups if _same_marks(group[0], entry)), None)
        if same is None:
            groups.append([entry])
        else:
            same.append(entry)
    found = [
        _caliper(case.code, group[0].id, one) for group in groups if len(group) > 1 for one in group
    ]
    yield from sorted(found, key=lambda one: one.entry)


def _same_marks(one: Entry, other: Entry) -> bool:
    sides = zip(_sides_mm(one), _sides_mm(other), strict=True)
    return one.setting == other.setting and all(abs(a - b) <= SAME_MARKS_MM for a, b in sides)


def _sides_mm(entry: Entry) -> tuple[float, float, float]:
    body = entry.body
    assert isinstance(body, TripodMarked)
    return body.d_ab_mm, body.d_ac_mm, body.d_bc_mm


def _caliper(code: str, marks: str, entry: Entry) -> CaliperReading:
    return CaliperReading(entry.id, entry.at, code, marks, entry.person, *_sides_mm(entry))
