"""Who may take back, or put something in the place of, what decides about a release."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from bench.core.bounds import BadEntry
from bench.core.entries import (
    Entry,
    Exempted,
    IndirectRetainerWished,
    InterferencesLooked,
    Overruled,
    PersonAdded,
    PersonChanged,
    RecallTaken,
    Withdrawn,
)
from tests.core.bench_story import Story, a_ready_cast


def a_peopled_lab() -> Story:
    """A ready cast in a lab of two supervisors, SV and EF, and two technicians, AM and CD."""
    story = a_ready_cast()
    for initials, role in (("SV", "supervisor"), ("EF", "supervisor")):
        story.say(PersonAdded(initials, role), person="SV")  # type: ignore[arg-type]
    for initials in ("AM", "CD"):
        story.say(PersonAdded(initials, "technician"), person="SV")
    return story


def overruling(story: Story) -> Entry:
    story.say(Withdrawn(story.last(InterferencesLooked).id), reason="other cast")
    return story.say(Overruled("R7", ("R7:not_looked:",)), person="SV", reason="seen in the mouth")


def exemption(story: Story) -> Entry:
    return story.say(Exempted(("45D", "35D")), person="SV", reason="planes hold the path")


def recall(story: Story) -> Entry:
    return story.say(RecallTaken(story.release().id), person="SV")


DECIDING: list[tuple[Callable[[Story], Entry], str]] = [
    (overruling, "SV"),
    (exemption, "SV"),
    (recall, "SV"),
    (Story.release, "AM"),
]
deciding = pytest.mark.parametrize(
    ("state", "maker"), DECIDING, ids=["overruling", "exemption", "recall", "release"]
)


def taken_back(story: Story, entry: Entry, person: str) -> Entry:
    return story.say(Withdrawn(entry.id), person=person, reason="not so")


def superseded(story: Story, entry: Entry, person: str) -> Entry:
    return story.say(IndirectRetainerWished(44), person=person, supersedes=(entry.id,))


ways = pytest.mark.parametrize(
    ("put_aside", "field"), [(taken_back, "entry"), (superseded, "supersedes")]
)
Way = Callable[[Story, Entry, str], Entry]


@ways
@deciding
@pytest.mark.parametrize("person", ["CD", "ZZ"])
def test_what_decides_about_a_release_stays_for_any_other_technician_or_stranger(
    person: str, state: Callable[[Story], Entry], maker: str, put_aside: Way, field: str
) -> None:
    story = a_peopled_lab()
    entry = state(story)

    with pytest.raises(BadEntry) as caught:
        put_aside(story, entry, person)

    said = (caught.value.field, caught.value.code, caught.value.params["person"])
    assert (field, "by_its_maker_or_a_supervisor", maker) == said
    assert entry.id not in story.case.aside


@ways
@deciding
@pytest.mark.parametrize("by", ["its maker", "EF"])
def test_its_maker_and_any_supervisor_may_take_it_back(
    by: str, state: Callable[[Story], Entry], maker: str, put_aside: Way, field: str
) -> None:
    story = a_peopled_lab()
    entry = state(story)

    later = put_aside(story, entry, maker if by == "its maker" else by)

    assert later == story.case.aside[entry.id]


@ways
def test_what_anybody_may_state_anybody_may_take_back(put_aside: Way, field: str) -> None:
    story = a_peopled_lab()
    looked = story.last(InterferencesLooked)

    put_aside(story, looked, "CD")

    assert looked.id in story.case.aside


@deciding
def test_taking_a_taking_back_back_is_no_way_round(
    state: Callable[[Story], Entry], maker: str
) -> None:
    story = a_peopled_lab()
    entry = state(story)
    gone = taken_back(story, entry, "EF")

    with pytest.raises(BadEntry, match="by_its_maker_or_a_supervisor"):
        taken_back(story, gone, "CD")

    assert entry.id in story.case.aside
    taken_back(story, gone, "SV")
    assert entry.id not in story.case.aside


def test_a_supervisor_who_has_left_is_none_any_more() -> None:
    story = a_peopled_lab()
    entry = overruling(story)
    story.say(PersonChanged("EF", "supervisor", False), person="SV")

    with pytest.raises(BadEntry, match="by_its_maker_or_a_supervisor"):
        taken_back(story, entry, "EF")
