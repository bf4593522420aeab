"""Rules S: the final setting, stale findings, steep tilts, zero, disturbances, disagreement."""

from __future__ import annotations

import pytest

from bench.core.entries import (
    Confirmed,
    Disturbed,
    GuidePlaneRead,
    InterferenceNoted,
    InterferencesLooked,
    Mounted,
    Remounted,
    SettingMadeFinal,
    SettingTaken,
    SurveyLinesDrawn,
    TipChosen,
    TripodMarked,
    UndercutRead,
    Withdrawn,
)
from tests.core.bench_story import (
    PLANS,
    a_ready_cast,
    a_received_cast,
    a_tilted_cast,
    a_tip,
    an_undercut,
)


def steep(ap_deg: float, lat_deg: float, reason: str = "") -> dict[str, str]:
    story = a_tilted_cast()
    story.tilt(ap_deg, lat_deg, reason=reason)
    return story.forces("S3")


def remounted(total_deg: float, settles: tuple[str, ...]) -> Remounted:
    return Remounted("inclinometer", total_deg, 0.0, total_deg, 1.0, settles=settles)


@pytest.mark.parametrize("kennedy", PLANS)
def test_a_cast_surveyed_in_full_has_nothing_against_it(kennedy: str) -> None:
    story = a_ready_cast(kennedy)

    assert kennedy == story.survey.kennedy.kennedy_class
    assert set() == story.keys
    assert story.state == "ready"


def test_a_cast_that_was_never_mounted_has_no_setting() -> None:
    assert a_received_cast().forces("S1") == {"not_mounted:": "blocks"}


def test_a_setting_blocks_until_it_is_made_final() -> None:
    story = a_received_cast()
    story.say(Mounted())
    story.tilt(2.0, 0.0, final=False)

    before = story.forces("S1")
    story.say(SettingMadeFinal())

    assert before == {"not_final:": "blocks"}
    assert story.forces("S1") == {}


def test_taking_back_what_made_it_final_blocks_again() -> None:
    story = a_ready_cast()

    story.say(Withdrawn(story.last(SettingMadeFinal).id), reason="not locked")

    assert story.forces("S1") == {"not_final:": "blocks"}


def test_angles_without_an_instrument_block() -> None:
    story = a_tilted_cast()
    story.say(SettingTaken(1.0, 1.0, "", 0.5))
    story.say(SettingMadeFinal())

    assert story.forces("S1") == {"no_instrument:": "blocks"}


def test_a_table_without_a_scale_needs_no_angles() -> None:
    story = a_tilted_cast()
    story.say(SettingTaken(None, None))
    story.say(SettingMadeFinal())

    assert story.forces("S1") == {}
    assert story.forces("S3") == {}


def test_a_new_setting_makes_every_finding_stale() -> None:
    story = a_ready_cast()
    findings = (GuidePlaneRead, UndercutRead, InterferencesLooked, SurveyLinesDrawn)
    made = [e.id for e in story.entries if isinstance(e.body, (*findings, TripodMarked, TipChosen))]
    at_zero = [e.id for e in story.entries if e.setting == story.last(Mounted).id]

    story.tilt(3.0, 2.0)

    stale = {key.rsplit(":", 1)[1] for key in story.forces("S2")}
    assert stale == set(made) - set(at_zero)
    assert set(story.forces("S2").values()) == {"blocks"}


def test_confirming_each_stale_finding_makes_the_cast_ready_again() -> None:
    story = a_ready_cast()
    story.tilt(3.0, 1.5)

    for key in sorted(story.forces("S2")):
        story.say(Confirmed(key.rsplit(":", 1)[1]))

    assert set() == story.keys
    assert story.state == "ready"


def test_a_finding_read_anew_is_no_longer_stale() -> None:
    story = a_ready_cast()
    old = story.of(45, UndercutRead)
    story.tilt(3.0, 2.0)

    story.say(an_undercut(45, "MB", drop_mm=1.2))

    assert f"stale_undercut_read:{old.id}" not in story.forces("S2")
    assert story.forces("S6") == {}


def test_taking_the_new_setting_back_makes_the_old_findings_count_again() -> None:
    story = a_ready_cast()
    new = story.tilt(3.0, 2.0)

    story.say(Withdrawn(new.id), reason="table was never moved")

    assert set() == story.keys


def test_a_stale_reason_names_the_setting_it_was_made_at_and_the_site() -> None:
    story = a_ready_cast()
    read = story.of(45, UndercutRead)
    story.tilt(3.0, 2.0)

    reason = story.reason(f"S2:stale_undercut_read:{read.id}")

    assert dict(reason.params) == {"number": 1, "site": "45MB"}
    assert (read.id,) == reason.entries


def test_only_the_lines_not_drawn_again_are_named_stale() -> None:
    story = a_ready_cast()
    drawn = story.last(SurveyLinesDrawn)
    story.tilt(3.0, 2.0)

    story.say(SurveyLinesDrawn(("45B", "45L"), True))

    stale = story.reason(f"S2:stale_survey_lines_drawn:{drawn.id}").params["sites"]
    assert stale == tuple(site for site in drawn.body.sites if site[:2] != "45")


def test_something_noted_in_the_way_replaces_an_earlier_look_that_saw_none() -> None:
    story = a_ready_cast()
    looked = story.last(InterferencesLooked)
    story.tilt(3.0, 2.0)

    story.say(InterferenceNoted("right_lingual", "torus"))

    assert f"stale_interferences_looked:{looked.id}" not in story.forces("S2")
    assert story.forces("R7") == {}


