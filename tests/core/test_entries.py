"""The statements a bench can record: what each holds, and what it refuses to hold."""

from __future__ import annotations

from dataclasses import fields

import pytest

from bench.core import entries
from bench.core.bounds import BadEntry
from bench.core.entries import (
    AT_A_SETTING,
    BODIES,
    BY_A_SUPERVISOR,
    FINDINGS,
    KINDS,
    OF_THE_LAB,
    WITH_A_REASON,
    CaseOpened,
    CastReceived,
    ClaspWished,
    Confirmed,
    DisinfectionRecorded,
    Disturbed,
    Draft,
    Exempted,
    GuidePlaneRead,
    InstrumentAdded,
    InstrumentChecked,
    InterferenceNoted,
    InterferencesLooked,
    Overruled,
    PersonAdded,
    PhotoKept,
    PolicySet,
    PrescriptionRecorded,
    Released,
    Remounted,
    SettingMadeFinal,
    SettingTaken,
    SurveyLinesDrawn,
    TeethRecorded,
    TipChosen,
    TripodMarked,
    UndercutRead,
    Withdrawn,
    kind_of,
    sealed,
    with_digest,
)
from bench.core.ids import entry_id
from tests.core.bench_story import CODE, TRIPOD, an_undercut

KEY = entry_id(1_767_600_000_000, 1)


def mark(**sides: float) -> TripodMarked:
    held = {"d_ab_mm": 40.0, "d_ac_mm": 40.0, "d_bc_mm": 40.0, **sides}
    return TripodMarked(**held, sense="clockwise", one_tip_height=True, arm_locked=True,
                        table_locked=True, ringed=True)  # type: ignore[arg-type]  # fmt: skip


def test_kinds_are_named_after_their_classes() -> None:
    assert kind_of(UndercutRead) == "undercut_read"
    assert KINDS["setting_made_final"] is SettingMadeFinal
    assert len(KINDS) == len(BODIES)


def test_every_kind_can_be_imported_by_name() -> None:
    assert {body.__name__ for body in BODIES} <= set(entries.__all__)


def test_the_groups_of_kinds_are_made_of_kinds() -> None:
    grouped = {*OF_THE_LAB, *FINDINGS, *AT_A_SETTING, *BY_A_SUPERVISOR, *WITH_A_REASON}

    assert grouped <= set(BODIES)
    assert set(FINDINGS) <= AT_A_SETTING
    assert OF_THE_LAB.isdisjoint(AT_A_SETTING)


@pytest.mark.parametrize("body", BODIES)
def test_lengths_and_angles_carry_their_unit_in_the_name(body: type) -> None:
    numbers = [field.name for field in fields(body) if "float" in str(field.type)]

    bare = {name for name in numbers if not name.endswith(("_mm", "_deg", "_px"))}
    assert bare <= {
        "reading",
        "reference",
    }  # of InstrumentChecked, which names its unit beside them


