from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.arch import arch_model
from bench.core.case import fold
from bench.core.entries import Confirmed, Draft, UndercutRead, Unknown, Withdrawn, sealed
from bench.core.entries.case import CaseOpened, ClaspWished, RestWished, TeethRecorded
from bench.core.entries.lab import InstrumentChecked, PolicySet
from bench.core.entries.outcome import Overruled, Remounted
from bench.core.entries.survey import (
    GuidePlaneRead,
    Mounted,
    SettingTaken,
    SurveyLinesDrawn,
    TripodMarked,
)
from bench.core.ids import case_code, entry_id
from bench.core.kennedy import classify
from bench.core.lines import fulcrum_line
from bench.core.remount import TiltOff, edges_to_lower
from bench.core.retention import Tip, judge_balance, resultant
from bench.core.rules.reason import Reason
from bench.core.steps import Step
from bench.core.tilt import Tilt
from bench.words import Words
from bench.words import wording as w

WORDS = Words("en")
ISO = w.Reader(WORDS)
INCH = w.Reader(WORDS, "universal", "inch")
CODE = case_code(4711)


def entry_of(body, number, *, person="AM", setting=None, supersedes=(), reason=""):
    draft = Draft(body, person, CODE, setting, supersedes, reason)
    key = entry_id(1_700_000_000_000 + number, number)
    return sealed(draft, entry_id=key, device="t", at="", seq=number, prev="")


OPENED = entry_of(CaseOpened(CODE, "26-0001", "upper", "master"), 1)
MOUNTED = entry_of(Mounted("S1", "T1"), 2)
TAKEN = entry_of(SettingTaken(4.0, -1.5, "T1", 0.5), 3, setting=MOUNTED.id)
READ = entry_of(UndercutRead(24, "MB", 0.25, "both", 1.4, "G25-1"), 4, setting=TAKEN.id)


def told(entry, *others, reader=ISO):
    return w.entry_in_words(
        entry, fold(CODE, (OPENED, MOUNTED, TAKEN, READ, entry, *others)), reader
    )


def test_a_reason_is_told_with_its_remedy_and_source():
    reason = Reason("R4", "not_drawn", "survey_lines", "24", {"tooth": 24, "sites": ("24B", "24L")})

    said = w.reason_in_words(reason, INCH)

    assert "Tooth 12 has survey lines still to draw: 12 B/L." == said.sentence
    assert said.remedy.startswith("Draw them")
    assert "common practice, no source" in said.source


def test_depths_and_materials_in_a_reason_are_shown_as_the_reader_prefers():
    params = {"site": "24MB", "material": "co_cr", "gauge_mm": 0.5, "suits_mm": 0.25}
    reason = Reason("B4", "too_deep", "retention", "24MB", params)

    said = w.reason_in_words(reason, INCH)

    assert said.sentence.startswith("12 MB was gauged at 0.020\u00a0in.")
    assert "cast cobalt-chromium wants 0.010\u00a0in" in said.sentence


def test_sides_in_a_reason_are_the_patients():
    reason = Reason(
        "B1", "empty_side", "retention", "B|", {"right": "B", "left": "", "side": "left"}
    )

    assert (
        "Retention is not balanced: no tip counts on the patient's left."
        == w.reason_in_words(reason, ISO).sentence
    )


def test_a_reason_without_words_names_itself():
    assert "R9" in w.reason_in_words(Reason("R9", "new", "tilt"), ISO).sentence


@pytest.mark.parametrize(
    ("tilt", "words"),
    [
        (Tilt(4.0, 1.5), "front 4.0° down, right of view 1.5° down"),
        (Tilt(-2.25, 0.0), "back 2.25° down"),
        (Tilt(0.0, 0.0), "level"),
    ],
)
def test_a_tilt_is_named_for_the_edges_it_lowers(tilt, words):
    assert words == w.tilt_in_words(tilt, ISO)


@pytest.mark.parametrize(
    ("arch", "side"), [("upper", "patient's left"), ("lower", "patient's right")]
)
def test_the_patients_side_is_crossed_on_an_upper_cast_only(arch, side):
    assert f"right of view 1.5° down ({side})" == w.tilt_in_words(Tilt(0.0, 1.5), ISO, arch)


def test_a_table_without_a_scale_says_so():
    assert "without a scale" in w.tilt_in_words(SettingTaken(None, None), ISO)


def test_what_a_remount_leaves_is_told_as_edges_to_lower():
    off = TiltOff(-0.6, 0.2, 0.63, None)

    assert "lower the front by 0.6°, lower the left of view by 0.2°" == w.to_lower_in_words(
        edges_to_lower(off), ISO
    )


