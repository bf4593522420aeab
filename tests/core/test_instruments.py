from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import count, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.bounds import BadEntry
from bench.core.entries import (
    BODIES,
    Draft,
    Entry,
    InstrumentAdded,
    InstrumentChecked,
    InstrumentRetired,
    InstrumentReturned,
    UncertaintyStated,
    Unknown,
    kind_of,
)
from bench.core.entries.vocabulary import INSTRUMENTS
from bench.core.ids import entry_id
from bench.core.instruments import (
    check_days,
    doubts_of,
    due_list,
    named_by,
    standing_of,
)
from bench.core.joining import check_lab
from bench.core.lab import Instrument, Lab, fold_lab
from bench.core.policy import Policy
from tests.strategies import BODY_OF, bodies

_COUNT = count()
DAY_ONE = datetime(2026, 1, 1, 8, tzinfo=UTC)


def at(days: float) -> str:
    return (DAY_ONE + timedelta(days=days)).strftime("%Y-%m-%dT%H:%M:%S.000Z")


def said(days: float, body: object, **rest: object) -> Entry:
    moment = DAY_ONE + timedelta(days=days)
    key = entry_id(round(moment.timestamp() * 1000), next(_COUNT))
    return Entry(key, kind_of(type(body)), body, "TEC", "d", at(days), 1, "", **rest)  # type: ignore[arg-type]


def lab(*checks: tuple[float, bool], more: tuple[Entry, ...] = ()) -> Lab:
    added = said(0, InstrumentAdded("G1", "gauge", 0.25))
    made = [said(days, InstrumentChecked("G1", passed, 0.25, 0.25)) for days, passed in checks]
    return fold_lab([added, *made, *more])


def gauge(*checks: tuple[float, bool]) -> Instrument:
    return lab(*checks).instruments["G1"]


@pytest.mark.parametrize(
    ("checks", "now", "state", "due"),
    [
        ((), 5, "never", "2026-01-01"),
        (((10, True),), 20, "sound", "2026-04-11"),
        (((10, True),), 90, "soon", "2026-04-11"),
        (((10, True),), 100, "soon", "2026-04-11"),
        (((10, True),), 100.01, "overdue", "2026-04-11"),
        (((10, True), (20, False)), 21, "failed", "2026-01-21"),
        (((10, False), (20, True)), 21, "sound", "2026-04-21"),
    ],
)
def test_a_gauge_is_due_ninety_days_after_its_last_good_check(
    checks: tuple[tuple[float, bool], ...], now: float, state: str, due: str
) -> None:
    # 90 days are the policy as delivered: common practice, no source.
    found = standing_of(gauge(*checks), Policy(), at(now))

    assert (state, due) == (found.state, found.due_on)


@pytest.mark.parametrize("sort", INSTRUMENTS)
def test_every_sort_has_an_interval_of_its_own(sort: str) -> None:
    assert check_days(sort, Policy()) >= 1


def test_the_most_pressing_check_stands_first_and_what_is_retired_nowhere() -> None:
    entries = [
        said(0, InstrumentAdded("S1", "surveyor")), said(0, InstrumentAdded("T1", "table")),
        said(0, InstrumentAdded("S2", "surveyor")), said(1, InstrumentRetired("S2")),
        said(1, InstrumentChecked("T1", False)),
    ]  # fmt: skip

    found = due_list(lab((0, True), more=tuple(entries)), at(200))

    assert [("T1", "failed"), ("G1", "overdue"), ("S1", "never")] == [
        (one.instrument.tag, one.state) for one in found
    ]


def test_a_failed_check_casts_doubt_from_the_last_good_one_to_the_next() -> None:
    one = gauge((10, True), (20, True), (30, False), (35, False), (40, True), (50, False))

    found = doubts_of(one)

    assert [(at(50), at(40), ""), (at(30), at(20), at(40))] == [
        (doubt.failed.at, doubt.since, doubt.until) for doubt in found
    ]


def test_without_a_good_check_before_everything_is_in_doubt() -> None:
    (found,) = doubts_of(gauge((30, False)))

    assert ("", "") == (found.since, found.until)


@given(st.lists(st.tuples(st.integers(1, 300), st.booleans()), unique_by=lambda one: one[0]))
def test_doubts_never_overlap_and_end_with_a_good_check(checks: list[tuple[int, bool]]) -> None:
    found = doubts_of(gauge(*sorted(checks)))

    good = {at(day) for day, passed in checks if passed}
    assert all(doubt.since in {"", *good} and doubt.until in {"", *good} for doubt in found)
    edges = [(doubt.since, doubt.until or "~") for doubt in reversed(found)]
    assert edges == sorted(edges)
    assert all(one[1] <= two[0] for one, two in pairwise(edges))


def test_an_instrument_comes_back_into_service_once() -> None:
    away = lab(more=(said(1, InstrumentRetired("G1")),))
    back = lab(more=(said(1, InstrumentRetired("G1")), said(2, InstrumentReturned("G1"))))

    check_lab(Draft(InstrumentReturned("G1"), "SUP"), away)

    assert not away.instruments["G1"].in_service
    assert back.instruments["G1"].in_service
    for body, code in ((InstrumentReturned("G1"), "instrument_in_service"),
                       (InstrumentReturned("X1"), "no_such_instrument")):  # fmt: skip
        with pytest.raises(BadEntry, match=code):
            check_lab(Draft(body, "SUP"), back)


def test_an_uncertainty_stands_beside_the_check_it_speaks_of() -> None:
    check = said(10, InstrumentChecked("G1", True, 0.25, 0.25))
    about = said(10.1, UncertaintyStated(check.id, 0.01))

    found = lab(more=(check, about)).instruments["G1"]

    assert {check.id: 0.01} == found.uncertainties


def test_an_uncertainty_of_no_check_or_in_another_unit_is_refused() -> None:
    check = said(10, InstrumentChecked("G1", True, 0.25, 0.25))
    known = lab(more=(check,))

    for body, code in ((UncertaintyStated(entry_id(1, 1), 0.01), "no_such_check"),
                       (UncertaintyStated(check.id, None, 0.1), "unit_of_the_check")):  # fmt: skip
        with pytest.raises(BadEntry, match=code):
            check_lab(Draft(body, "TEC"), known)
    with pytest.raises(BadEntry, match="one_of_both"):
        UncertaintyStated(check.id)
    with pytest.raises(BadEntry, match="one_of_both"):
        UncertaintyStated(check.id, 0.1, 0.1)


def test_every_kind_that_has_a_field_for_an_instrument_names_it() -> None:
    naming = {body.__name__ for body in BODIES if {"tag", "gauge", "surveyor", "table", "instrument"}
              & set(body.__dataclass_fields__)}  # fmt: skip

    assert {
        *("InstrumentAdded", "InstrumentChecked", "InstrumentRetired", "InstrumentReturned"),
        *("Mounted", "SettingTaken", "UndercutRead", "Remounted", "DrillReading"),
    } <= naming


def test_a_kind_not_known_here_names_its_instrument_all_the_same() -> None:
    assert frozenset({"G1"}) == named_by(Unknown('{"gauge":"G1","tag":7}'))
    assert frozenset() == named_by(Unknown('["G1"]'))


@given(bodies)
def test_naming_never_fails(body: object) -> None:
    assert all(named_by(body))  # type: ignore[arg-type]
    assert type(body) in BODY_OF
