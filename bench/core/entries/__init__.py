"""The statements a bench can record: one frozen dataclass per kind of entry, and the entry around it.

Every class refuses nonsense when it is made (`BadEntry`). Lengths in mm, angles in degrees, teeth in
ISO 3950, sites such as `34MB`. A new kind is a new class in one of the rooms and its name in `BODIES`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from bench.core.bounds import BadEntry
from bench.core.entries.case import (
    CaseOpened,
    CastReceived,
    ClaspWished,
    DisinfectionRecorded,
    GuidePlaneWished,
    IndirectRetainerWished,
    PhotoKept,
    PrescriptionRecorded,
    RestWished,
    TeethRecorded,
)
from bench.core.entries.drills import DrillClosed, DrillPlanned, DrillReading
from bench.core.entries.lab import (
    DevicePaired,
    DeviceRevoked,
    FiguresLookedAt,
    InstrumentAdded,
    InstrumentChecked,
    InstrumentRetired,
    InstrumentReturned,
    PersonAdded,
    PersonChanged,
    PolicySet,
    SignalAcknowledged,
    TableDescribed,
    UncertaintyStated,
)
from bench.core.entries.outcome import (
    Disturbed,
    Exempted,
    HoldLifted,
    HoldSet,
    Overruled,
    PersonConfirmed,
    PersonUnconfirmed,
    RecallTaken,
    Released,
    Remounted,
    RemountRead,
    Withdrawn,
)
from bench.core.entries.photos import PhotoDrawn, PhotoMarksConfirmed
from bench.core.entries.survey import (
    Confirmed,
    FourthMarkMade,
    GuidePlaneRead,
    InterferenceNoted,
    InterferencesLooked,
    Mounted,
    SettingMadeFinal,
    SettingTaken,
    SurveyLinesDrawn,
    TipChosen,
    TripodMarked,
    UndercutRead,
)

__all__ = [
    "AT_A_SETTING",
    "BESIDE_THE_LAB",
    "BODIES",
    "BY_A_SUPERVISOR",
    "FINDINGS",
    "KINDS",
    "OF_EITHER",
    "OF_THE_LAB",
    "ONLY_AT_THE_BENCH",
    "WITH_A_REASON",
    "BadEntry",
    "Body",
    "CaseOpened",
    "CastReceived",
    "ClaspWished",
    "Confirmed",
    "DevicePaired",
    "DeviceRevoked",
    "DisinfectionRecorded",
    "Disturbed",
    "Draft",
    "DrillClosed",
    "DrillPlanned",
    "DrillReading",
    "Entry",
    "Exempted",
    "FiguresLookedAt",
    "FourthMarkMade",
    "GuidePlaneRead",
    "GuidePlaneWished",
    "HoldLifted",
    "HoldSet",
    "IndirectRetainerWished",
    "InstrumentAdded",
    "InstrumentChecked",
    "InstrumentRetired",
    "InstrumentReturned",
    "InterferenceNoted",
    "InterferencesLooked",
    "Mounted",
    "Overruled",
    "PersonAdded",
    "PersonChanged",
    "PersonConfirmed",
    "PersonUnconfirmed",
    "PhotoDrawn",
    "PhotoKept",
    "PhotoMarksConfirmed",
    "PolicySet",
    "PrescriptionRecorded",
    "RecallTaken",
    "Released",
    "RemountRead",
    "Remounted",
    "RestWished",
    "SettingMadeFinal",
    "SettingTaken",
    "SignalAcknowledged",
    "SurveyLinesDrawn",
    "TableDescribed",
    "TeethRecorded",
    "TipChosen",
    "TripodMarked",
    "UncertaintyStated",
    "UndercutRead",
    "Unknown",
    "Withdrawn",
    "kind_of",
    "sealed",
    "with_digest",
]


@dataclass(frozen=True, slots=True)
class Unknown:
    """A body of a kind this version does not know, kept to the letter as canonical JSON text."""

    text: str


Body = (
    PersonAdded | PersonChanged | PolicySet | InstrumentAdded | InstrumentChecked | InstrumentRetired
    | InstrumentReturned | TableDescribed | UncertaintyStated | DevicePaired | DeviceRevoked | SignalAcknowledged
    | FiguresLookedAt | DrillPlanned | DrillReading | DrillClosed
    | CaseOpened | TeethRecorded | PrescriptionRecorded | DisinfectionRecorded | CastReceived
    | ClaspWished | RestWished | GuidePlaneWished | IndirectRetainerWished | PhotoKept
    | PhotoMarksConfirmed | PhotoDrawn
    | Mounted | SettingTaken | SettingMadeFinal | GuidePlaneRead | UndercutRead | InterferenceNoted
    | InterferencesLooked | SurveyLinesDrawn | TripodMarked | FourthMarkMade | TipChosen | Confirmed
    | Disturbed | Remounted | RemountRead | Exempted | Overruled | Released | RecallTaken
    | PersonUnconfirmed | PersonConfirmed | HoldSet | HoldLifted
    | Withdrawn | Unknown
)  # fmt: skip

BODIES: tuple[type, ...] = (
    PersonAdded, PersonChanged, PolicySet, InstrumentAdded, InstrumentChecked, InstrumentRetired,
    InstrumentReturned, TableDescribed, UncertaintyStated, DevicePaired, DeviceRevoked,
    SignalAcknowledged, FiguresLookedAt, DrillPlanned, DrillReading, DrillClosed,
    CaseOpened, TeethRecorded, PrescriptionRecorded, DisinfectionRecorded, CastReceived,
    ClaspWished, RestWished, GuidePlaneWished, IndirectRetainerWished, PhotoKept,
    PhotoMarksConfirmed, PhotoDrawn,
    Mounted, SettingTaken, SettingMadeFinal, GuidePlaneRead, UndercutRead, InterferenceNoted,
    InterferencesLooked, SurveyLinesDrawn, TripodMarked, FourthMarkMade, TipChosen, Confirmed,
    Disturbed, Remounted, RemountRead, Exempted, Overruled, Released, RecallTaken,
    PersonUnconfirmed, PersonConfirmed, HoldSet, HoldLifted,
    Withdrawn,
)  # fmt: skip


def kind_of(body_class: type) -> str:
    """Return the kind's name in the log: `UndercutRead` is `undercut_read`."""
    return re.sub(r"(?<!^)(?=[A-Z])", "_", body_class.__name__).lower()


