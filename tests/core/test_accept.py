"""What is refused before it is recorded, with its field and code."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bench.core.accept import case_with, check
from bench.core.bounds import BadEntry
from bench.core.entries import (
    Body,
    CaseOpened,
    ClaspWished,
    Confirmed,
    Disturbed,
    Exempted,
    InterferenceNoted,
    Mounted,
    Overruled,
    PrescriptionRecorded,
    RecallTaken,
    Released,
    Remounted,
    RestWished,
    SettingMadeFinal,
    SettingTaken,
    SurveyLinesDrawn,
    TeethRecorded,
    TripodMarked,
    UndercutRead,
    Withdrawn,
)
from bench.core.ids import case_code, entry_id
from bench.core.release import grounds
from tests.core.bench_story import (
    CODE,
    TRIPOD,
    Story,
    a_ready_cast,
    a_received_cast,
    a_tilted_cast,
    a_tip,
    an_undercut,
)

NOWHERE = entry_id(1, 1)
OPENING = CaseOpened(CODE, "26-0002", "lower", "master")


def refusal(story: Story, body: Body, **how: object) -> tuple[str, str]:
    before = list(story.entries)
    with pytest.raises(BadEntry) as caught:
        story.say(body, **how)
    assert before == story.entries
    return caught.value.field, caught.value.code


def test_nothing_is_recorded_of_a_case_that_nobody_opened() -> None:
    assert ("case", "not_opened") == refusal(Story(), PrescriptionRecorded("RX", "2026-01-02"))


def test_a_case_is_opened_once() -> None:
    assert ("code", "already_open") == refusal(a_received_cast(), OPENING)


def test_a_case_is_opened_under_its_own_label() -> None:
    assert ("code", "bad_code") == refusal(Story(), replace(OPENING, code=case_code(2)))


def test_an_opening_is_corrected_by_another() -> None:
    story = a_received_cast()

    story.say(OPENING, supersedes=(story.entries[0].id,))

    assert story.case.opened.body.number == "26-0002"


def test_a_corrected_opening_keeps_the_arch_of_what_was_said() -> None:
    story = a_received_cast()
    upper = replace(OPENING, arch="upper")

    refused = refusal(story, upper, supersedes=(story.entries[0].id,))

    assert refused == ("arch", "other_arch")


def test_an_opening_takes_the_place_of_openings_only() -> None:
    story = a_received_cast()
    named = (story.entries[0].id, story.entries[1].id)

    assert ("supersedes", "no_such_entry") == refusal(story, OPENING, supersedes=named)


def test_no_other_statement_takes_the_place_of_the_opening() -> None:
    story = a_received_cast()
    body = PrescriptionRecorded("RX", "2026-01-02")

    refused = refusal(story, body, supersedes=(story.entries[0].id,))

    assert refused == ("supersedes", "opening_stays")


def test_the_opening_cannot_be_withdrawn() -> None:
    story = a_received_cast()

    refused = refusal(story, Withdrawn(story.entries[0].id), reason="no")

    assert refused == ("entry", "opening_stays")


@pytest.mark.parametrize(
    "body",
    [
        an_undercut(45, "MB"),
        TRIPOD,
        Confirmed(NOWHERE),
        SettingMadeFinal(),
        SettingTaken(1, 1, "T", 1),
    ],
)
def test_nothing_is_read_before_the_cast_is_mounted(body: Body) -> None:
    assert ("setting", "not_mounted") == refusal(a_received_cast(), body, setting=NOWHERE)


@pytest.mark.parametrize(
    "body",
    [
        an_undercut(44, "MB"),
        SettingTaken(1, 1, "T", 1),
        Mounted(),
        Released(()),
        Exempted(("45D",)),
    ],
)
def test_a_page_made_for_an_earlier_setting_records_nothing(body: Body) -> None:
    story = a_tilted_cast()
    earlier = story.last(Mounted).id

    refused = refusal(story, body, setting=earlier, reason="a reason")

    assert refused == ("setting", "setting_has_changed")


def test_a_correction_names_an_entry_of_the_case() -> None:
    story = a_tilted_cast()

    refused = refusal(story, an_undercut(44, "B"), supersedes=(NOWHERE,))

    assert refused == ("supersedes", "no_such_entry")


def test_a_correction_of_what_was_corrected_meanwhile_is_refused() -> None:
    story = a_ready_cast()
    read = story.of(45, UndercutRead)
    story.correct(read, drop_mm=1.0)

    refused = refusal(story, read.body, supersedes=(read.id,))

    assert refused == ("supersedes", "changed_meanwhile")


@pytest.mark.parametrize(
    ("body", "field", "code"),
    [
        (RestWished(16, "mesial"), "tooth", "other_arch"),
        (RestWished(46, "mesial"), "tooth", "tooth_is_missing"),
        (ClaspWished(46, "B", "ring", "co_cr", 0.25), "tooth", "tooth_is_missing"),
        (an_undercut(46, "B"), "tooth", "tooth_is_missing"),
        (a_tip(36, "B"), "tooth", "tooth_is_missing"),
        (InterferenceNoted("right_lingual", "leaning_tooth", 47), "tooth", "tooth_is_missing"),
        (SurveyLinesDrawn(("44B", "46B"), True), "sites", "tooth_is_missing"),
        (SurveyLinesDrawn(("14B",), True), "sites", "other_arch"),
        (Exempted(("46M",)), "sites", "tooth_is_missing"),
        (TeethRecorded((16,)), "missing", "other_arch"),
        (TeethRecorded((45,)), "missing", "tooth_is_used"),
    ],
)
def test_only_teeth_of_this_cast_are_spoken_of(body: Body, field: str, code: str) -> None:
    assert (field, code) == refusal(a_tilted_cast(), body, reason="a reason")


def test_a_tooth_with_a_line_drawn_cannot_be_missing() -> None:
    story = a_ready_cast()
    teeth = story.last(TeethRecorded)
    gone = replace(teeth.body, missing=(*teeth.body.missing, 44))

    assert ("missing", "tooth_is_used") == refusal(story, gone, supersedes=(teeth.id,))


def test_a_steep_tilt_wants_a_reason() -> None:
    story = a_tilted_cast()
    steep = SettingTaken(15.1, 0.0, "T1", 0.5)

    assert ("reason", "tilt_needs_reason") == refusal(story, steep)
    assert ("reason", "tilt_needs_reason") == refusal(story, steep, reason="  ")
    assert story.say(replace(steep, ap_deg=15.0)).reason == ""
    assert story.say(steep, reason="tipped molar").reason == "tipped molar"


@pytest.mark.parametrize(
    "body",
    [
        an_undercut(45, "MB", drop_mm=0.4),
        a_tip(45, "MB", arm_mm=9.0),
        replace(TRIPOD, d_ab_mm=41.0),
        SurveyLinesDrawn(("45B",), False),
        InterferenceNoted("right_lingual", "torus"),
        PrescriptionRecorded("RX-2", "2026-01-02"),
        ClaspWished(45, "MB", "bar", "gold", 0.25),
        TeethRecorded((46, 47, 48)),
    ],
    ids=lambda body: type(body).__name__,
)
def test_a_second_statement_that_differs_must_be_a_correction(body: Body) -> None:
    assert ("supersedes", "said_meanwhile") == refusal(a_ready_cast(), body)


def test_the_same_statement_again_is_taken() -> None:
    story = a_ready_cast()

    again = story.say(story.of(45, UndercutRead).body)

    assert again.id == story.entries[-1].id


def test_a_third_voice_in_a_disagreement_must_settle_it() -> None:
    story = a_ready_cast()
    first = story.of(45, UndercutRead)
    second = story.hear(an_undercut(45, "MB", drop_mm=0.4))

    third = an_undercut(45, "MB", drop_mm=0.9)

    assert ("supersedes", "said_meanwhile") == refusal(story, third)
    assert ("supersedes", "said_meanwhile") == refusal(story, third, supersedes=(first.id,))
    assert story.say(third, supersedes=(first.id, second.id)).body == third


def test_a_confirmation_names_a_finding_that_stands() -> None:
    story = a_ready_cast()
    read = story.of(45, UndercutRead)
    story.correct(read, drop_mm=1.0)

    assert ("finding", "no_such_entry") == refusal(story, Confirmed(NOWHERE))
    assert ("finding", "no_such_entry") == refusal(story, Confirmed(story.entries[1].id))
    assert ("finding", "changed_meanwhile") == refusal(story, Confirmed(read.id))


def test_a_finding_read_otherwise_meanwhile_is_not_confirmed() -> None:
    story = a_ready_cast()
    old = story.of(45, UndercutRead)
    story.tilt(3.0, 2.0)
    story.say(an_undercut(45, "MB", drop_mm=0.4))

    assert ("supersedes", "said_meanwhile") == refusal(story, Confirmed(old.id))


def test_a_withdrawal_names_an_entry_that_stands() -> None:
    story = a_ready_cast()
    read = story.of(45, UndercutRead)
    story.say(Withdrawn(read.id), reason="misread")

    assert ("entry", "no_such_entry") == refusal(story, Withdrawn(NOWHERE), reason="no")
    assert ("entry", "changed_meanwhile") == refusal(story, Withdrawn(read.id), reason="no")


@pytest.mark.parametrize(
    ("rule", "covers"),
    [("B1", "B1:no_tips:|"), ("R1", "R3:not_read:45MB"), ("B6", "B6:wants_wire:45MB")],
)
def test_only_what_blocks_now_is_overruled(rule: str, covers: str) -> None:
    story = a_ready_cast()
    story.correct(story.of(45, type(a_tip(45, "MB"))), material="gold")

    refused = refusal(story, Overruled(rule, (covers,)), reason="no")

    assert refused == ("covers", "nothing_to_overrule")


def test_a_case_with_something_against_it_is_not_released() -> None:
    story = a_tilted_cast()

    refused = refusal(story, Released(grounds(story.case)))

    assert refused == ("release", "release_blocked")


def test_a_release_on_other_grounds_than_what_stands_is_refused() -> None:
    story = a_ready_cast()
    seen = grounds(story.case)
    story.say(an_undercut(44, "B"))

    assert ("release", "changed_meanwhile") == refusal(story, Released(seen))


def test_a_recall_names_the_release_that_stands() -> None:
    story = a_ready_cast()
    early = refusal(story, RecallTaken(NOWHERE))
    made = story.release()
    story.say(RecallTaken(made.id), person="SV")

    assert early == ("release", "no_such_entry")
    assert ("release", "no_such_entry") == refusal(story, RecallTaken(made.id))


def remounted(**changes: object) -> Remounted:
    return replace(Remounted("inclinometer", 0.1, 0.0, 0.1, 1.0), **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("changes", "field", "code"),
    [
        ({"settles": (NOWHERE,)}, "settles", "no_such_entry"),
        ({"tripod": NOWHERE}, "tripod", "no_such_entry"),
        ({"tolerance_deg": 1.01}, "tolerance_deg", "out_of_range"),
    ],
)
def test_a_remount_is_held_to_the_case_and_the_labs_tolerance(
    changes: dict[str, object], field: str, code: str
) -> None:
    assert (field, code) == refusal(a_ready_cast(), remounted(**changes))


STEEP = SettingTaken(10.0, 10.0, "T1", 0.5)


def marked_at_a_steep_tilt() -> Story:
    story = a_ready_cast()
    story.say(STEEP)
    story.say(TRIPOD)
    return story


# At 10°/10° another 1°/1° makes 1.439°; on the level it makes 1.414° (vectors, by hand).
@pytest.mark.parametrize("total_deg", [1.439, 1.42, 1.46])
def test_a_remount_read_off_a_steep_tilt_makes_the_total_of_that_tilt(total_deg: float) -> None:
    story = marked_at_a_steep_tilt()

    read = story.say(remounted(ap_deg=1.0, lat_deg=1.0, total_deg=total_deg))

    assert read == story.entries[-1]


@pytest.mark.parametrize("total_deg", [1.0, 1.41, 1.47, 5.0])
def test_a_remount_whose_total_is_not_that_of_its_readings_is_refused(total_deg: float) -> None:
    story = marked_at_a_steep_tilt()

    refused = refusal(story, remounted(ap_deg=1.0, lat_deg=1.0, total_deg=total_deg))

    assert ("total_deg", "total_differs") == refused


def test_a_remount_is_read_off_the_tilt_that_the_marks_bring_back() -> None:
    story = a_ready_cast()
    story.say(STEEP)
    at_3_and_1 = remounted(ap_deg=1.0, lat_deg=1.0, total_deg=1.415)

    read = story.say(at_3_and_1)

    assert read == story.entries[-1]
    assert ("total_deg", "total_differs") == refusal(story, replace(at_3_and_1, total_deg=1.45))


def test_a_remount_that_would_lie_on_its_side_is_refused() -> None:
    story = a_ready_cast()
    story.say(replace(STEEP, ap_deg=45.0, lat_deg=40.0), reason="tipped molar")
    story.say(TRIPOD)

    refused = refusal(story, remounted(ap_deg=30.0, lat_deg=30.0, total_deg=45.0))

    assert ("total_deg", "total_differs") == refused


def test_a_remount_settles_what_was_disturbed_from_the_marks_of_the_case() -> None:
    story = a_ready_cast()
    fell = story.say(Disturbed("table_moved"))
    marked = story.last(TripodMarked)

    story.say(remounted(settles=(fell.id,), tripod=marked.id, heights_mm=(0.0, 0.1, 0.0)))

    assert story.forces("S5") == {}


def test_a_reason_that_cannot_be_kept_is_refused() -> None:
    story = a_tilted_cast()
    tilt = SettingTaken(1.0, 0.0, "T1", 0.5)

    assert ("reason", "too_long") == refusal(story, tilt, reason="x" * 2001)
    assert ("reason", "control_characters") == refusal(story, tilt, reason="\ud800")


def test_a_case_can_be_seen_with_a_draft_before_it_is_recorded() -> None:
    story = a_tilted_cast()
    draft = story.draft(an_undercut(44, "B"))

    seen = case_with(draft, story.case)

    check(draft, story.case, story.lab)
    assert ("undercut", 44, "B") in seen.readings(UndercutRead)
    assert ("undercut", 44, "B") not in story.case.readings(UndercutRead)
