"""An invented lower cast with both posterior ends free, brought to each of the later steps."""

from __future__ import annotations

from typing import Any

from bench.core.entries import (
    CaseOpened,
    CastReceived,
    ClaspWished,
    DisinfectionRecorded,
    Entry,
    GuidePlaneRead,
    IndirectRetainerWished,
    InterferencesLooked,
    Mounted,
    PhotoKept,
    PrescriptionRecorded,
    RestWished,
    SettingMadeFinal,
    SettingTaken,
    SurveyLinesDrawn,
    TeethRecorded,
    TipChosen,
    TripodMarked,
    UndercutRead,
)
from tests.web.sentforms import SentForm, ShownPage
from tests.web.surveyedcases import OnBench

MISSING = (36, 37, 38, 46, 47, 48)
LINES = ("45B", "45L", "44B", "44L", "34B", "34L", "35B", "35L")


def form_to(page: ShownPage, ending: str, **having: str) -> SentForm:
    """Return the form of a page that goes to an address with this ending and holds these values."""
    for form in page.forms:
        if form.action.endswith(ending) and all(form.value(k) == v for k, v in having.items()):
            return form
    raise LookupError(f"no form to {ending} {having}")


def received(bench: OnBench) -> None:
    bench.state(CaseOpened(bench.code, "26-0051", "lower", "master"))
    bench.state(TeethRecorded(missing=MISSING, replaced=(36, 37, 46, 47)))
    bench.state(PrescriptionRecorded("Rx 51", "2026-03-02"))
    bench.state(DisinfectionRecorded("disinfected"))
    bench.state(CastReceived("sound"))
    bench.state(ClaspWished(35, "MB", "circumferential", "wrought_wire", 0.5, 9.0))
    bench.state(ClaspWished(45, "MB", "circumferential", "wrought_wire", 0.5, 9.0))
    bench.state(RestWished(35, "mesial"))
    bench.state(RestWished(45, "mesial"))
    bench.state(IndirectRetainerWished(43))


def locked(bench: OnBench) -> Entry:
    """The cast at its final setting, nothing read there yet; return the setting."""
    received(bench)
    zero = bench.state(Mounted())
    setting = bench.state(SettingTaken(4.0, 0.0, "I1", 0.1), setting=zero.id)
    bench.state(SettingMadeFinal(), setting=setting.id)
    return setting


def read(bench: OnBench) -> Entry:
    """Guide planes and undercuts read at the final setting; return the setting."""
    setting = locked(bench)
    for body in (
        GuidePlaneRead(35, "D", "none"), GuidePlaneRead(45, "D", "none"),
        UndercutRead(35, "MB", 0.5, "both", 1.9), UndercutRead(45, "MB", 0.5, "both", 1.8),
        UndercutRead(45, "ML", 0.25, "lip_short"), UndercutRead(35, "B", 0.25, "none"),
    ):  # fmt: skip
        bench.state(body, setting=setting.id)
    return setting


def marks(**other: Any) -> TripodMarked:
    """Return an equilateral tripod of 40 mm, everything declared."""
    said: dict[str, Any] = {
        "d_ab_mm": 40.0, "d_ac_mm": 40.0, "d_bc_mm": 40.0, "sense": "clockwise", "one_tip_height": True,
        "arm_locked": True, "table_locked": True, "ringed": True,
    }  # fmt: skip
    return TripodMarked(**{**said, **other})


def ready(bench: OnBench) -> Entry:
    """Everything recorded that a release needs; return the setting."""
    setting = read(bench)
    bench.state(InterferencesLooked(), setting=setting.id)
    bench.state(SurveyLinesDrawn((*LINES, "43B", "43L"), True), setting=setting.id)
    tripod = bench.state(marks(), setting=setting.id)
    bench.state(
        PhotoKept("0" * 64, "image/jpeg", 800, 600, "tripod", tripod.id), setting=setting.id
    )
    for tooth in (35, 45):
        tip = TipChosen(tooth, "MB", "wrought_wire", "plate", 9.0)
        bench.state(tip, setting=setting.id)
    return setting


def moved_on(bench: OnBench, before: Entry) -> Entry:
    """The table tilted anew while a page was open."""
    return bench.state(SettingTaken(6.0, 0.0, "I1", 0.1), setting=before.id)
