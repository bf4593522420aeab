"""The laboratory as a fold over its entries: people, policy, instruments and their checks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from bench.core.entries import (
    Entry,
    InstrumentAdded,
    InstrumentChecked,
    InstrumentRetired,
    PersonAdded,
    PersonChanged,
)
from bench.core.entries.vocabulary import Role
from bench.core.policy import Policy, policy_from
from bench.core.standing import put_aside


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody of the lab, known by initials."""

    initials: str
    role: Role
    active: bool


@dataclass(frozen=True, slots=True)
class Instrument:
    """An instrument of the lab with its checks, oldest first."""

    tag: str
    sort: str
    size_mm: float | None
    resolution_deg: float | None
    has_scale: bool
    in_service: bool
    checks: tuple[Entry, ...] = ()

    def last_check_before(self, at: str) -> Entry | None:
        """Return the newest check made at or before an ISO 8601 time, or None."""
        earlier = [check for check in self.checks if check.at <= at]
        return earlier[-1] if earlier else None


@dataclass(frozen=True)
class Lab:
    """Everything recorded of the laboratory itself. Built by `fold_lab`."""

    people: Mapping[str, Person]
    policy: Policy
    instruments: Mapping[str, Instrument]

    def in_service(self, sort: str) -> tuple[Instrument, ...]:
        """Return the instruments of a sort that are in service, by tag."""
        found = [one for one in self.instruments.values() if one.sort == sort and one.in_service]
        return tuple(sorted(found, key=lambda one: one.tag))

    def supervisors(self) -> tuple[Person, ...]:
        """Return the active supervisors."""
        return tuple(p for p in self.people.values() if p.active and p.role == "supervisor")


def fold_lab(entries: Iterable[Entry]) -> Lab:
    """Return the lab that a set of lab entries makes, whatever their order."""
    ordered = sorted({entry.id: entry for entry in entries}.values(), key=lambda entry: entry.id)
    aside = put_aside(ordered)
    standing = [entry for entry in ordered if entry.id not in aside]
    return Lab(_people(standing), policy_from(standing), _instruments(standing))


def _people(entries: list[Entry]) -> dict[str, Person]:
    people: dict[str, Person] = {}
    for entry in entries:
        body = entry.body
        if isinstance(body, PersonAdded) and body.initials not in people:
            people[body.initials] = Person(body.initials, body.role, True)
        elif isinstance(body, PersonChanged) and body.initials in people:
            people[body.initials] = Person(body.initials, body.role, body.active)
    return people


def _instruments(entries: list[Entry]) -> dict[str, Instrument]:
    found: dict[str, Instrument] = {}
    for entry in entries:
        body = entry.body
        if isinstance(body, InstrumentAdded) and body.tag not in found:
            found[body.tag] = Instrument(
                body.tag, body.sort, body.size_mm, body.resolution_deg, body.has_scale, True
            )
        elif isinstance(body, InstrumentRetired) and body.tag in found:
            found[body.tag] = replace(found[body.tag], in_service=False)
        elif isinstance(body, InstrumentChecked) and body.tag in found:
            known = found[body.tag]
            found[body.tag] = replace(known, checks=(*known.checks, entry))
    return found
