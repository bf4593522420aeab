from __future__ import annotations

from bench.core.case import fold
from bench.core.entries import (
    InterferenceNoted,
    InterferencesLooked,
    Mounted,
    SettingTaken,
    SurveyLinesDrawn,
    UndercutRead,
    Withdrawn,
)
from bench.core.settling import can_settle, settle
from tests.sheets.story import CODE, Story


def begun() -> Story:
    story = Story()
    story.say(Mounted())
    return story


def settled(story: Story, chosen):
    case = story.case
    (found,) = case.contradictions
    for one in settle(found, chosen, case.now.id):
        story.say(
            one.body, supersedes=one.supersedes, setting=one.setting, reason="Read again together"
        )
    return story.case


def test_the_statement_chosen_counts_and_both_that_disagreed_fall():
    story = begun()
    first = story.say(UndercutRead(34, "MB", 0.25, "both"))
    second = story.say(UndercutRead(34, "MB", 0.25, "lip_short"), person="SUP")

    case = settled(story, first)

    assert () == case.contradictions
    assert {first.id, second.id} <= set(case.aside)
    assert "both" == next(iter(case.readings(UndercutRead).values())).body.contact


def test_survey_lines_of_other_surfaces_are_said_again_as_they_were():
    story = begun()
    story.say(SurveyLinesDrawn(("34B", "34L", "35B"), lead_at_gingival=True))
    second = story.say(SurveyLinesDrawn(("34B", "36B"), lead_at_gingival=False), person="SUP")

    case = settled(story, second)

    drawn = {
        str(claim[1]): r.body.lead_at_gingival
        for claim, r in case.readings(SurveyLinesDrawn).items()
    }
    assert {"34B": False, "36B": False, "34L": True, "35B": True} == drawn
    assert () == case.contradictions


def test_nothing_seen_puts_aside_every_interference_noted():
    story = begun()
    story.say(InterferenceNoted("palate", "torus"))
    story.say(InterferenceNoted("front_labial", "bony_undercut"))
    looked = story.say(InterferencesLooked(), person="SUP")

    case = settled(story, looked)

    assert () == case.said(InterferenceNoted)
    assert 1 == len(case.said(InterferencesLooked))


def test_one_interference_seen_leaves_the_others_that_agree_standing():
    story = begun()
    first = story.say(InterferenceNoted("palate", "torus"))
    story.say(InterferenceNoted("front_labial", "bony_undercut"))
    story.say(InterferencesLooked(), person="SUP")

    case = settled(story, first)

    assert 2 == len(case.said(InterferenceNoted))
    assert () == case.said(InterferencesLooked)


def test_of_two_settings_that_left_the_same_one_the_other_is_taken_back():
    story = begun()
    zero = story.setting
    first = story.say(SettingTaken(2.0, 0.0, "T1", 0.5))
    second = story.say(SettingTaken(5.0, 1.0, "T1", 0.5), person="SUP", setting=zero)
    (found,) = story.case.contradictions

    (one,) = settle(found, first, story.case.now.id)

    assert Withdrawn(second.id) == one.body
    story.say(one.body, reason="The first was meant", setting=None)
    assert first.id == story.case.now.id


def test_a_case_opened_twice_is_not_settled_by_a_statement():
    one, other = Story("26-0101"), Story("26-0202")
    late = other.entries[0]
    again = type(late)(
        **{name: getattr(late, name) for name in late.__slots__} | {"id": late.id[:-1] + "f"}
    )

    (found,) = fold(CODE, [*one.entries, again]).contradictions

    assert not can_settle(found)
