"""May a cast go to design, what is overruled, and what a release rests on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.core.claims import teeth_named_by
from bench.core.entries import (
    Body,
    Confirmed,
    Disturbed,
    GuidePlaneRead,
    InterferencesLooked,
    Overruled,
    PersonUnconfirmed,
    PhotoKept,
    PrescriptionRecorded,
    SurveyLinesDrawn,
    TipChosen,
    TripodMarked,
    UndercutRead,
    Withdrawn,
)
from bench.core.policy import RULES
from bench.core.release import grounds, reasons_against
from bench.core.surfaces import SURFACES
from tests.core.bench_story import (
    PLANS,
    TRIPOD,
    Story,
    a_ready_cast,
    a_received_cast,
    a_tilted_cast,
    an_undercut,
    correcting,
    withdrawing,
)


def out_of_balance() -> Story:
    """All that stands against release is that the sides share no letter."""
    story = a_ready_cast()
    story.say(an_undercut(35, "L"))
    tip = story.last(TipChosen)
    story.say(replace(tip.body, surface="L"), supersedes=(tip.id,))
    return story


def overruled() -> Story:
    story = out_of_balance()
    story.say(Overruled("B1", ("B1:no_shared_letter:B|L",)), person="SV", reason="an obturator")
    return story


def test_a_case_goes_from_received_to_released() -> None:
    states = [a_received_cast().state, a_tilted_cast().state, a_ready_cast().state]
    story = a_ready_cast()

    story.release()

    assert [*states, story.state] == ["received", "surveying", "ready", "released"]


AGAINST: dict[str, Callable[[Story], object]] = {
    "S1": lambda story: story.tilt(4.0, 0.0, final=False),
    "S2": lambda story: story.tilt(4.0, 0.0),
    "S3": lambda story: story.tilt(11.0, 0.0),
    "S4": lambda story: story.say(Withdrawn(READ_AT_ZERO.id), reason="misread"),
    "S5": lambda story: story.say(Disturbed("lead_broke")),
    "S6": lambda story: story.hear(an_undercut(45, "MB", drop_mm=0.3)),
    "R1": withdrawing(PrescriptionRecorded),
    "R2": withdrawing(GuidePlaneRead),
    "R3": lambda story: [
        story.say(Withdrawn(one.entry.id), reason="misread")
        for one in story.case.said(UndercutRead)
    ],
    "R4": withdrawing(SurveyLinesDrawn),
    "R5": withdrawing(PhotoKept),
    "R6": lambda story: story.policy("tripod_sd_limit_deg", "0.1"),
    "R7": withdrawing(InterferencesLooked),
    "R8": correcting(UndercutRead, gauge=""),
    "R9": lambda story: story.hear(PersonUnconfirmed((story.last(TipChosen).id,))),
    "B1": withdrawing(TipChosen),
    "B3": correcting(TipChosen, reciprocation="none"),
    "B4": correcting(TipChosen, arm_mm=5.0),
    "B5": correcting(UndercutRead, gauge_mm=0.25),
    "B6": correcting(TipChosen, material="gold"),
}
READ_AT_ZERO = next(e for e in a_ready_cast().entries if isinstance(e.body, UndercutRead))


@pytest.mark.parametrize("rule", RULES)
def test_a_rule_blocks_or_warns_as_the_lab_says(rule: str) -> None:
    story = a_ready_cast()
    AGAINST[rule](story)

    blocks, may = set(story.policy(rule, "blocks").forces(rule).values()), story.verdict.may_release
    warns = set(story.policy(rule, "warns").forces(rule).values())

    assert (blocks, may) == ({"blocks"}, False)
    assert warns == {"warns"}


def test_a_reason_that_only_warns_does_not_keep_a_case_from_design() -> None:
    story = out_of_balance().policy("B1", "warns")

    assert story.forces("B1") == {"no_shared_letter:B|L": "warns"}
    assert story.state == "ready"


def test_overruling_lets_the_reasons_it_names_pass() -> None:
    story = overruled()

    judged = story.judged["B1:no_shared_letter:B|L"]

    assert judged.force == "overruled"
    assert judged.overruling is not None
    assert judged.overruling.entry.reason == "an obturator"
    assert story.state == "ready"


def test_overruling_covers_no_other_reason_of_its_rule() -> None:
    story = overruled()

    story.say(Withdrawn(story.of(45, TipChosen).id), reason="no clasp here")

    assert story.forces("B1") == {"empty_side:|L": "blocks"}


def test_overruling_one_imbalance_does_not_cover_the_opposite_one() -> None:
    story = overruled()
    story.say(an_undercut(45, "L"))

    story.correct(story.of(45, TipChosen), surface="L")
    story.correct(story.of(35, TipChosen), surface="MB")

    assert story.forces("B1") == {"no_shared_letter:L|B": "blocks"}


@pytest.mark.parametrize(
    ("rule", "problem", "changes"),
    [
        ("R5", "not_ringed", {"ringed": False}),
        ("R6", "weak", {"d_ab_mm": 20.0, "d_ac_mm": 20.0, "d_bc_mm": 20.0}),
        ("R6", "thin", {"d_ab_mm": 40.0, "d_ac_mm": 25.0, "d_bc_mm": 20.0}),
    ],
)
def test_overruling_one_tripod_does_not_cover_another(
    rule: str, problem: str, changes: dict[str, object]
) -> None:
    story = a_ready_cast().policy(rule, "blocks").policy("tripod_least_altitude_mm", "15")
    story.say(Withdrawn(story.last(TripodMarked).id), reason="rubbed off")
    first = story.say(replace(TRIPOD, **changes))  # type: ignore[arg-type]
    keys = tuple(f"{rule}:{found}" for found in story.forces(rule))
    story.say(Overruled(rule, keys), person="SV", reason="stone is soft")
    before = story.forces(rule)[f"{problem}:{first.id}"]

    again = story.correct(first, tip_height_mm=21.0)

    assert before == "overruled"
    assert story.forces(rule)[f"{problem}:{again.id}"] == "blocks"
    assert set(story.forces(rule).values()) == {"blocks"}


def test_overruling_one_site_does_not_overrule_another() -> None:
    story = a_ready_cast()
    for entry in [e for e in story.entries if isinstance(e.body, GuidePlaneRead)]:
        story.say(Withdrawn(entry.id), reason="to be done again")

    story.say(Overruled("R2", ("R2:not_read:45D",)), person="SV", reason="broken there")

    assert story.forces("R2") == {"not_read:45D": "overruled", "not_read:35D": "blocks"}


def test_an_overruling_ends_with_its_setting() -> None:
    story = overruled()
    story.tilt(3.0, 1.5)

    for key in sorted(story.forces("S2")):
        story.say(Confirmed(key.rsplit(":", 1)[1]))

    assert story.forces("B1") == {"no_shared_letter:B|L": "blocks"}


def test_an_overruling_taken_back_blocks_again() -> None:
    story = overruled()

    story.say(Withdrawn(story.last(Overruled).id), person="SV", reason="not so")

    assert story.forces("B1") == {"no_shared_letter:B|L": "blocks"}


def test_a_release_rests_on_what_stands() -> None:
    story = a_ready_cast()
    story.release()
    story.say(Withdrawn(story.last(GuidePlaneRead).id), reason="misread")

    named = {story.case.by_id[key].kind for key in grounds(story.case)}

    assert story.last(GuidePlaneRead).id not in grounds(story.case)
    assert named.isdisjoint({"released", "withdrawn", "recall_taken"})


def test_reasons_come_in_the_order_of_the_rules() -> None:
    rules = [reason.rule for reason in reasons_against(a_tilted_cast().survey)]

    order = [rule for rule in RULES if rule in rules]
    assert order == list(dict.fromkeys(rules))


def test_reasons_are_found_by_the_step_that_settles_them() -> None:
    verdict = a_tilted_cast().verdict

    assert {one.reason.key for one in verdict.by_step["tripod"]} == {"R5:not_marked:"}
    assert sum(len(found) for found in verdict.by_step.values()) == len(verdict.judged)


more_findings = st.one_of(
    st.builds(
        an_undercut,
        st.sampled_from((42, 41, 31, 32, 44, 34)),
        st.sampled_from(SURFACES),
        contact=st.sampled_from(("both", "lip_short", "lip_first", "none")),
    ),
    st.builds(GuidePlaneRead, st.sampled_from((44, 43, 33)), st.sampled_from(("M", "D")),
              st.sampled_from(("none", "gingival"))),
    st.builds(SurveyLinesDrawn, st.sampled_from((("42B",), ("41L", "31B"))), st.booleans()),
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.lists(more_findings, max_size=5), st.sampled_from(sorted(PLANS)))
def test_more_findings_without_disagreement_never_undo_readiness(
    bodies: list[Body], kennedy: str
) -> None:
    story = a_ready_cast(kennedy)
    for body in bodies:
        before = story.copy()
        if _fits(body, story):
            story.hear(body)
        if story.case.contradictions:
            story = before

    assert story.verdict.may_release


def _fits(body: Body, story: Story) -> bool:
    return all(tooth in story.case.present for _, tooth in teeth_named_by(body))