@pytest.mark.parametrize(
    ("gauge_mm", "inch"),
    [(0.25, "0.010\u00a0in"), (0.50, "0.020\u00a0in"), (0.75, "0.030\u00a0in")],
)
def test_gauges_are_named_in_mm_or_inch(gauge_mm, inch):
    # common practice, no source: the three gauges of the trade are named so in inches
    assert inch == w.gauge_in_words(gauge_mm, INCH)
    assert f"{gauge_mm:.2f}\u00a0mm" == w.gauge_in_words(gauge_mm, ISO)


def test_a_reading_is_told_as_it_was_made():
    expected = (
        "AM read 24 MB with the 0.25\u00a0mm gauge: shank and lip both touch, 1.40\u00a0mm below the line, "
        "gauge G25-1."
    )

    assert expected == told(READ)


def test_a_correction_quotes_what_it_replaces_and_says_why():
    body = UndercutRead(24, "MB", 0.25, "none")
    fresh = entry_of(
        body, 5, person="KT", setting=TAKEN.id, supersedes=(READ.id,), reason="Lead had worn."
    )

    said = told(fresh)

    assert said.startswith(
        "KT read 24 MB with the 0.25\u00a0mm gauge: no undercut. In place of: “AM read"
    )
    assert said.endswith("Reason: Lead had worn.")
    assert "Replaced by KT: Lead had worn." == w.fate_in_words(READ, fold(CODE, (READ, fresh)), ISO)


def test_a_withdrawal_names_what_it_takes_back():
    gone = entry_of(Withdrawn(READ.id), 5, person="KT", reason="Wrong tooth.")

    assert "KT took back the undercut of 24 MB that AM read. Reason: Wrong tooth." == told(gone)
    assert "Taken back by KT: Wrong tooth." == w.fate_in_words(READ, fold(CODE, (READ, gone)), ISO)
    assert "" == w.fate_in_words(gone, fold(CODE, (READ, gone)), ISO)


def test_a_setting_is_told_with_its_number_and_tilt():
    expected = (
        "AM tilted the table to setting 1: front 4.0° down, left of view 1.5° down (patient's right), "
        "read on T1 to 0.5°."
    )

    assert expected == told(TAKEN)


def test_looking_again_names_the_finding_and_the_setting():
    again = entry_of(Confirmed(READ.id), 5, setting=TAKEN.id)

    assert "AM looked again at setting 1: the undercut of 24 MB that AM read still holds." == told(
        again
    )


def test_what_is_spoken_of_and_not_here_is_said_to_be_so():
    again = entry_of(Confirmed(entry_id(5, 5)), 5, setting=TAKEN.id)

    assert "an entry that is not on this bench still holds" in told(again)


def test_a_kind_this_version_does_not_know_says_so():
    strange = entry_of(Withdrawn(READ.id), 5, reason="x")
    strange = type(strange)(
        **{f: getattr(strange, f) for f in strange.__dataclass_fields__}
        | {"kind": "shade_taken", "body": Unknown('{"shade":{}}')}
    )

    assert told(strange).startswith(
        "AM recorded something this version does not know (shade_taken)."
    )


def test_what_was_not_done_at_the_tripod_is_said():
    body = TripodMarked(40.0, 41.0, 42.0, "clockwise", True, True, False, False)

    said = told(entry_of(body, 5, setting=TAKEN.id))

    assert "table not locked, not ringed" in said
    assert "arm" not in said


def test_entries_that_name_each_other_in_a_ring_are_told():
    first, second = entry_id(9, 1), entry_id(9, 2)
    ring = [
        sealed(
            Draft(Withdrawn(other), "AM", CODE, reason="x"),
            entry_id=key,
            device="t",
            at="",
            seq=1,
            prev="",
        )
        for key, other in ((first, second), (second, first))
    ]

    assert "AM took back the taking back by AM." in told(*ring)


def test_a_policy_change_is_told_with_its_unit_and_reason():
    draft = Draft(PolicySet("gauge_check_days", "60"), "KT", reason="Gauges wear.")
    entry = sealed(draft, entry_id=entry_id(9, 1), device="t", at="", seq=1, prev="")

    expected = "KT set the lab's policy: days between checks of a gauge is now 60 days. Reason: Gauges wear."
    assert expected == w.entry_in_words(entry, None, ISO)


