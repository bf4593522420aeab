"""Invented cases told entry by entry, without a bench: for the tests of sheets and of settling."""

from __future__ import annotations

from bench.core.case import Case, fold
from bench.core.entries import (
    Body,
    CaseOpened,
    CastReceived,
    ClaspWished,
    DisinfectionRecorded,
    Draft,
    Entry,
    GuidePlaneRead,
    IndirectRetainerWished,
    InstrumentAdded,
    InstrumentChecked,
    InterferenceNoted,
    Mounted,
    PhotoKept,
    PrescriptionRecorded,
    Released,
    RestWished,
    SettingMadeFinal,
    SettingTaken,
    SurveyLinesDrawn,
    TeethRecorded,
    TipChosen,
    TripodMarked,
    UndercutRead,
    sealed,
)
from bench.core.ids import case_code, entry_id
from bench.core.lab import Lab, fold_lab
from bench.core.release import Verdict, grounds, judge
from bench.core.surfaces import Surface
from bench.core.survey import Survey
from bench.sheets.facts import Facts, facts_of
from bench.words import Words
from bench.words.reader import Reader

START_MS = 1_773_043_200_000
CODE = case_code(27_182_818)
READER = Reader(Words("en"))
BASE_URL = "https://bench-pc.example:8480"


class Story:
    """A case as it is told: what is said at a setting belongs to the setting it has at that moment."""

    def __init__(self, number: str = "26-0101", arch: str = "lower", kind: str = "master") -> None:
        self.entries: list[Entry] = []
        self.setting: str | None = None
        self.count = 0
        self.say(CaseOpened(CODE, number, arch, kind))  # type: ignore[arg-type]

    def say(
        self, body: Body, *, person: str = "TEC", reason: str = "", setting: str | None = "",
        supersedes: tuple[str, ...] = (), case: str | None = CODE,
    ) -> Entry:  # fmt: skip
        count = self.count = self.count + 1
        here = self.setting if setting == "" else setting
        draft = Draft(body, person, case, here, supersedes, reason)
        key = entry_id(START_MS + 60_000 * count, count)
        at = f"2026-03-09T08:{count // 60:02d}:{count % 60:02d}.000Z"
        entry = sealed(draft, entry_id=key, device="bench-1", at=at, seq=count, prev="")
        self.entries.append(entry)
        if isinstance(body, (Mounted, SettingTaken)):
            self.setting = entry.id
        return entry

    def release(self, person: str = "TEC") -> Entry:
        return self.say(Released(grounds(self.case)), person=person)

    @property
    def case(self) -> Case:
        return fold(CODE, self.entries)


def lab() -> Lab:
    """Return a lab whose gauges were checked."""
    story = Story()
    for tag, size_mm in (("G25-1", 0.25), ("G50-1", 0.5)):
        story.say(InstrumentAdded(tag, "gauge", size_mm), person="SUP", case=None, setting=None)
        story.say(InstrumentChecked(tag, True), case=None, setting=None)
    return fold_lab(story.entries[1:])


def seen(story: Story) -> tuple[Survey, Verdict]:
    survey = Survey(story.case, lab())
    return survey, judge(survey)


def facts(story: Story, reader: Reader = READER) -> Facts:
    survey, verdict = seen(story)
    return facts_of(
        survey, verdict, reader, when=lambda at: at[:16].replace("T", " "), base_url=BASE_URL,
        printed="2026-03-10 09:00",
    )  # fmt: skip


def surveyed() -> Story:
    """A lower cast, Kennedy III mod 1, surveyed to the end, with a tooth change asked for."""
    story = Story()
    _received(story, missing=(36, 46), replaced=(36, 46))
    for tooth, surface in ((45, "MB"), (35, "MB")):
        story.say(ClaspWished(tooth, surface, "circumferential", "co_cr", 0.25, 16.0))  # type: ignore[arg-type]
        story.say(RestWished(tooth, "distal"))
    story.say(Mounted("S1", "T1"))
    for tooth in (45, 35):
        _read(story, tooth, "MB")
    story.say(SettingTaken(4.0, 1.5, "T1", 0.5))
    story.say(SettingMadeFinal())
    for tooth, surface in ((47, "M"), (45, "D"), (35, "D"), (37, "M")):
        off = 0.3 if tooth == 45 else None
        story.say(GuidePlaneRead(tooth, surface, "gingival", 0.4, 2.0, off, 2.5))  # type: ignore[arg-type]
    for tooth in (45, 35):
        _read(story, tooth, "MB", 1.4)
    story.say(InterferenceNoted("right_lingual", "torus", remark="passes with relief"))
    _lines(story, (47, 45, 44, 34, 35, 37, 48, 38))
    _tripod(story)
    for tooth in (45, 35):
        story.say(TipChosen(tooth, "MB", "co_cr", "arm", 16.0))
    return story


def released() -> Story:
    story = surveyed()
    story.release()
    return story


def fullest() -> Story:
    """As much as one cast can hold: twelve tips, every surface read, long remarks, then tilted anew."""
    story = Story("26-0101A", "upper", "duplicate")
    _received(story, missing=(16, 15, 25, 26), replaced=(16, 15, 25, 26))
    teeth = (18, 17, 14, 13, 12, 11, 21, 22, 23, 24, 27, 28)
    for tooth in teeth:
        story.say(ClaspWished(tooth, "MB", "combination", "wrought_wire", 0.5, 12.0))
        story.say(RestWished(tooth, "mesial"))
        story.say(IndirectRetainerWished(tooth))
    story.say(Mounted())
    story.say(SettingTaken(12.0, -7.5, "", 0.5), reason="Long path asked for by the dentist")
    for tooth in teeth:
        for surface in ("M", "D"):
            story.say(GuidePlaneRead(tooth, surface, "occlusal", 0.6, 2.5, 0.35, 3.0))  # type: ignore[arg-type]
        for at in ("MB", "DB", "ML", "DL"):
            _read(story, tooth, at, 1.2, contact="lip_short", gauge="G99")  # type: ignore[arg-type]
        story.say(TipChosen(tooth, "MB", "co_cr", "none", 9.0))
    for place in ("right_lingual", "left_lingual", "right_buccal", "left_buccal", "palate"):
        story.say(InterferenceNoted(place, "other", remark="A bony edge of the tuberosity " * 5))
    _lines(story, teeth)
    _tripod(story)
    story.say(SettingTaken(13.0, -8.5, "", 0.5), reason="Long path asked for by the dentist")
    return story


def _received(story: Story, missing: tuple[int, ...], replaced: tuple[int, ...]) -> None:
    for body in (
        TeethRecorded(missing, replaced), PrescriptionRecorded("RX-101", "2026-03-02"),
        DisinfectionRecorded("disinfected"), CastReceived("sound"),
    ):  # fmt: skip
        story.say(body)


def _read(
    story: Story, tooth: int, surface: Surface, drop_mm: float | None = None, *,
    contact: str = "both", gauge: str = "G25-1",
) -> None:  # fmt: skip
    story.say(UndercutRead(tooth, surface, 0.25, contact, drop_mm, gauge, marked=True))


def _lines(story: Story, teeth: tuple[int, ...]) -> None:
    sites = tuple(f"{tooth}{letter}" for tooth in teeth for letter in "BL")
    story.say(SurveyLinesDrawn(sites, lead_at_gingival=True))


def _tripod(story: Story) -> None:
    marked = story.say(
        TripodMarked(40.0, 41.0, 39.0, "anticlockwise", True, True, True, True, 12.0)
    )
    story.say(PhotoKept("a" * 64, "image/jpeg", 1200, 900, "tripod", marked.id))