REFUSED = [
    (lambda: CaseOpened("2222EV9X", "26-0001", "lower", "master"), "code", "bad_code"),
    (lambda: CaseOpened("2222-EV9H", "26-0001", "lower", "master"), "code", "bad_code"),
    (lambda: CaseOpened(CODE, " ", "lower", "master"), "number", "missing"),
    (lambda: CaseOpened(CODE, "2" * 41, "lower", "master"), "number", "too_long"),
    (lambda: CaseOpened(CODE, "26-0001", "front", "master"), "arch", "not_a_choice"),
    (lambda: CaseOpened(CODE, "26-0001", "lower", "wax"), "cast_kind", "not_a_choice"),
    (lambda: TeethRecorded((49,)), "missing", "no_such_tooth"),
    (lambda: TeethRecorded((36, 36)), "missing", "named_twice"),
    (lambda: TeethRecorded((36, 16)), "missing", "two_arches"),
    (lambda: TeethRecorded((36,), (37,)), "replaced", "not_missing"),
    (lambda: TeethRecorded((36,), (), (36,)), "extractions", "already_missing"),
    (lambda: PrescriptionRecorded("", "2026-01-02"), "reference", "missing"),
    (lambda: PrescriptionRecorded("RX", "2026-02-30"), "dated", "no_such_day"),
    (lambda: PrescriptionRecorded("RX", "20260102"), "dated", "no_such_day"),
    (lambda: DisinfectionRecorded("perhaps"), "status", "not_a_choice"),
    (lambda: CastReceived("cracked"), "soundness", "not_a_choice"),
    (lambda: CastReceived("sound", "a\x07b"), "remark", "control_characters"),
    (lambda: CastReceived("sound", "\ud83d"), "remark", "control_characters"),
    (lambda: ClaspWished(45, "M", "ring", "gold", 0.25), "surface", "not_a_choice"),
    (lambda: ClaspWished(45, "B", "ring", "gold", 0.04), "wanted_mm", "out_of_range"),
    (lambda: PhotoKept("A" * 64, "image/png", 1, 1, "cast"), "sha256", "bad_digest"),
    (lambda: PhotoKept("a" * 64, "image/gif", 1, 1, "cast"), "media_type", "not_a_choice"),
    (lambda: PhotoKept("a" * 64, "image/png", 0, 1, "cast"), "width_px", "out_of_range"),
    (lambda: PhotoKept("a" * 64, "image/png", 1, 1, "cast", "x"), "about", "no_entry_id"),
    (lambda: SettingTaken(1.0, None), "lat_deg", "both_angles_or_none"),
    (lambda: SettingTaken(None, 1.0), "ap_deg", "both_angles_or_none"),
    (lambda: SettingTaken(45.1, 0.0, "T1", 0.5), "ap_deg", "out_of_range"),
    (lambda: SettingTaken(float("nan"), 0.0, "T1", 0.5), "ap_deg", "out_of_range"),
    (lambda: SettingTaken(1.0, 0.0, "T1"), "resolution_deg", "missing"),
    (lambda: SettingMadeFinal(False), "locked", "not_a_choice"),
    (lambda: GuidePlaneRead(45, "D", "sideways"), "light", "not_a_choice"),
    (lambda: GuidePlaneRead(45, "D", "gingival", 0.2), "height_mm", "gap_and_height"),
    (lambda: GuidePlaneRead(45, "D", "gingival", None, 2.0), "gap_mm", "gap_and_height"),
    (lambda: GuidePlaneRead(45, "D", "none", 0.2, 2.0), "gap_mm", "gap_without_light"),
    (lambda: an_undercut(45, "X"), "surface", "not_a_choice"),  # type: ignore[arg-type]
    (lambda: an_undercut(45, "B", gauge_mm=True), "gauge_mm", "out_of_range"),
    (lambda: an_undercut(45, "B", drop_mm=12.1), "drop_mm", "out_of_range"),
    (lambda: an_undercut(45, "B", contact="shank"), "contact", "not_a_choice"),
    (lambda: InterferenceNoted("right_lingual", "leaning_tooth"), "tooth", "missing"),
    (lambda: InterferenceNoted("palate", "other"), "remark", "missing"),
    (lambda: InterferencesLooked(False), "none_seen", "not_a_choice"),
    (lambda: SurveyLinesDrawn((), True), "sites", "missing"),
    (lambda: SurveyLinesDrawn(("45MB",), True), "sites", "not_a_choice"),
    (lambda: SurveyLinesDrawn(("4B",), True), "sites", "no_such_site"),
    (lambda: SurveyLinesDrawn(("45B", "45B"), True), "sites", "named_twice"),
    (lambda: mark(d_ab_mm=2.9), "d_ab_mm", "out_of_range"),
    (lambda: mark(d_ab_mm=81.0), "d_bc_mm", "no_triangle"),
    (lambda: mark(d_ab_mm=80.0), "d_bc_mm", "collinear_marks"),
    (lambda: TipChosen(45, "D", "gold", "arm"), "surface", "not_a_choice"),
    (lambda: TipChosen(45, "B", "gold", "arm", 1.9), "arm_mm", "out_of_range"),
    (lambda: Confirmed("45B"), "finding", "no_entry_id"),
    (lambda: Disturbed("sneezed"), "what", "not_a_choice"),
    (lambda: Remounted("tripod", 0, 0, 0, 1, (0, 0), KEY), "heights_mm", "three_heights"),
    (lambda: Remounted("tripod", 0, 0, 0, 1, (0, 0, 0)), "heights_mm", "three_heights"),
    (lambda: Remounted("inclinometer", 0, 0, -1, 1), "total_deg", "out_of_range"),
    (lambda: Remounted("scored_lines", 3.0, 4.0, 0.5, 1.0), "total_deg", "total_differs"),
    (lambda: Remounted("scored_lines", 0.2, 0.0, 5.0, 1.0), "total_deg", "total_differs"),
    (lambda: Remounted("tripod", 3, 0, 0.9, 1, (0, 0, 0), KEY), "total_deg", "total_differs"),
    (lambda: Remounted("scored_lines", 60.0, 60.0, 90.0, 1.0), "total_deg", "total_differs"),
    (lambda: Remounted("inclinometer", 3.0, 4.0, 0.5, 1.0), "total_deg", "total_differs"),
    (lambda: Exempted(()), "sites", "missing"),
    (lambda: Overruled("B", ("B1::",)), "rule", "bad_rule"),
    (lambda: Overruled("B1", ()), "covers", "missing"),
    (lambda: Released(("x",)), "grounds", "no_entry_id"),
    (lambda: PersonAdded("am", "reader"), "initials", "bad_initials"),
    (lambda: PersonAdded("AM", "owner"), "role", "not_a_choice"),  # type: ignore[arg-type]
    (lambda: InstrumentAdded("g 1", "gauge"), "tag", "bad_tag"),
    (lambda: InstrumentChecked("G25", True, 1.0, 1.0, "inch"), "unit", "not_a_choice"),
    (lambda: PolicySet("", "1"), "item", "missing"),
]


