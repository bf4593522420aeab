"""Rule R9: whoever a tablet could not ask for the PIN confirms what was stated in their name."""

from __future__ import annotations

import pytest

from bench.core.bounds import BadEntry
from bench.core.entries import PersonConfirmed, PersonUnconfirmed, TipChosen, Withdrawn
from tests.core.bench_story import Story, a_ready_cast


@pytest.fixture
def story() -> Story:
    """A ready cast of which a tablet noted that AM had not shown the PIN for one tip."""
    told = a_ready_cast()
    told.hear(PersonUnconfirmed((told.last(TipChosen).id,)))
    return told


def test_what_names_a_person_without_the_pin_stops_the_release(story: Story) -> None:
    tip = story.last(TipChosen)

    assert story.forces("R9") == {f"not_confirmed:AM {tip.id}": "blocks"}
    assert story.reason(f"R9:not_confirmed:AM {tip.id}").params == {"person": "AM", "count": 1}


def test_the_person_named_confirms_and_the_cast_is_ready(story: Story) -> None:
    story.say(PersonConfirmed((story.last(TipChosen).id,)), person="AM")

    assert set() == story.keys
    assert "ready" == story.state


@pytest.mark.parametrize("person", ["SV", "BK"])
def test_nobody_confirms_for_another(story: Story, person: str) -> None:
    with pytest.raises(BadEntry, match="nothing_to_confirm"):
        story.say(PersonConfirmed((story.last(TipChosen).id,)), person=person)

    story.hear(PersonConfirmed((story.last(TipChosen).id,)), person=person)
    assert 1 == len(story.forces("R9"))


def test_taking_back_the_note_clears_nothing(story: Story) -> None:
    story.say(Withdrawn(story.last(PersonUnconfirmed).id), reason="not needed", person="SV")

    assert 1 == len(story.forces("R9"))


def test_what_is_taken_back_need_not_be_confirmed(story: Story) -> None:
    story.say(Withdrawn(story.last(TipChosen).id), reason="not mine")

    assert {} == story.forces("R9")


def test_the_key_changes_with_what_comes_later_so_that_no_overruling_covers_it(
    story: Story,
) -> None:
    before = set(story.forces("R9"))
    later = story.say(TipChosen(44, "DB", "co_cr", "plate", 15.0))
    story.hear(PersonUnconfirmed((later.id,)))

    assert before.isdisjoint(story.forces("R9"))


def test_a_confirmation_after_the_release_recalls_nothing(story: Story) -> None:
    tip = story.last(TipChosen)
    story.say(PersonConfirmed((tip.id,)))
    story.release()

    story.hear(PersonUnconfirmed((tip.id,)))

    assert "released" == story.state
