"""One case walked at the bench: every statement checked as a page checks it, at a time of its own."""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

from bench.core import accept
from bench.core.case import Case, fold
from bench.core.entries import (
    AT_A_SETTING,
    Body,
    CaseOpened,
    Disturbed,
    Draft,
    Entry,
    Mounted,
    PhotoKept,
    Remounted,
    SettingTaken,
    Unknown,
    sealed,
)
from bench.core.ids import RANDOM_BITS, entry_id
from bench.core.lab import Lab
from bench.core.survey import Survey
from bench.demo.people import SUPERVISORS, TECHNICIANS
from bench.demo.photos import Album
from bench.demo.plans import Plan
from bench.store.log import iso

HOUR_MS = 3_600_000
DAY_MS = 24 * HOUR_MS
_NAMES_ITS_SETTING = (*AT_A_SETTING, SettingTaken, Mounted, Disturbed, Remounted, PhotoKept)


@dataclass(frozen=True, slots=True)
class Moment:
    """One statement and when it is made."""

    at_ms: int
    draft: Draft


@dataclass
class Walk:
    """A case on its way over the bench; `moments` are what was stated so far."""

    number: str
    code: str
    plan: Plan
    lab: Lab
    random: Random
    album: Album
    now_ms: int
    person: str = TECHNICIANS[0]
    moments: list[Moment] = field(default_factory=list)
    strange: list[Entry] = field(default_factory=list)
    _entries: list[Entry] = field(default_factory=list)
    _case: Case | None = None

    @property
    def case(self) -> Case:
        """The case as it stands."""
        if self._case is None:
            self._case = fold(self.code, self._entries)
        return self._case

    @property
    def survey(self) -> Survey:
        """The case seen with its lab."""
        return Survey(self.case, self.lab)

    @property
    def supervisor(self) -> str:
        """The supervisor who looks after this case."""
        return SUPERVISORS[int(self.number[-1]) % len(SUPERVISORS)]

    def say(
        self, body: Body, *, by: str = "", supersedes: tuple[str, ...] = (), reason: str = ""
    ) -> Entry:
        """State something of the case, a moment after what was stated last; raise BadEntry if refused."""
        self.now_ms += self.random.randrange(15_000, 90_000)
        entry = self._made(body, by or self.person, supersedes, reason)
        draft = Draft(body, entry.person, self.code, entry.setting, supersedes, reason, entry.id)
        accept.check(draft, self.case, self.lab)
        self.moments.append(Moment(self.now_ms, draft))
        self._entries.append(entry)
        self._case = None
        return entry

    def say_elsewhere(self, body: Body, *, by: str) -> None:
        """State something on a tablet that has not heard of what was stated here last."""
        self.now_ms += 20_000
        self.strange.append(self._made(body, by, (), ""))

    def say_in_a_newer_version(self, kind: str, text: str) -> None:
        """State something of a kind that this version does not know, as canonical JSON text."""
        self.now_ms += 20_000
        key = entry_id(self.now_ms, self.random.getrandbits(RANDOM_BITS))
        body, at = Unknown(text), iso(self.now_ms)
        self.strange.append(Entry(key, kind, body, self.person, "", at, 1, "", self.code))

    def wait_days(self, days: int) -> None:
        """Let days pass; the next statement is made in the morning of a working day."""
        day = self.now_ms // DAY_MS + days
        while (day + 3) % 7 >= 5:  # 1 January 1970 was a Thursday
            day += 1
        minutes = self.random.randrange(480, 840)
        self.now_ms = day * DAY_MS + minutes * 60_000

    def wait_minutes(self, minutes: int) -> None:
        """Let minutes pass."""
        self.now_ms += minutes * 60_000

    def _made(self, body: Body, by: str, supersedes: tuple[str, ...], reason: str) -> Entry:
        here = self.case.now.id if self._entries and self.case.now else None
        setting = here if isinstance(body, tuple(_NAMES_ITS_SETTING)) else None
        draft = Draft(body, by, self.code, setting, supersedes, reason)
        key = entry_id(self.now_ms, self.random.getrandbits(RANDOM_BITS))
        return sealed(draft, entry_id=key, device="", at=iso(self.now_ms), seq=0, prev="")

    def open(self, cast_kind: str) -> None:
        """Open the case."""
        self.say(CaseOpened(self.code, self.number, self.plan.arch, cast_kind))
