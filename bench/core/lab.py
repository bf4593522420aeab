"""The laboratory as a fold over its entries: people, policy, instruments and their checks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from bench.core.entries import (
    BESIDE_THE_LAB,
    DevicePaired,
    DeviceRevoked,
    Entry,
    InstrumentAdded,
    InstrumentChecked,
    InstrumentRetired,
    InstrumentReturned,
    PersonAdded,
    PersonChanged,
    TableDescribed,
    UncertaintyStated,
)
from bench.core.entries.vocabulary import Role
from bench.core.policy import Policy, policy_from
from bench.core.proving import unconfirmed_in
from bench.core.readingsd import ReadingSd
from bench.core.standing import put_aside


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody of the lab, known by initials."""

    initials: str
    role: Role
    active: bool


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument of the lab with its checks, oldest first.

    `added_at` is ISO 8601; `uncertainties` holds what was stated of a check, by the check's id, in
    the unit of that check; `screws` which screw of a table lowers which edge. `unproved` are checks
    said to be good by somebody a tablet could not make sure of: they count once that person confirms.
    """

    tag: str
    sort: str
    size_mm: float | None
    resolution_deg: float | None
    has_scale: bool
    in_service: bool
    checks: tuple[Entry, ...] = ()
    added_at: str = ""
    remark: str = ""
    uncertainties: Mapping[str, float] = field(default_factory=dict)
    screws: Mapping[str, str] = field(default_factory=dict)
    unproved: tuple[Entry, ...] = ()

    def last_check_before(self, at: str) -> Entry | None:
        """Return the newest check made at or before an ISO 8601 time, or None."""
        earlier = [check for check in self.checks if check.at <= at]
        return earlier[-1] if earlier else None


@dataclass(frozen=True, slots=True)
class Device:
    """A tablet or another bench that may send entries; `revoked_at` is '' until it may no more."""

    device: str
    name: str
    public_key: str
    paired_at: str
    paired_by: str
    revoked_at: str = ""


@dataclass(frozen=True)
class Lab:
    """Everything recorded of the laboratory itself. Built by `fold_lab`.

    `history` holds for each person how they stood from which time on (ISO 8601), in order of entry.
    `unconfirmed` are entries of the lab whose person a tablet could not make sure of.
    `own_sd` is the SD of a reading from the lab's own repeats, where somebody worked it out.
    """

    people: Mapping[str, Person]
    policy: Policy
    instruments: Mapping[str, Instrument]
    devices: Mapping[str, Device] = field(default_factory=dict)
    history: Mapping[str, tuple[tuple[str, Person], ...]] = field(default_factory=dict)
    own_sd: ReadingSd | None = None
    unconfirmed: tuple[Entry, ...] = ()

    @property
    def reading_sd(self) -> ReadingSd:
        """The SD of one reading: the lab's own where it rests on enough repeats, else the policy's."""
        return self.own_sd or ReadingSd(self.policy.number("reading_sd_mm"), "policy", 0)

    def stood(self, initials: str, at: str) -> Person | None:
        """Return how a person stood when something was stated (ISO 8601), None for nobody of the lab.

        Before their first entry they count as they began: the clock of a tablet may be a little behind.
        """
        changes = self.history.get(initials, ())
        earlier = [person for since, person in changes if since <= at]
        return earlier[-1] if earlier else changes[0][1] if changes else None

    def in_service(self, sort: str) -> tuple[Instrument, ...]:
        """Return the instruments of a sort that are in service, by tag."""
        found = [one for one in self.instruments.values() if one.sort == sort and one.in_service]
        return tuple(sorted(found, key=lambda one: one.tag))

    def recorders(self) -> tuple[str, ...]:
        """Return the initials of those who may record, in alphabetical order."""
        people = self.people.values()
        return tuple(sorted(one.initials for one in people if one.active and one.role != "reader"))

    def supervisors(self) -> tuple[Person, ...]:
        """Return the active supervisors."""
        return tuple(p for p in self.people.values() if p.active and p.role == "supervisor")


def fold_lab(entries: Iterable[Entry]) -> Lab:
    """Return the lab that a set of lab entries makes, whatever their order."""
    # What is said beside the lab puts nothing of the lab aside.
    found = {entry.id: entry for entry in entries if type(entry.body) not in BESIDE_THE_LAB}
    ordered = sorted(found.values(), key=lambda entry: entry.id)
    aside = put_aside(ordered)
    standing = [entry for entry in ordered if entry.id not in aside]
    history = _history(standing)
    people = {initials: changes[-1][1] for initials, changes in history.items()}
    unconfirmed = unconfirmed_in(ordered, standing)
    unproved = frozenset(entry.id for entry in unconfirmed)
    return Lab(
        people, policy_from(standing), _instruments(standing, unproved), _devices(standing), history,
        unconfirmed=unconfirmed,
    )  # fmt: skip


def _history(entries: list[Entry]) -> dict[str, tuple[tuple[str, Person], ...]]:
    history: dict[str, tuple[tuple[str, Person], ...]] = {}
    for entry in entries:
        body = entry.body
        if isinstance(body, PersonAdded) and body.initials not in history:
            history[body.initials] = ((entry.at, Person(body.initials, body.role, True)),)
        elif isinstance(body, PersonChanged) and body.initials in history:
            person = Person(body.initials, body.role, body.active)
            history[body.initials] = (*history[body.initials], (entry.at, person))
    return history


def _devices(entries: list[Entry]) -> dict[str, Device]:
    devices: dict[str, Device] = {}
    for entry in entries:
        body = entry.body
        if isinstance(body, DevicePaired) and body.device not in devices:
            devices[body.device] = Device(
                body.device, body.name, body.public_key, entry.at, entry.person
            )
        elif isinstance(body, DeviceRevoked) and body.device in devices:
            known = devices[body.device]
            devices[body.device] = replace(known, revoked_at=known.revoked_at or entry.at)
    return devices


def _instruments(entries: list[Entry], unproved: frozenset[str]) -> dict[str, Instrument]:
    found: dict[str, Instrument] = {}
    # The clock of a tablet may be behind: what it says of an instrument must not come before it.
    for entry in sorted(entries, key=lambda one: not isinstance(one.body, InstrumentAdded)):
        body = entry.body
        if isinstance(body, InstrumentAdded) and body.tag not in found:
            found[body.tag] = _added(body, entry.at)
        elif isinstance(body, (InstrumentRetired, InstrumentReturned)) and body.tag in found:
            serves = isinstance(body, InstrumentReturned)
            found[body.tag] = replace(found[body.tag], in_service=serves)
        elif isinstance(body, InstrumentChecked) and body.tag in found:
            found[body.tag] = _checked(found[body.tag], entry, body, unproved)
        elif isinstance(body, TableDescribed) and body.tag in found:
            found[body.tag] = replace(found[body.tag], screws=_screws(body))
        elif isinstance(body, UncertaintyStated):
            _doubt(body, found)
    return found


def _added(body: InstrumentAdded, at: str) -> Instrument:
    return Instrument(
        body.tag, body.sort, body.size_mm, body.resolution_deg, body.has_scale, True,
        added_at=at, remark=body.remark,
    )  # fmt: skip


def _checked(
    known: Instrument, entry: Entry, body: InstrumentChecked, unproved: frozenset[str]
) -> Instrument:
    """A failure counts at once, whoever stated it; a good check has to be somebody's."""
    if body.passed and entry.id in unproved:
        return replace(known, unproved=(*known.unproved, entry))
    return replace(known, checks=(*known.checks, entry))


def _screws(body: TableDescribed) -> dict[str, str]:
    said = {
        edge: getattr(body, f"lowers_{edge}").strip() for edge in ("front", "back", "right", "left")
    }
    return {edge: words for edge, words in said.items() if words}


def _doubt(body: UncertaintyStated, found: dict[str, Instrument]) -> None:
    """Put a stated uncertainty beside the check it speaks of; one in another unit is left out."""
    for tag, known in found.items():
        for check in (*known.checks, *known.unproved):
            if check.id == body.check and isinstance(check.body, InstrumentChecked):
                in_mm = check.body.unit == "mm"
                value = body.uncertainty_mm if in_mm else body.uncertainty_deg
                if value is not None:
                    said = {**known.uncertainties, check.id: value}
                    found[tag] = replace(known, uncertainties=said)
                return
