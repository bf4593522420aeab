"""Stories of the bench for tests: statements recorded one after another, and casts ready for design.

All people, cases and instruments are invented.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cached_property, lru_cache

from bench.core import accept
from bench.core.case import Case, fold
from bench.core.entries import (
    AT_A_SETTING,
    OF_THE_LAB,
    Body,
    CaseOpened,
    CastReceived,
    ClaspWished,
    DisinfectionRecorded,
    Disturbed,
    Draft,
    Entry,
    GuidePlaneRead,
    IndirectRetainerWished,
    InstrumentAdded,
    InstrumentChecked,
    InterferencesLooked,
    Mounted,
    PhotoKept,
    PolicySet,
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
    Withdrawn,
    sealed,
)
from bench.core.ids import case_code, entry_id
from bench.core.lab import Lab, fold_lab
from bench.core.release import Judged, State, Verdict, grounds, judge, state_of
from bench.core.rules.reason import Reason
from bench.core.surfaces import Site, Surface, site_from
from bench.core.survey import Survey
from bench.core.wire import seal

CODE = case_code(12345)
FIRST_MS = 1_767_600_000_000  # 2026-01-05, 08:00 UTC
MINUTE_MS = 60_000
_NAMES_ITS_SETTING = AT_A_SETTING | {SettingTaken, Mounted, Disturbed}


def iso(at_ms: int) -> str:
    """Return Unix time as an entry holds it."""
    at = datetime.fromtimestamp(at_ms / 1000, UTC)
    return at.isoformat(timespec="milliseconds").replace("+00:00", "Z")


class Story:
    """Entries recorded in order, on one device or several, a minute apart."""

    def __init__(self, entries: Iterable[Entry] = (), lab: tuple[Entry, ...] | None = None) -> None:
        self.entries = list(entries)
        self.lab_entries = lab_at_work() if lab is None else lab

    def say(self, body: Body, **how: object) -> Entry:
        """Record a statement at the setting the cast has now, as a page does: refused where unfit."""
        draft = self.draft(body, **how)
        if type(body) not in OF_THE_LAB:
            accept.check(draft, self.case, self.lab)
        return self._keep(draft, str(how.get("device", "bench")))

    def hear(self, body: Body, **how: object) -> Entry:
        """Take in a statement that another device recorded without having seen this story."""
        return self._keep(self.draft(body, **how), str(how.get("device", "other")))

    def draft(
        self,
        body: Body,
        *,
        person: str = "AM",
        setting: str | None = "now",
        supersedes: tuple[str, ...] = (),
        reason: str = "",
        device: str = "",
    ) -> Draft:
        """Return a statement before it is recorded; `setting` is the present one unless given."""
        here = self.here if type(body) in _NAMES_ITS_SETTING else None
        return Draft(
            body,
            person,
            None if type(body) in OF_THE_LAB else CODE,
            here if setting == "now" else setting,
            supersedes,
            reason or ("as seen again" if supersedes else ""),
        )

    def correct(self, entry: Entry, **changes: object) -> Entry:
        """Record an entry anew with some fields changed, in the place of the first."""
        return self.say(replace(entry.body, **changes), supersedes=(entry.id,))  # type: ignore[type-var]

    def policy(self, item: str, value: str) -> Story:
        """Change one item of the lab's policy."""
        self._keep(self.draft(PolicySet(item, value), person="SV", reason="agreed"), "bench")
        return self

    def _keep(self, draft: Draft, device: str) -> Entry:
        lab = draft.case is None
        count = len(self.entries) + len(self.lab_entries) + 1
        before = [e for e in (*self.lab_entries, *self.entries) if e.device == device]
        at_ms = FIRST_MS + count * MINUTE_MS
        entry, _ = seal(
            sealed(
                draft,
                entry_id=entry_id(at_ms, count),
                device=device,
                at=iso(at_ms),
                seq=len(before) + 1,
                prev=before[-1].digest if before else "",
            )
        )
        if lab:
            self.lab_entries = (*self.lab_entries, entry)
        else:
            self.entries.append(entry)
        return entry

    def copy(self) -> Story:
        """Return the same story, to be told on another way."""
        return Story(self.entries, self.lab_entries)

    def last(self, kind: type) -> Entry:
        """Return the newest entry of a kind."""
        return next(e for e in reversed(self.entries) if isinstance(e.body, kind))

    def of(self, tooth: int, kind: type) -> Entry:
        """Return the newest entry of a kind about a tooth."""
        return next(
            e for e in reversed(self.entries)
            if isinstance(e.body, kind) and e.body.tooth == tooth
        )  # fmt: skip

    @property
    def case(self) -> Case:
        return fold(CODE, self.entries)

    @property
    def here(self) -> str | None:
        now = self.case.now
        return now.id if now else None

    @property
    def lab(self) -> Lab:
        return fold_lab(self.lab_entries)

    @property
    def survey(self) -> Survey:
        return Survey(self.case, self.lab)

    @property
    def verdict(self) -> Verdict:
        return judge(self.survey)

    @property
    def state(self) -> State:
        return state_of(self.case, self.verdict)

    @property
    def judged(self) -> dict[str, Judged]:
        """What is found against release, by key."""
        return {one.reason.key: one for one in self.verdict.judged}

    @property
    def keys(self) -> set[str]:
        """The keys of what is found against release."""
        return set(self.judged)

    def forces(self, rule: str) -> dict[str, str]:
        """What the reasons of one rule do, by what they find."""
        found = [one for one in self.verdict.judged if one.reason.rule == rule]
        return {one.reason.key.removeprefix(f"{rule}:"): one.force for one in found}

    def reason(self, key: str) -> Reason:
        """The reason of a key."""
        return self.judged[key].reason

    def release(self) -> Entry:
        """Release the case on what stands."""
        return self.say(Released(grounds(self.case)))

    def tilt(self, ap_deg: float, lat_deg: float, *, final: bool = True, reason: str = "") -> Entry:
        """Take a setting, and make it final."""
        taken = self.say(SettingTaken(ap_deg, lat_deg, "T1", 0.5), reason=reason)
        if final:
            self.say(SettingMadeFinal())
        return taken