def test_a_failed_check_is_told_with_its_figures():
    draft = Draft(InstrumentChecked("G50-1", False, 0.46, 0.5), "KT")
    entry = sealed(draft, entry_id=entry_id(9, 1), device="t", at="", seq=1, prev="")

    assert (
        "KT checked G50-1: failed, it read 0.46\u00a0mm against 0.50\u00a0mm."
        == w.entry_in_words(entry, None, ISO)
    )


def test_an_overruling_names_rule_and_places():
    body = Overruled("R4", ("R4:not_drawn:24", "R4:lead_too_high:25B", "R4:not_drawn:24"))

    said = told(entry_of(body, 5, setting=TAKEN.id, reason="Crowns to come."))

    assert "AM overruled rule R4 (Survey lines): 24 and 25 B. Reason: Crowns to come." == said


def test_a_remount_is_told_with_heights_and_tolerance():
    body = Remounted("tripod", 0.4, -0.3, 0.5, 1.0, (0.0, 0.1, -0.2), entry_id(9, 9), "S2")

    said = told(entry_of(body, 5))

    assert (
        "0.5° off in all, tolerance 1.0°, heights 0.00\u00a0mm, 0.10\u00a0mm and \u22120.20\u00a0mm, surveyor S2"
        in said
    )


def test_a_contradiction_says_who_said_what():
    other = entry_of(UndercutRead(24, "MB", 0.25, "none"), 5, person="KT", setting=TAKEN.id)
    case = fold(CODE, (OPENED, MOUNTED, TAKEN, READ, other))

    said = w.contradiction_in_words(case.contradictions[0], case, ISO)

    assert "undercut of 24 MB" == said.title
    assert ["AM read", "KT read"] == [one[:7] for one in said.statements]


@pytest.mark.parametrize(
    ("claim", "words"),
    [
        (("line", "24B"), "survey line of 24 B"),
        (("rest", 24, "mesial"), "wished rest on 24, mesial"),
        (("interference", "palate", "torus", None), "interference: palate, torus"),
        (("settings",), "which setting the cast has"),
    ],
)
def test_a_claim_is_told_in_words(claim, words):
    assert words == w.claim_in_words(claim, ISO)


def test_the_kennedy_class_is_explained():
    lower = classify("lower", (36, 37, 38, 46, 48), replace=(36, 37, 46), present=(47,))

    said = w.kennedy_in_words(lower, ISO)

    assert "Kennedy class II, modification 1" == said.title
    assert "One more space counts as a modification." == said.reasons[-1]
    assert any("Third molar" in one or "third molar" in one for one in said.reasons)


def test_the_fulcrum_line_is_told_with_its_rests():
    kennedy = classify("lower", (36, 37, 38, 46, 47, 48), replace=(36, 37, 46, 47))
    model = arch_model("lower")

    assert "18" not in w.fulcrum_in_words(fulcrum_line(model, kennedy, (35, 45)), ISO)
    assert "29 and 20" in w.fulcrum_in_words(fulcrum_line(model, kennedy, (35, 45)), INCH)
    assert "patient's right" in w.fulcrum_in_words(fulcrum_line(model, kennedy, (35,)), ISO)


def test_balance_and_pushes_are_told_apart():
    tips = (Tip(14, "B"), Tip(24, "B"))

    assert w.balance_in_words(judge_balance(tips), ISO).startswith(
        "Balanced: the patient's right is held buccal"
    )
    assert "no tip counts on the patient's left" in w.balance_in_words(judge_balance(tips[:1]), ISO)
    assert "cancel." in w.resultant_in_words(resultant(arch_model("upper"), tips), ISO)
    assert "all one way" in w.resultant_in_words(resultant(arch_model("upper"), tips[:1]), ISO)


def test_a_step_is_told_with_its_progress():
    step = Step("undercuts", "part", 3, 4, True)

    assert "Undercuts: partly recorded, 3 of 4" == w.step_in_words(step, ISO)


@given(
    st.sampled_from(
        [
            TeethRecorded((), (), ()),
            ClaspWished(24, "MB", "bar", "gold", 0.25, 9.0),
            RestWished(24, "cingulum"),
            GuidePlaneRead(24, "D", "gingival", 0.3, 2.0, 0.2, 3.0),
            SurveyLinesDrawn(("24B", "24L", "25B"), False),
        ]
    ),
    st.sampled_from([ISO, INCH]),
    st.text(max_size=30),
)
def test_every_statement_becomes_one_sentence_whatever_the_reason(body, reader, reason):
    setting = TAKEN.id if isinstance(body, (GuidePlaneRead, SurveyLinesDrawn)) else None

    said = told(entry_of(body, 5, setting=setting, reason=reason), reader=reader)

    assert said.startswith("AM ")
    assert said.endswith(reason)
