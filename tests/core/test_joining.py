from __future__ import annotations

import base64
from dataclasses import replace

import pytest

from bench.core.bounds import BadEntry
from bench.core.entries import (
    DevicePaired,
    DeviceRevoked,
    Draft,
    FiguresLookedAt,
    InstrumentAdded,
    InstrumentChecked,
    InstrumentRetired,
    PersonAdded,
    PersonChanged,
    PolicySet,
    SignalAcknowledged,
)
from bench.core.joining import check_lab
from bench.core.lab import Device, Instrument, Lab, Person
from bench.core.policy import Policy, changed

START = bytes.fromhex("3059301306072a8648ce3d020106082a8648ce3d03010703420004")
KEY = base64.b64encode(START + bytes(64)).decode()
HERE, GONE, NEW = "tablet-00000000000a", "tablet-00000000000b", "tablet-00000000000c"
LAB = Lab(
    people={"SV": Person("SV", "supervisor", True), "TT": Person("TT", "technician", True)},
    policy=Policy(),
    instruments={
        "G1": Instrument("G1", "gauge", 0.25, None, False, True),
        "G0": Instrument("G0", "gauge", 0.25, None, False, False),
    },
    devices={
        HERE: Device(HERE, "one", KEY, "2026-03-09T08:00:00.000Z", "SV"),
        GONE: Device(
            GONE, "two", KEY, "2026-03-09T08:00:00.000Z", "SV", "2026-03-10T08:00:00.000Z"
        ),
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
        (DevicePaired(HERE, "again", KEY), "device", "device_taken"),
        (DevicePaired(GONE, "again", KEY), "device", "device_taken"),
        (DeviceRevoked(NEW), "device", "no_such_device"),
        (DeviceRevoked(GONE), "device", "device_revoked"),
        (FiguresLookedAt("ZZ"), "whose", "no_such_person"),
    ],
)
def test_what_does_not_fit_the_lab_is_refused(body, field, code):
    assert refusal(body) == (field, code)


@pytest.mark.parametrize("whose", ["", "TT"])
def test_no_look_is_taken_where_figures_are_pooled(whose):
    pooled = replace(LAB, policy=changed(LAB.policy, "person_figures", "off"))

    assert refusal(FiguresLookedAt(whose), pooled) == ("whose", "figures_pooled")


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
        DevicePaired(NEW, "three", KEY),
        DeviceRevoked(HERE),
        FiguresLookedAt(),
        FiguresLookedAt("TT"),
        SignalAcknowledged("drift:surveyor:S1:e"),
    ],
)
def test_what_fits_goes_on(body):
    assert check_lab(Draft(body, "SV", reason="why"), LAB) is None


@pytest.mark.parametrize(
    "key",
    [
        "", "no base64!", KEY[:-4], KEY + "AAAA", base64.b64encode(START[:-1] + bytes(65)).decode(),
        base64.b64encode(b"\x00" * 91).decode(), KEY.replace("==", ""),
    ],
)  # fmt: skip
def test_what_is_no_key_of_its_curve_is_refused(key):
    with pytest.raises(BadEntry) as bad:
        DevicePaired(NEW, "three", key)

    assert bad.value.code == "bad_key"
