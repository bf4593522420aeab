"""The laboratory as a fold: people, instruments and their checks."""

from __future__ import annotations

import base64
import random

from hypothesis import given, settings
from hypothesis import strategies as st

from bench.core.entries import (
    DevicePaired,
    DeviceRevoked,
    InstrumentAdded,
    InstrumentChecked,
    InstrumentRetired,
    PersonAdded,
    PersonChanged,
)
from bench.core.lab import Lab, Person, fold_lab
from tests.core.bench_story import Story


def a_staffed_lab() -> Story:
    story = Story(lab=())
    story.say(PersonAdded("SV", "supervisor"))
    story.say(PersonAdded("AM", "technician"))
    story.say(PersonAdded("CD", "reader"))
    return story


def a_lab_with_a_gauge() -> Story:
    story = Story(lab=())
    story.say(InstrumentAdded("G25", "gauge", 0.25))
    return story


def test_people_are_known_by_their_initials() -> None:
    lab = a_staffed_lab().lab

    assert lab.people["AM"] == Person("AM", "technician", True)
    assert lab.supervisors() == (Person("SV", "supervisor", True),)


def test_a_person_may_change_role_leave_and_come_back() -> None:
    story = a_staffed_lab()
    story.say(PersonChanged("AM", "supervisor", False))
    gone = story.lab
    story.say(PersonChanged("AM", "supervisor", True))

    assert len(gone.supervisors()) == 1
    assert {person.initials for person in story.lab.supervisors()} == {"SV", "AM"}


def test_initials_name_the_first_person_for_good() -> None:
    story = a_staffed_lab()

    story.say(PersonAdded("SV", "reader"))

    assert story.lab.people["SV"].role == "supervisor"


def test_a_change_of_nobody_makes_nobody() -> None:
    story = a_staffed_lab()

    story.say(PersonChanged("XX", "supervisor", True))

    assert "XX" not in story.lab.people


def test_instruments_in_service_are_listed_by_tag() -> None:
    story = a_lab_with_a_gauge()
    story.say(InstrumentAdded("G10", "gauge", 0.1))
    story.say(InstrumentAdded("T1", "table", None, 0.5, True))
    story.say(InstrumentRetired("G25"))
    story.say(InstrumentAdded("G05", "gauge", 0.05))

    assert [one.tag for one in story.lab.in_service("gauge")] == ["G05", "G10"]
    assert not story.lab.instruments["G25"].in_service


def test_a_tag_names_the_first_instrument() -> None:
    story = a_lab_with_a_gauge()

    story.say(InstrumentAdded("G25", "gauge", 0.5))

    assert story.lab.instruments["G25"].size_mm == 0.25


def test_checks_and_retirement_of_an_unknown_tag_are_left_out() -> None:
    story = a_lab_with_a_gauge()

    story.say(InstrumentChecked("G99", True))
    story.say(InstrumentRetired("G99"))

    assert set(story.lab.instruments) == {"G25"}


def test_the_last_check_before_a_time_is_the_newest_at_or_before_it() -> None:
    story = a_lab_with_a_gauge()
    first, second = (
        story.say(InstrumentChecked("G25", True)),
        story.say(InstrumentChecked("G25", False)),
    )

    gauge = story.lab.instruments["G25"]

    assert gauge.checks == (first, second)
    assert gauge.last_check_before(first.at) == first
    assert gauge.last_check_before("9999") == second
    assert gauge.last_check_before("2000-01-01T00:00:00.000Z") is None


def test_a_corrected_check_takes_the_place_of_the_first() -> None:
    story = a_lab_with_a_gauge()
    first = story.say(InstrumentChecked("G25", False))

    again = story.correct(first, passed=True)

    assert story.lab.instruments["G25"].checks == (again,)


def whole_lab() -> Story:
    story = a_staffed_lab().policy("keep_years", "12")
    story.say(InstrumentAdded("G25", "gauge", 0.25))
    story.say(InstrumentChecked("G25", True))
    story.say(PersonChanged("AM", "supervisor", True))
    return story.policy("keep_years", "15")


def facts(lab: Lab) -> tuple[object, ...]:
    return lab.people, lab.policy, lab.instruments


@settings(max_examples=30)
@given(st.randoms(use_true_random=False))
def test_neither_order_nor_copies_of_entries_change_the_lab(rnd: random.Random) -> None:
    entries = whole_lab().lab_entries
    shuffled = [*entries, *rnd.sample(entries, 3)]
    rnd.shuffle(shuffled)

    assert facts(fold_lab(entries)) == facts(fold_lab(shuffled))


START = bytes.fromhex("3059301306072a8648ce3d020106082a8648ce3d03010703420004")
KEY = base64.b64encode(START + bytes(64)).decode()
TABLET = "tablet-00aa11bb22cc"


def test_a_paired_device_is_known_with_its_key_until_it_is_revoked() -> None:
    story = a_staffed_lab()
    story.say(DevicePaired(TABLET, "bench two", KEY))
    paired = fold_lab(story.lab_entries).devices[TABLET]
    story.say(DeviceRevoked(TABLET), reason="lost on the way home")

    revoked = fold_lab(story.lab_entries).devices[TABLET]

    assert ("bench two", KEY, "") == (paired.name, paired.public_key, paired.revoked_at)
    assert revoked.revoked_at > paired.paired_at


def test_a_person_counts_as_they_stood_when_they_stated_something() -> None:
    story = a_staffed_lab()
    added = story.lab_entries[1].at
    story.say(PersonChanged("AM", "technician", False))
    left = story.lab_entries[-1].at
    lab = fold_lab(story.lab_entries)

    assert Person("AM", "technician", True) == lab.stood("AM", added)
    assert Person("AM", "technician", True) == lab.stood("AM", "2000-01-01T00:00:00.000Z")
    assert Person("AM", "technician", False) == lab.stood("AM", left)
    assert lab.stood("XX", left) is None