@dataclass(frozen=True)
class Plan:
    """What is missing and replaced, where the tips and rests go, and which indirect retainers help."""

    missing: tuple[int, ...]
    replaced: tuple[int, ...]
    tips: tuple[str, ...]
    rests: tuple[int, ...]
    indirect: tuple[int, ...] = ()

    @cached_property
    def tip_sites(self) -> tuple[Site, ...]:
        return tuple(site_from(text) for text in self.tips)


PLANS = {
    "I": Plan(
        (36, 37, 38, 46, 47, 48), (36, 37, 46, 47), ("45MB", "35MB"), (45, 35, 43, 33), (43, 33)
    ),
    "II": Plan((46, 47, 48, 38), (46, 47), ("45MB", "37MB"), (45, 37, 34), (34,)),
    "III": Plan((45, 46, 38, 48), (45, 46), ("44DB", "36MB"), (44, 47, 36)),
    "IV": Plan((42, 41, 31, 32, 38, 48), (42, 41, 31, 32), ("44MB", "34MB"), (43, 33, 46, 36)),
}
TRIPOD = TripodMarked(40.0, 40.0, 40.0, "clockwise", True, True, True, True, 20.0)


@lru_cache
def lab_at_work() -> tuple[Entry, ...]:
    """A lab with gauges and a table, all checked the day before."""
    story = Story(lab=())
    for tag, size_mm in (("G25", 0.25), ("G50", 0.5), ("G75", 0.75)):
        story.say(InstrumentAdded(tag, "gauge", size_mm))
        story.say(InstrumentChecked(tag, True, size_mm, size_mm))
    story.say(InstrumentAdded("T1", "table", None, 0.5, True))
    return story.lab_entries


def a_received_cast(kennedy: str = "I") -> Story:
    """A cast with its teeth, prescription and wish list recorded, not yet mounted."""
    story, plan = Story(), PLANS[kennedy]
    story.say(CaseOpened(CODE, "26-0001", "lower", "master"))
    story.say(TeethRecorded(plan.missing, plan.replaced))
    story.say(PrescriptionRecorded("RX-1", "2026-01-02"))
    story.say(DisinfectionRecorded("disinfected"))
    story.say(CastReceived("sound"))
    for site in plan.tip_sites:
        story.say(ClaspWished(*site, "circumferential", "wrought_wire", 0.5))
    for tooth in plan.rests:
        story.say(RestWished(tooth, "mesial"))
    for tooth in plan.indirect:
        story.say(IndirectRetainerWished(tooth))
    return story


def an_undercut(tooth: int, surface: Surface, **other: object) -> UndercutRead:
    """A reading with the 0.50 mm gauge, shank and lip touching, unless said otherwise."""
    facts: dict[str, object] = {"gauge_mm": 0.5, "contact": "both", "drop_mm": 1.4, "gauge": "G50"}
    return UndercutRead(tooth, surface, **{**facts, **other})  # type: ignore[arg-type]


def a_tip(tooth: int, surface: Surface, **other: object) -> TipChosen:
    """A wrought-wire tip, reciprocated by an arm and long enough, unless said otherwise."""
    facts: dict[str, object] = {"material": "wrought_wire", "reciprocation": "arm", "arm_mm": 12.0}
    return TipChosen(tooth, surface, **{**facts, **other})  # type: ignore[arg-type]


def a_tilted_cast(kennedy: str = "I") -> Story:
    """A cast read at zero, then tilted, its setting final; nothing is read there yet."""
    story = a_received_cast(kennedy)
    story.say(Mounted("S1", "T1"))
    for site in PLANS[kennedy].tip_sites:
        story.say(an_undercut(*site, drop_mm=1.8))
    story.tilt(3.0, 1.0)
    return story


def a_ready_cast(kennedy: str = "I") -> Story:
    """A cast surveyed in full at its final setting: nothing stands against release, not even a warning."""
    return _surveyed(kennedy).copy()


@lru_cache
def _surveyed(kennedy: str) -> Story:
    story = a_tilted_cast(kennedy)
    for site in story.survey.plane_sites:
        story.say(GuidePlaneRead(*site, "none"))
    for site in PLANS[kennedy].tip_sites:
        story.say(an_undercut(*site))
    story.say(InterferencesLooked())
    story.say(SurveyLinesDrawn(tuple(site.text for site in story.survey.line_sites), True))
    marked = story.say(TRIPOD)
    story.say(PhotoKept("a" * 64, "image/jpeg", 1200, 900, "tripod", marked.id))
    for site in PLANS[kennedy].tip_sites:
        story.say(a_tip(*site))
    return story


def withdrawing(kind: type) -> Callable[[Story], object]:
    """Return what takes the newest entry of a kind back."""
    return lambda story: story.say(Withdrawn(story.last(kind).id), reason="misread")


def correcting(kind: type, **changes: object) -> Callable[[Story], object]:
    """Return what corrects the newest entry of a kind."""
    return lambda story: story.correct(story.last(kind), **changes)