def test_seeing_none_does_not_answer_for_what_was_noted_before() -> None:
    story = a_tilted_cast()
    noted = story.say(InterferenceNoted("right_lingual", "torus"))
    story.tilt(3.0, 2.0)

    story.say(InterferencesLooked())

    assert f"stale_interference_noted:{noted.id}" in story.forces("S2")


def test_a_reading_at_zero_of_a_site_nobody_plans_to_use_does_not_go_stale() -> None:
    story = a_received_cast()
    story.say(Mounted())
    story.say(an_undercut(44, "DB"))
    planned = story.say(an_undercut(45, "MB"))

    story.tilt(3.0, 1.0)

    assert set(story.forces("S2")) == {f"stale_undercut_read:{planned.id}"}


# Ten to fifteen degrees is the usual ceiling in teaching texts: common practice, no source.
@pytest.mark.parametrize(
    ("ap_deg", "lat_deg", "found"),
    [
        (10.0, 0.0, {}),
        (0.0, -10.0, {}),
        (10.1, 0.0, {"steep:": "warns"}),
        (-7.2, 7.2, {"steep:": "warns"}),
        (15.0, 0.0, {"steep:": "warns"}),
    ],
)
def test_a_tilt_over_ten_degrees_warns(
    ap_deg: float, lat_deg: float, found: dict[str, str]
) -> None:
    assert found == steep(ap_deg, lat_deg)


def test_a_tilt_over_fifteen_degrees_with_a_reason_only_warns() -> None:
    assert steep(15.1, 0.0, "tipped molar") == {"steep:": "warns"}


def test_a_tilt_over_fifteen_degrees_without_a_reason_is_named() -> None:
    story = a_tilted_cast()
    story.hear(SettingTaken(15.1, 0.0, "T1", 0.5))

    assert story.forces("S3") == {"no_reason:": "warns"}


def test_the_ceiling_is_the_labs_own() -> None:
    story = a_tilted_cast().policy("tilt_warns_deg", "3")

    assert story.forces("S3") == {"steep:": "warns"}
    assert story.reason("S3:steep:").params["total_deg"] == 3.2


def test_a_tip_not_read_at_zero_warns() -> None:
    story = a_ready_cast()
    at_zero = next(e for e in story.entries if isinstance(e.body, UndercutRead))

    story.say(Withdrawn(at_zero.id), reason="wrong tooth")

    assert story.forces("S4") == {"not_read_at_zero:45MB": "warns"}


@pytest.mark.parametrize("contact", ["none", "lip_short"])
def test_a_tip_whose_undercut_only_the_tilt_makes_warns(contact: str) -> None:
    story = a_received_cast()
    story.say(Mounted())
    zero = story.say(an_undercut(45, "MB", contact=contact, drop_mm=None))
    story.tilt(3.0, 1.0)
    story.say(an_undercut(45, "MB"))
    story.say(a_tip(45, "MB"))

    found = [one.reason for one in story.verdict.judged if one.reason.rule == "S4"]

    assert [(zero.id,)] * (contact == "none") == [reason.entries for reason in found]


def test_a_cast_kept_at_zero_needs_no_second_reading() -> None:
    story = a_received_cast()
    story.say(Mounted())
    story.say(SettingMadeFinal())
    story.say(an_undercut(45, "MB"))
    story.say(a_tip(45, "MB"))

    assert story.forces("S4") == {}


@pytest.mark.parametrize("what", ["table_moved", "arm_moved", "lead_broke", "cast_dropped"])
def test_a_disturbance_blocks_and_names_what_came_after_the_last_tripod(what: str) -> None:
    story = a_ready_cast()
    fell = story.say(Disturbed(what))

    reason = story.reason(f"S5:{what}:{fell.id}")

    tips = tuple(e.id for e in story.entries if isinstance(e.body, TipChosen))
    assert (fell.id, *tips) == reason.entries
    assert story.judged[reason.key].force == "blocks"


def test_a_remount_inside_the_tolerance_settles_a_disturbance() -> None:
    story = a_ready_cast()
    fell = story.say(Disturbed("table_moved"))

    story.say(remounted(1.0, (fell.id,)))

    assert set() == story.keys


def test_a_remount_outside_the_tolerance_settles_nothing() -> None:
    story = a_ready_cast()
    fell = story.say(Disturbed("table_moved"))

    story.say(remounted(1.01, (fell.id,)))

    assert story.forces("S5") == {f"table_moved:{fell.id}": "blocks"}


def test_a_remount_settles_only_the_disturbances_it_names() -> None:
    story = a_ready_cast()
    first, second = story.say(Disturbed("arm_moved")), story.say(Disturbed("lead_broke"))

    story.say(remounted(0.2, (second.id,)))

    assert story.forces("S5") == {f"arm_moved:{first.id}": "blocks"}


def test_taking_a_remount_back_unsettles_the_disturbance() -> None:
    story = a_ready_cast()
    fell = story.say(Disturbed("table_moved"))
    again = story.say(remounted(0.5, (fell.id,)))

    story.say(Withdrawn(again.id), reason="other cast")

    assert f"table_moved:{fell.id}" in story.forces("S5")


def test_a_disturbance_ends_with_its_setting() -> None:
    story = a_ready_cast()
    story.say(Disturbed("table_moved"))

    story.tilt(3.0, 2.0)

    assert story.forces("S5") == {}


@pytest.mark.parametrize("named", ["nothing", "earlier"])
def test_a_disturbance_after_the_present_setting_counts_whatever_setting_it_names(
    named: str,
) -> None:
    story = a_ready_cast()
    setting = story.last(Mounted).id if named == "earlier" else None

    fell = story.hear(Disturbed("cast_dropped"), setting=setting)

    assert f"cast_dropped:{fell.id}" in story.forces("S5")
