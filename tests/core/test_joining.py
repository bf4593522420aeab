from __future__ import annotations

import pytest

from bench.core.bounds import BadEntry
from bench.core.entries import (
    Draft,
    InstrumentAdded,
    InstrumentChecked,
    InstrumentRetired,
    PersonAdded,
    PersonChanged,
    PolicySet,
)
from bench.core.joining import check_lab
from bench.core.lab import Instrument, Lab, Person
from bench.core.policy import Policy

LAB = Lab(
    people={"SV": Person("SV", "supervisor", True), "TT": Person("TT", "technician", True)},
    policy=Policy(),
    instruments={
        "G1": Instrument("G1", "gauge", 0.25, None, False, True),
        "G0": Instrument("G0", "gauge", 0.25, None, False, False),
    },
)
EMPTY = Lab({}, Policy(), {})


def refusal(body, lab=LAB):
    with pytest.raises(BadEntry) as bad:
        check_lab(Draft(body, "SV", reason="why"), lab)
    return bad.value.field, bad.value.code


@pytest.mark.parametrize(
    ("body", "field", "code"),
    [
        (PersonAdded("TT", "reader"), "initials", "initials_taken"),
        (PersonChanged("XX", "reader", True), "initials", "no_such_person"),
        (PersonChanged("SV", "technician", True), "role", "last_supervisor"),
        (PersonChanged("SV", "supervisor", False), "role", "last_supervisor"),
        (PolicySet("Z9", "blocks"), "item", "no_such_item"),
        (PolicySet("B1", "maybe"), "value", "not_a_choice"),
        (InstrumentAdded("G1", "gauge", 0.5), "tag", "tag_taken"),
        (InstrumentAdded("G2", "gauge"), "size_mm", "missing"),
        (InstrumentChecked("G9", True), "tag", "no_such_instrument"),
        (InstrumentChecked("G0", True), "tag", "instrument_retired"),
        (InstrumentRetired("G0"), "tag", "instrument_retired"),
    ],
)
def test_what_does_not_fit_the_lab_is_refused(body, field, code):
    assert refusal(body) == (field, code)


def test_the_first_person_of_a_lab_is_a_supervisor():
    assert refusal(PersonAdded("AB", "technician"), EMPTY) == ("role", "first_is_supervisor")


@pytest.mark.parametrize(
    "body",
    [
        PersonAdded("AB", "reader"),
        PersonChanged("TT", "supervisor", True),
        PersonChanged("TT", "technician", False),
        PolicySet("keep_years", "12"),
        InstrumentAdded("G2", "gauge", 0.5),
        InstrumentChecked("G1", False),
        InstrumentRetired("G1"),
    ],
)
def test_what_fits_goes_on(body):
    assert check_lab(Draft(body, "SV", reason="why"), LAB) is None
