"""A case is a fold over its entries: what stands, at which setting, and what has gone stale."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Generic, TypeVar

from bench.core.bounds import BadEntry
from bench.core.claims import Claim, stated_by
from bench.core.contradiction import Contradiction, contradictions_in
from bench.core.entries import (
    FINDINGS,
    CaseOpened,
    Confirmed,
    Disturbed,
    Entry,
    HoldLifted,
    HoldSet,
    Mounted,
    RecallTaken,
    Released,
    Remounted,
    RemountRead,
    SettingMadeFinal,
    SettingTaken,
    TeethRecorded,
)
from bench.core.off import worked_out
from bench.core.proving import unconfirmed_in
from bench.core.standing import put_aside
from bench.core.teeth import Arch, arch_of, teeth_of
from bench.core.tilt import Tilt

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)


@dataclass(frozen=True, slots=True)
class Said(Generic[T_co]):
    """A standing entry together with its body, so that the body's type is known."""

    entry: Entry
    body: T_co


@dataclass(frozen=True, slots=True)
class Reading(Generic[T_co]):
    """What counts for one claim: the entry, where it holds, and whether that is the present setting.

    `at_settings` are the ids of the settings at which it was made or confirmed; `seen` are the entries
    that a correction of it at the present setting has to name.
    """

    claim: Claim
    entry: Entry
    body: T_co
    at_settings: frozenset[str]
    current: bool
    seen: tuple[str, ...]

    @property
    def stale(self) -> bool:
        """Whether the setting has changed since the finding was last made or confirmed."""
        return not self.current


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting of the table: number, tilt in degrees (None: table without a scale), whether it is final."""

    number: int
    entry: Entry
    ap_deg: float | None
    lat_deg: float | None
    zero: bool
    final: bool
    resolution_deg: float | None = None

    @property
    def id(self) -> str:
        """The id of the entry that took the setting: findings name it."""
        return self.entry.id

    @property
    def tilt(self) -> Tilt | None:
        """The tilt in degrees, or None on a table without a scale."""
        if self.ap_deg is None or self.lat_deg is None:
            return None
        return Tilt(self.ap_deg, self.lat_deg)


@dataclass(frozen=True)
class Case:
    """Everything recorded of one case. Built by `fold`; nothing in it depends on the order of the entries."""

    code: str
    entries: tuple[Entry, ...]
    aside: Mapping[str, Entry]

    @cached_property
    def standing(self) -> tuple[Entry, ...]:
        """The entries that nothing withdraws or supersedes, in order of their ids."""
        return tuple(entry for entry in self.entries if entry.id not in self.aside)

    @cached_property
    def by_id(self) -> Mapping[str, Entry]:
        """Every entry of the case by its id."""
        return {entry.id: entry for entry in self.entries}

    @cached_property
    def opened(self) -> Said[CaseOpened]:
        """The entry that opened the case; BadEntry when none stands (a label recorded against ahead of it)."""
        said = self.said(CaseOpened)
        if not said:
            raise BadEntry("case", "not_opened", value=self.code)
        return said[0]

    @property
    def arch(self) -> Arch:
        """The arch of the cast."""
        return self.opened.body.arch

    def said(self, kind: type[T]) -> tuple[Said[T], ...]:
        """Return the standing entries of a kind in order of their ids.

        A re-mount that was only read is among those worked out too.
        """
        return self._by_kind.get(kind, ())

    @cached_property
    def _by_kind(self) -> Mapping[type, tuple[Said[Any], ...]]:
        kinds: defaultdict[type, list[Said[Any]]] = defaultdict(list)
        for entry in self.standing:
            kinds[type(entry.body)].append(Said(entry, entry.body))
            if entry.id in self.worked_out:
                kinds[Remounted].append(Said(entry, self.worked_out[entry.id]))
        return {kind: tuple(said) for kind, said in kinds.items()}

    @cached_property
    def worked_out(self) -> Mapping[str, Remounted]:
        """The figures of re-mounts that were only read, by entry; one whose marks are not here yet is left out."""
        made = {
            entry.id: worked_out(entry, self.by_id)
            for entry in self.standing
            if isinstance(entry.body, RemountRead)
        }
        return {key: body for key, body in made.items() if body is not None}

    @cached_property
    def unconfirmed(self) -> tuple[Entry, ...]:
        """The standing entries whose person a tablet could not make sure of and has not confirmed them since.

        The note counts also when it was taken back: nobody but the person named can clear it.
        """
        return unconfirmed_in(self.entries, self.standing)

    def latest(self, kind: type[T]) -> Said[T] | None:
        """Return the newest standing entry of a kind, or None."""
        said = self.said(kind)
        return said[-1] if said else None

    @property
    def hold(self) -> Said[HoldSet] | None:
        """The newest legal hold that nothing lifted, or None."""
        lifted = {said.body.hold for said in self.said(HoldLifted)}
        held = [said for said in self.said(HoldSet) if said.entry.id not in lifted]
        return held[-1] if held else None

    @cached_property
    def teeth(self) -> TeethRecorded:
        """The teeth of this arch as recorded; nothing missing while nothing is recorded."""
        said = self.latest(TeethRecorded)
        gone = (*said.body.missing, *said.body.extractions) if said else ()
        fits = all(arch_of(tooth) == self.arch for tooth in gone)
        return said.body if said and fits else TeethRecorded(missing=())

    @cached_property
    def present(self) -> tuple[int, ...]:
        """The teeth standing on the cast, planned extractions included, from the patient's right to left."""
        missing = set(self.teeth.missing)
        return tuple(tooth for tooth in teeth_of(self.arch) if tooth not in missing)

    @cached_property
    def settings(self) -> tuple[Setting, ...]:
        """The standing settings in order; number 0 is the first mounting."""
        finals = {said.entry.setting for said in self.said(SettingMadeFinal)}
        taken = [e for e in self.standing if isinstance(e.body, (Mounted, SettingTaken))]
        return tuple(_setting(number, entry, finals) for number, entry in enumerate(taken))

    @cached_property
    def now(self) -> Setting | None:
        """The setting the cast has now: the newest one that no later setting left.

        A setting taken back still tells which one it left, so the ones before it stay left.
        """
        left: set[str | None] = set()
        for setting in self.settings:
            before = setting.entry.setting
            while before is not None and before not in left:
                left.add(before)
                before = self.by_id[before].setting if before in self.by_id else None
        heads = [setting for setting in self.settings if setting.id not in left]
        return heads[-1] if heads else None

    @property
    def _here(self) -> str | None:
        return self.now.id if self.now else None

    @property
    def final(self) -> Setting | None:
        """The present setting when it was made final, else None."""
        return self.now if self.now and self.now.final else None

    def setting_of(self, setting_id: str | None) -> Setting | None:
        """Return the standing setting of that id, or None."""
        return next((setting for setting in self.settings if setting.id == setting_id), None)

    @cached_property
    def held_at(self) -> Mapping[str, frozenset[str]]:
        """For each standing finding the ids of the settings at which it was made or confirmed."""
        held = {
            e.id: {e.setting} for e in self.standing if isinstance(e.body, FINDINGS) and e.setting
        }
        for said in self.said(Confirmed):
            if said.body.finding in held and said.entry.setting:
                held[said.body.finding].add(said.entry.setting)
        return {key: frozenset(settings) for key, settings in held.items()}

    @cached_property
    def contradictions(self) -> tuple[Contradiction, ...]:
        """What stands and disagrees, at the present setting or of the case as a whole."""
        found = contradictions_in(self.standing, self.held_at)
        at = (None, self._here)
        return tuple(c for c in found if c.setting in at or c.claim == ("settings",))

    def readings(self, kind: type[T]) -> Mapping[Claim, Reading[T]]:
        """Return what counts for each claim that findings of a kind make: current before stale, new before old."""
        return self._counting_by_kind.get(kind, {})

    @cached_property
    def _counting_by_kind(self) -> Mapping[type, Mapping[Claim, Reading[Any]]]:
        kinds: defaultdict[type, dict[Claim, Reading[Any]]] = defaultdict(dict)
        for claim, reading in self.counting.items():
            kinds[type(reading.body)][claim] = reading
        return kinds

    @cached_property
    def counting(self) -> Mapping[Claim, Reading[object]]:
        """What counts for each claim, whatever kind of finding makes it."""
        counting: dict[Claim, Reading[object]] = {}
        for entry in self.standing:
            if isinstance(entry.body, FINDINGS):
                for claim, _ in stated_by(entry):
                    reading = self._reading(claim, entry)
                    if reading.current or claim not in counting or counting[claim].stale:
                        counting[claim] = reading
        return counting

    def _reading(self, claim: Claim, entry: Entry) -> Reading[object]:
        held = self.held_at.get(entry.id, frozenset())
        made_here = entry.setting == self._here
        seen = (entry.id,) if made_here else self._confirmed_here.get(entry.id, ())
        return Reading(claim, entry, entry.body, held, self._here in held, seen)

    @cached_property
    def _confirmed_here(self) -> Mapping[str, tuple[str, ...]]:
        found: dict[str, tuple[str, ...]] = {}
        for said in self.said(Confirmed):
            if said.entry.setting == self._here:
                key = said.body.finding
                found[key] = (*found.get(key, ()), said.entry.id)
        return found

    @cached_property
    def disturbances(self) -> tuple[Said[Disturbed], ...]:
        """Disturbances that no re-mount inside tolerance has settled, at the present setting or after it.

        One that names no setting or an earlier one counts when it came after the present one was taken.
        """
        settled = {
            key for said in self.said(Remounted) if said.body.passes for key in said.body.settles
        }
        here = self._here
        return tuple(
            said for said in self.said(Disturbed)
            if said.entry.id not in settled
            and (said.entry.setting == here or said.entry.id > (here or ""))
        )  # fmt: skip

    @cached_property
    def release(self) -> Said[Released] | None:
        """The newest release that stands and that nobody has taken back to the bench, or None."""
        taken_back = {said.body.release for said in self.said(RecallTaken)}
        open_ones = [said for said in self.said(Released) if said.entry.id not in taken_back]
        return open_ones[-1] if open_ones else None


def _setting(number: int, entry: Entry, finals: set[str | None]) -> Setting:
    body = entry.body
    final = entry.id in finals
    if isinstance(body, SettingTaken):
        return Setting(number, entry, body.ap_deg, body.lat_deg, False, final, body.resolution_deg)
    return Setting(number, entry, 0.0, 0.0, True, final)


def fold(code: str, entries: Iterable[Entry]) -> Case:
    """Return the case that a set of entries makes, whatever their order and however often each comes."""
    unique = {entry.id: entry for entry in entries}
    ordered = tuple(sorted(unique.values(), key=lambda entry: entry.id))
    return Case(code, ordered, put_aside(ordered))
