"""What each kind of entry states, and which teeth it needs."""

from __future__ import annotations

import pytest

from bench.core.claims import claim_of, stated_by, teeth_named_by
from bench.core.entries import (
    Body,
    ClaspWished,
    Confirmed,
    Disturbed,
    Entry,
    Exempted,
    GuidePlaneRead,
    GuidePlaneWished,
    IndirectRetainerWished,
    InterferenceNoted,
    InterferencesLooked,
    PrescriptionRecorded,
    RestWished,
    SurveyLinesDrawn,
    TripodMarked,
    Unknown,
)
from tests.core.bench_story import TRIPOD, a_tip, an_undercut


def stating(body: Body) -> Entry:
    return Entry(id="", kind="", body=body, person="", device="", at="", seq=1, prev="")


@pytest.mark.parametrize(
    ("body", "claim"),
    [
        (PrescriptionRecorded("RX-1", "2026-01-02"), ("prescription",)),
        (ClaspWished(34, "MB", "bar", "gold", 0.25), ("clasp", 34, "MB")),
        (RestWished(34, "mesial"), ("rest", 34, "mesial")),
        (GuidePlaneWished(34, "D"), ("plane_wish", 34, "D")),
        (IndirectRetainerWished(33), ("indirect", 33)),
        (GuidePlaneRead(34, "D", "none"), ("plane", 34, "D")),
        (an_undercut(34, "MB"), ("undercut", 34, "MB")),
        (a_tip(34, "MB"), ("tip", 34, "MB")),
        (TRIPOD, ("tripod",)),
        (InterferencesLooked(), ("interferences",)),
        (InterferenceNoted("palate", "torus"), ("interference", "palate", "torus", None)),
        (SurveyLinesDrawn(("34B", "34L"), True), ("line", "34B")),
    ],
)
def test_an_entry_makes_its_claim(body: Body, claim: tuple[object, ...]) -> None:
    assert claim == claim_of(stating(body))


def test_each_line_is_a_claim_of_its_own() -> None:
    drawn = stating(SurveyLinesDrawn(("34B", "34L"), True))

    assert ((("line", "34B"), True), (("line", "34L"), True)) == stated_by(drawn)


def test_something_noted_also_states_that_something_was_seen() -> None:
    noted = stated_by(stating(InterferenceNoted("palate", "torus")))
    looked = stated_by(stating(InterferencesLooked()))

    assert {claim for claim, _ in looked} < {claim for claim, _ in noted}


@pytest.mark.parametrize("body", [Disturbed("arm_moved"), Unknown("{}")])
def test_an_entry_that_states_nothing_of_a_site_makes_no_claim(body: Body) -> None:
    assert stated_by(stating(body)) == ()
    with pytest.raises(LookupError, match="states nothing of a site"):
        claim_of(stating(body))


@pytest.mark.parametrize(
    ("body", "named"),
    [
        (an_undercut(34, "MB"), (("tooth", 34),)),
        (RestWished(35, "mesial"), (("tooth", 35),)),
        (InterferenceNoted("palate", "torus"), ()),
        (InterferenceNoted("right_lingual", "leaning_tooth", 47), (("tooth", 47),)),
        (SurveyLinesDrawn(("34B", "35L"), True), (("sites", 34), ("sites", 35))),
        (Exempted(("34D",)), (("sites", 34),)),
        (TripodMarked(30, 30, 30, "clockwise", True, True, True, True), ()),
        (Confirmed("019b8d0c-0000-7000-8000-000000000001"), ()),
        (Unknown('{"tooth": 34}'), ()),
    ],
)
def test_the_teeth_an_entry_needs_are_named_with_their_field(
    body: Body, named: tuple[tuple[str, int], ...]
) -> None:
    assert named == teeth_named_by(body)
