from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import count

import pytest

from bench.core.case import fold
from bench.core.entries import (
    Confirmed,
    Disturbed,
    Entry,
    FourthMarkMade,
    GuidePlaneRead,
    InstrumentAdded,
    InstrumentChecked,
    Mounted,
    Remounted,
    RemountRead,
    SettingTaken,
    SurveyLinesDrawn,
    TripodMarked,
    UndercutRead,
    kind_of,
)
from bench.core.ids import case_code, entry_id
from bench.core.instruments import doubts_of, good_since
from bench.core.lab import Instrument, fold_lab
from bench.core.madewith import doubtful, uses_between, uses_in

CODE = case_code(1)
DAY_ONE = datetime(2026, 1, 1, 8, tzinfo=UTC)
_COUNT = count()


def at(days: float) -> str:
    return (DAY_ONE + timedelta(days=days)).strftime("%Y-%m-%dT%H:%M:%S.000Z")


def said(days: float, body: object, setting: Entry | None = None) -> Entry:
    moment = DAY_ONE + timedelta(days=days)
    key = entry_id(round(moment.timestamp() * 1000), next(_COUNT))
    case = None if isinstance(body, (InstrumentAdded, InstrumentChecked)) else CODE
    return Entry(
        key, kind_of(type(body)), body, "TEC", "d", at(days), 1, "",  # type: ignore[arg-type]
        case=case, setting=setting.id if setting else None,
    )  # fmt: skip


MOUNT = said(1, Mounted("S1", "T1"))
TILT = said(2, SettingTaken(3.0, 1.0, "INC", 0.1), MOUNT)
PLANE = said(3, GuidePlaneRead(34, "D", "none"), TILT)
CUT = said(4, UndercutRead(34, "MB", 0.25, "both", gauge="G1"), TILT)
LINES = said(5, SurveyLinesDrawn(("34B", "34L"), True, "SL"), TILT)
TRIPOD = said(6, TripodMarked(40, 41, 42, "clockwise", True, True, True, True, caliper="CAL"), TILT)
FOURTH = said(7, FourthMarkMade(TRIPOD.id, 60, 30, 40, "CAL"))
MOVED = said(8, Disturbed("table_moved"))
BACK = said(
    9,
    Remounted("tripod", 0, 0, 0, 1.0, (0, 0, 0), TRIPOD.id, "S2"),
)
READ = said(
    9.5,
    RemountRead(
        "tripod", TILT.id, 1.0, TRIPOD.id, h_a_mm=0.0, h_b_mm=0.0, h_c_mm=0.0, surveyor="S2"
    ),
)
LATER = said(10, Confirmed(CUT.id), TILT)
STORY = (MOUNT, TILT, PLANE, CUT, LINES, TRIPOD, FOURTH, MOVED, BACK, READ, LATER)


def uses(tag: str) -> list[tuple[Entry, str]]:
    return [(use.entry, use.by) for use in uses_in(fold(CODE, STORY)) if use.tag == tag]


def checked(tag: str, sort: str, *checks: tuple[float, bool]) -> Instrument:
    said_of = [said(0, InstrumentAdded(tag, sort))]
    said_of += [said(day, InstrumentChecked(tag, passed)) for day, passed in checks]
    return fold_lab(said_of).instruments[tag]


@pytest.mark.parametrize(
    ("tag", "wanted"),
    [
        ("G1", [(CUT, "named")]),
        ("SL", [(LINES, "named")]),
        ("CAL", [(TRIPOD, "named"), (FOURTH, "named"), (BACK, "tripod"), (READ, "tripod")]),
        ("INC", [(TILT, "named"), *((one, "setting") for one in (PLANE, CUT, LINES, TRIPOD, LATER))]),
        ("S1", [(MOUNT, "named"), *((one, "mounted") for one in (TILT, PLANE, CUT, LINES, TRIPOD))]),
        ("S2", [(BACK, "named"), (READ, "named"), (LATER, "mounted")]),
        ("T1", [(MOUNT, "named"), *((one, "mounted") for one in (
            TILT, PLANE, CUT, LINES, TRIPOD, BACK, READ, LATER))]),
    ],
)  # fmt: skip
def test_every_kind_of_instrument_is_found_behind_what_rests_on_it(
    tag: str, wanted: list[tuple[Entry, str]]
) -> None:
    assert wanted == uses(tag)


@pytest.mark.parametrize(
    ("tag", "sort", "wanted"),
    [
        ("S1", "surveyor", [CUT, LINES, TRIPOD]),
        ("T1", "table", [CUT, LINES, TRIPOD]),
        ("G1", "gauge", [CUT]),
        ("SL", "sleeve", [LINES]),
        ("CAL", "caliper", [TRIPOD, BACK, READ]),
    ],
)
def test_a_failed_check_casts_doubt_on_what_any_kind_made_since_the_last_good_one(
    tag: str, sort: str, wanted: list[Entry]
) -> None:
    known = checked(tag, sort, (3.5, True), (6.5, False), (6.8, True))
    (doubt,) = doubts_of(known)

    found = doubtful(doubt, uses_in(fold(CODE, STORY)), tag)

    assert wanted == [use.entry for use in found]


def test_a_tilt_counts_by_when_it_was_read_not_by_when_a_finding_was_made_on_it() -> None:
    after = checked("INC", "inclinometer", (2.5, True), (20, False))
    before = checked("INC", "inclinometer", (1.5, True), (20, False))
    story = tuple(uses_in(fold(CODE, STORY)))

    found = [doubtful(doubts_of(one)[0], story, "INC") for one in (after, before)]

    assert [0, 6] == [len(one) for one in found]


def test_exactly_what_was_read_between_two_moments_is_found() -> None:
    reads = [
        said(day, UndercutRead(34, "MB", 0.25, "both", gauge="G1")) for day in (19, 20, 21, 39)
    ]

    found = uses_between(uses_in(fold(CODE, reads)), "G1", at(20), at(39))

    assert [at(21)] == [use.at for use in found]


def test_the_last_good_check_is_found_past_those_that_failed() -> None:
    known = checked("S1", "surveyor", (1, True), (2, True), (3, False))

    assert (at(2), "") == (good_since(known), good_since(checked("S1", "surveyor", (3, False))))