KINDS: dict[str, type] = {kind_of(body): body for body in BODIES}
_NAMES: dict[type, str] = {body: name for name, body in KINDS.items()}

# Said beside the lab: nothing about its people, policy, instruments or devices follows from these.
BESIDE_THE_LAB = frozenset(
    {SignalAcknowledged, FiguresLookedAt, DrillPlanned, DrillReading, DrillClosed}
)
OF_THE_LAB = frozenset(
    {PersonAdded, PersonChanged, PolicySet, InstrumentAdded, InstrumentChecked, InstrumentRetired}
    | {InstrumentReturned, TableDescribed, UncertaintyStated, DevicePaired, DeviceRevoked}
    | BESIDE_THE_LAB
)
# Said beside entries of a case, or of the lab, as those they name.
OF_EITHER = frozenset({PersonUnconfirmed, PersonConfirmed})
FINDINGS = (
    GuidePlaneRead, UndercutRead, InterferenceNoted, InterferencesLooked, SurveyLinesDrawn,
    TripodMarked, TipChosen,
)  # fmt: skip
AT_A_SETTING = frozenset(
    {*FINDINGS, Confirmed, SettingMadeFinal, RemountRead, Exempted, Overruled, Released}
)
BY_A_SUPERVISOR = frozenset(
    {PersonAdded, PersonChanged, PolicySet, InstrumentAdded, InstrumentRetired, Exempted, Overruled}
    | {RecallTaken, DevicePaired, DeviceRevoked, InstrumentReturned, HoldSet, HoldLifted}
    | (BESIDE_THE_LAB - {DrillReading})
)
ONLY_AT_THE_BENCH = frozenset(
    {Released, Overruled, Exempted, RecallTaken, PersonConfirmed}
    | {PersonAdded, PersonChanged, PolicySet, DevicePaired, DeviceRevoked, HoldSet, HoldLifted}
    | (BESIDE_THE_LAB - {DrillReading})
)
WITH_A_REASON = frozenset(
    {PolicySet, DeviceRevoked, SignalAcknowledged, Exempted, Overruled, Withdrawn}
    | {HoldSet, HoldLifted}
)


@dataclass(frozen=True, slots=True)
class Draft:
    """A statement before it is sealed: what is said, of which case, at which setting, by whom.

    `entry_id` is given by the form that made it, so that a second tap states nothing twice.
    """

    body: Body
    person: str
    case: str | None = None
    setting: str | None = None
    supersedes: tuple[str, ...] = ()
    reason: str = ""
    entry_id: str | None = None

    def __post_init__(self) -> None:
        of_the_lab = type(self.body) in OF_THE_LAB
        if of_the_lab != (self.case is None) and type(self.body) not in OF_EITHER:
            raise BadEntry("case", "not_of_a_case" if of_the_lab else "missing")
        if type(self.body) in AT_A_SETTING and self.setting is None:
            raise BadEntry("setting", "no_setting")
        if (self.supersedes or type(self.body) in WITH_A_REASON) and not self.reason.strip():
            raise BadEntry("reason", "missing")


@dataclass(frozen=True, slots=True)
class Entry:
    """One sealed statement of the log.

    `at` is the device's clock (UTC, ISO 8601 with milliseconds), `seq` counts from 1 on each device,
    `prev` is the digest of that device's entry before it ('' for its first), `digest` is SHA-256 over the
    canonical bytes (core.wire).
    """

    id: str
    kind: str
    body: Body
    person: str
    device: str
    at: str
    seq: int
    prev: str
    case: str | None = None
    setting: str | None = None
    supersedes: tuple[str, ...] = ()
    reason: str = ""
    digest: str = ""


def sealed(draft: Draft, *, entry_id: str, device: str, at: str, seq: int, prev: str) -> Entry:
    """Return the entry a draft becomes on a device, still without its digest (core.wire adds it)."""
    return Entry(
        id=entry_id, kind=_NAMES[type(draft.body)], body=draft.body, person=draft.person, device=device,
        at=at, seq=seq, prev=prev, case=draft.case, setting=draft.setting, supersedes=draft.supersedes,
        reason=draft.reason,
    )  # fmt: skip


def with_digest(entry: Entry, digest: str) -> Entry:
    """Return the entry with its digest in place."""
    return replace(entry, digest=digest)
