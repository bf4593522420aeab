"""The invented laboratory: its people, its instruments with their checks, and its policy."""

from __future__ import annotations

from bench.core.entries import (
    Body,
    DevicePaired,
    DeviceRevoked,
    FiguresLookedAt,
    InstrumentAdded,
    InstrumentChecked,
    InstrumentRetired,
    InstrumentReturned,
    PersonAdded,
    PersonChanged,
    PolicySet,
    SignalAcknowledged,
    TableDescribed,
)
from bench.core.entries.vocabulary import Role

FIRST = "HB"
SUPERVISORS = (FIRST, "OL")
TECHNICIANS = ("AM", "KT", "JR", "SW")
READERS = ("EV",)
ROLES: dict[str, Role] = {
    **dict.fromkeys(SUPERVISORS, "supervisor"),
    **dict.fromkeys(TECHNICIANS, "technician"),
    **dict.fromkeys(READERS, "reader"),
}
GAUGES = {0.25: "G25-1", 0.5: "G50-1", 0.75: "G75-1"}
FAILED_GAUGE, OVERDUE_GAUGE = "G25-2", "G75-1"
CALIPER, SLEEVE = "CAL-1", "SL-1"
TABLE, TABLE_WITHOUT_SCALE = "T1", "T2"
SURVEYORS = ("S1", "S2")

Stated = tuple[int, Body, str]

LOST_TABLET = "tablet-0d1e2f3a4b5c"
LOST_TABLET_KEY = (
    "MFkwEwYHKoZIzj0CAQYIKoZIzj0DAQcDQgAEaxfR8uEsQkf4vOblY6RA8ncDfY"
    "Et6zOg9KE5RdiYwpZP40Li/hp/m47n60p8D54WK84zV2sxXs7LtkBoN79R9Q=="
)  # the base point of P-256: a key of nobody


def _instruments() -> tuple[InstrumentAdded, ...]:
    return (
        InstrumentAdded("S1", "surveyor"),
        InstrumentAdded("S2", "surveyor"),
        InstrumentAdded(TABLE, "table", resolution_deg=0.5, has_scale=True),
        InstrumentAdded(TABLE_WITHOUT_SCALE, "table"),
        InstrumentAdded("INC-1", "inclinometer", resolution_deg=0.1, has_scale=True),
        InstrumentAdded(CALIPER, "caliper"),
        InstrumentAdded(SLEEVE, "sleeve"),
        InstrumentAdded("G25-1", "gauge", 0.25),
        InstrumentAdded(FAILED_GAUGE, "gauge", 0.25),
        InstrumentAdded("G50-1", "gauge", 0.5),
        InstrumentAdded(OVERDUE_GAUGE, "gauge", 0.75),
        InstrumentAdded("G75-2", "gauge", 0.75, remark="Lip bent on arrival"),
    )


def said_of_the_lab() -> tuple[Stated, ...]:
    """Return what is said of the lab: (days ago, body, reason), oldest first, all by the first person."""
    people = [(220, PersonAdded(name, role), "") for name, role in ROLES.items()]
    tools = [(219, tool, "") for tool in _instruments()]
    sound = ("G25-1", "G50-1", TABLE, "INC-1")
    checks = [(days, _checked(tag), "") for days in (75, 30) for tag in sound]
    other: list[Stated] = [
        (218, InstrumentRetired("G75-2"), ""),
        (217, TableDescribed(TABLE, "front screw, to the right", "front screw, to the left"), ""),
        (210, PolicySet("gauge_check_days", "120"), "Start with the maker's interval."),
        (209, PolicySet("near_fulcrum_mm", "6"), "Agreed with the dentists we work for."),
        (200, _checked(OVERDUE_GAUGE), ""),
        (75, _checked(FAILED_GAUGE), ""),
        (60, PersonAdded("PN", "technician"), ""),
        (50, PolicySet("gauge_check_days", "60"), "A gauge was found worn after three months."),
        (20, InstrumentChecked(FAILED_GAUGE, False, 0.21, 0.25, "mm", "Lip worn"), ""),
        (14, DevicePaired(LOST_TABLET, "Tablet by the window", LOST_TABLET_KEY), ""),
        (13, DeviceRevoked(LOST_TABLET), "left on a train"),
        (12, FiguresLookedAt(), ""),
        (12, SignalAcknowledged("demo"), "looked at, the table was oiled"),
        (15, PersonChanged("PN", "technician", False), ""),
        (45, InstrumentRetired(CALIPER), ""),
        (40, InstrumentReturned(CALIPER, "Jaws ground"), ""),
        (39, InstrumentChecked(CALIPER, True, 40.01, 40.0, "mm", "Gauge block"), ""),
    ]
    return tuple(sorted((*people, *tools, *checks, *other), key=lambda one: -one[0]))


def _checked(tag: str) -> InstrumentChecked:
    sizes_mm = {"G25": 0.25, "G50": 0.5, "G75": 0.75}
    size_mm = sizes_mm.get(tag[:3])
    if size_mm is None:
        return InstrumentChecked(tag, True, 0.1, 0.0, "deg")
    return InstrumentChecked(tag, True, size_mm, size_mm, "mm")