@pytest.mark.parametrize(("make", "field", "code"), REFUSED)
def test_nonsense_is_refused_with_its_field_and_code(make, field: str, code: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadEntry) as caught:
        make()

    assert (field, code) == (caught.value.field, caught.value.code)


@pytest.mark.parametrize("tooth", [18, 11, 21, 28, 38, 31, 41, 48])
def test_both_ends_of_every_quadrant_are_teeth(tooth: int) -> None:
    assert tooth == an_undercut(tooth, "B").tooth


@pytest.mark.parametrize(
    "body",
    [
        SettingTaken(-45.0, 45.0, "T1", 0.01),
        SettingTaken(None, None),
        GuidePlaneRead(45, "D", "gingival", 0.0, 0.1),
        ClaspWished(45, "B", "ring", "gold", 1.5, 2.0),
        mark(d_ab_mm=120.0, d_ac_mm=120.0),
    ],
)
def test_values_at_the_ends_of_their_ranges_are_held(body: object) -> None:
    assert type(body) in BODIES


# sin² of the total is the sum of both angles' sin²: 3° and 4° make 5.0° (trigonometry, by hand).
@pytest.mark.parametrize(("total_deg", "fits"), [(5.0, True), (5.05, True), (4.95, True),
                                                 (5.07, False), (4.93, False)])  # fmt: skip
def test_a_remounts_total_fits_its_two_angles_but_for_rounding(
    total_deg: float, fits: bool
) -> None:
    def made() -> Remounted:
        return Remounted("scored_lines", 3.0, 4.0, total_deg, 1.0)

    if fits:
        assert total_deg == made().total_deg
    else:
        with pytest.raises(BadEntry, match="total_differs"):
            made()


def test_a_remount_at_its_tolerance_passes() -> None:
    at, over = (Remounted("inclinometer", 1, 0, total, 1.0) for total in (1.0, 1.001))

    assert (at.passes, over.passes) == (True, False)


@pytest.mark.parametrize(
    ("body", "more", "field", "code"),
    [
        (PolicySet("B1", "warns"), {"case": CODE, "reason": "x"}, "case", "not_of_a_case"),
        (CastReceived("sound"), {}, "case", "missing"),
        (TRIPOD, {"case": CODE}, "setting", "no_setting"),
        (Withdrawn(KEY), {"case": CODE, "reason": " "}, "reason", "missing"),
        (CastReceived("sound"), {"case": CODE, "supersedes": (KEY,)}, "reason", "missing"),
    ],
)
def test_a_draft_says_of_what_at_which_setting_and_why(
    body: entries.Body, more: dict[str, str], field: str, code: str
) -> None:
    with pytest.raises(BadEntry) as caught:
        Draft(body, "AM", **more)  # type: ignore[arg-type]

    assert (field, code) == (caught.value.field, caught.value.code)


def test_a_sealed_entry_holds_what_the_draft_said() -> None:
    draft = Draft(CastReceived("sound"), "AM", CODE, None, (KEY,), "chipped after all")

    entry = sealed(
        draft, entry_id=KEY, device="bench", at="2026-01-05T08:00:00.000Z", seq=3, prev="p"
    )

    said = (entry.body, entry.person, entry.case, entry.setting, entry.supersedes, entry.reason)
    assert said == (draft.body, "AM", CODE, None, (KEY,), "chipped after all")
    assert (entry.id, entry.kind, entry.seq, entry.digest) == (KEY, "cast_received", 3, "")
    assert with_digest(entry, "d").digest == "d"


def test_a_refusal_says_field_code_and_figures() -> None:
    bad = BadEntry("drop_mm", "out_of_range", value=13, low=0.1, high=12.0, unit="mm")

    assert bad.params["high"] == 12.0
    assert str(bad).startswith("drop_mm: out_of_range {")
    assert str(BadEntry("case", "missing")) == "case: missing"
