"""Whose name stands under what a tablet could not ask the PIN for."""

from __future__ import annotations

import pytest

from bench.core.bounds import BadEntry
from bench.core.entries import (
    Draft,
    DrillReading,
    Entry,
    InstrumentAdded,
    InstrumentChecked,
    PersonAdded,
    PersonConfirmed,
    PersonUnconfirmed,
    UncertaintyStated,
    kind_of,
)
from bench.core.ids import entry_id
from bench.core.instruments import standing_of
from bench.core.joining import check_lab
from bench.core.lab import Instrument, Lab, fold_lab

AT = "2026-03-09T08:00:00.000Z"


def said(number: int, body: object, person: str = "TEC", **rest: object) -> Entry:
    key = entry_id(1_773_043_200_000 + number, number)
    return Entry(key, kind_of(type(body)), body, person, "d", AT, number, "", **rest)  # type: ignore[arg-type]


ADDED = said(1, InstrumentAdded("G1", "gauge", 0.25), "SUP")
GOOD = said(2, InstrumentChecked("G1", True, 0.25, 0.25))
NOTE = said(3, PersonUnconfirmed((GOOD.id,)))


def gauge(*more: Entry) -> Instrument:
    return lab(*more).instruments["G1"]


def lab(*more: Entry) -> Lab:
    return fold_lab([ADDED, GOOD, NOTE, *more])


def test_a_good_check_counts_once_the_person_it_names_confirms_it() -> None:
    others = said(4, PersonConfirmed((GOOD.id,)), "SUP")
    own = said(5, PersonConfirmed((GOOD.id,)))

    assert [(), (GOOD,)] == [gauge().checks, gauge().unproved]
    assert (GOOD,) == lab(others).unconfirmed
    assert [(GOOD,), ()] == [gauge(own).checks, gauge(own).unproved]
    assert () == lab(own).unconfirmed


def test_a_failed_check_counts_at_once_whoever_stated_it() -> None:
    failed = said(6, InstrumentChecked("G1", False))
    held = lab(failed, said(7, PersonUnconfirmed((failed.id,))))

    assert (GOOD, failed) == held.unconfirmed
    assert "failed" == standing_of(held.instruments["G1"], held.policy, AT).state


def test_the_uncertainty_of_a_check_not_confirmed_yet_stays_with_it() -> None:
    stated = said(8, UncertaintyStated(GOOD.id, 0.01))

    assert {GOOD.id: 0.01} == gauge(stated).uncertainties
    check_lab(Draft(stated.body, "TEC"), lab())


def test_only_what_is_noted_of_oneself_is_confirmed() -> None:
    check_lab(Draft(PersonConfirmed((GOOD.id,)), "TEC"), lab())

    with pytest.raises(BadEntry, match="nothing_to_confirm"):
        check_lab(Draft(PersonConfirmed((GOOD.id,)), "SUP"), lab())


def test_a_note_stands_beside_a_case_or_beside_the_lab() -> None:
    assert [None, "2345678K"] == [Draft(NOTE.body, "TEC", case).case for case in (None, "2345678K")]


def test_what_is_said_beside_the_lab_puts_nobody_of_it_aside() -> None:
    person = said(9, PersonAdded("KT", "technician"), "SUP")
    reading = said(
        10, DrillReading(GOOD.id, 1, "A", "both"), "TEC", supersedes=(person.id,), reason="x"
    )

    assert "KT" in lab(person, reading).people


def test_a_check_by_a_clock_that_is_behind_still_finds_its_instrument() -> None:
    early = said(0, InstrumentChecked("G1", False))

    assert (early,) == gauge(early).checks
