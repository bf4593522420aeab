"""Instruments and their checks: which are due, and which entries an instrument that failed has made doubtful."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from bench.core.entries import Body, Entry, InstrumentChecked, Unknown
from bench.core.lab import Instrument, Lab
from bench.core.policy import Policy

State = Literal["retired", "failed", "never", "overdue", "soon", "sound"]
DUE: tuple[State, ...] = ("failed", "overdue", "never", "soon")
SOON_DAYS = 14
# The fields by which a body names an instrument; the changes that filled the table of uses read the same.
NAMED_IN = ("tag", "gauge", "surveyor", "table", "instrument", "caliper", "sleeve")


@dataclass(frozen=True, slots=True)
class Standing:
    """How an instrument stands: its state and the day (ISO 8601) its next check is due, '' for none.

    A check that failed is due at once. `soon` is within a fortnight.
    """

    instrument: Instrument
    state: State
    due_on: str = ""


@dataclass(frozen=True, slots=True)
class Doubt:
    """A failed check and the time it casts doubt on: from the last good check to the next good one.

    `since` is '' when no check before it was good, `until` '' while none has been since: then all
    that the instrument made before, or makes now, is doubtful.
    """

    failed: Entry
    since: str
    until: str


def check_days(sort: str, policy: Policy) -> float:
    """Return how many days may pass between checks of an instrument of a sort."""
    return policy.number(f"{sort}_check_days")


def standing_of(instrument: Instrument, policy: Policy, now: str) -> Standing:
    """Return how an instrument stands at a time (ISO 8601)."""
    if not instrument.in_service:
        return Standing(instrument, "retired")
    if not instrument.checks:
        return Standing(instrument, "never", (instrument.added_at or now)[:10])
    last = instrument.checks[-1]
    if not _passed(last):
        return Standing(instrument, "failed", last.at[:10])
    due = datetime.fromisoformat(last.at) + timedelta(days=check_days(instrument.sort, policy))
    left = due - datetime.fromisoformat(now)
    state: State = "sound" if left > timedelta(days=SOON_DAYS) else "soon"
    return Standing(instrument, "overdue" if left < timedelta(0) else state, due.date().isoformat())


def due_list(lab: Lab, now: str) -> tuple[Standing, ...]:
    """Return the instruments in service that are due or soon will be, the most pressing first."""
    found = [standing_of(one, lab.policy, now) for one in lab.instruments.values()]
    pressing = [one for one in found if one.state in DUE]
    return tuple(
        sorted(pressing, key=lambda one: (DUE.index(one.state), one.due_on, one.instrument.tag))
    )


def doubts_of(instrument: Instrument) -> tuple[Doubt, ...]:
    """Return what the failed checks of an instrument cast doubt on, newest first.

    Failures in a row make one doubt, named by the first of them.
    """
    found: list[Doubt] = []
    good_at, doubted = "", False
    for check in sorted(instrument.checks, key=lambda one: (one.at, one.id)):
        if not _passed(check):
            found += [] if doubted else [Doubt(check, good_at, "")]
        elif doubted:
            found[-1] = replace(found[-1], until=check.at)
        doubted = not _passed(check)
        good_at = good_at if doubted else check.at
    return tuple(reversed(found))


def good_since(instrument: Instrument) -> str:
    """Return when an instrument was last checked and good (ISO 8601), '' for never."""
    return max((check.at for check in instrument.checks if _passed(check)), default="")


def named_by(body: Body) -> frozenset[str]:
    """Return the tags of the instruments that a statement names, of kinds not known here too."""
    if isinstance(body, Unknown):
        said = _unknown(body)
        found = [said.get(name) for name in NAMED_IN]
    else:
        found = [getattr(body, name, None) for name in NAMED_IN]
    return frozenset(tag for tag in found if isinstance(tag, str) and tag)


def _unknown(body: Unknown) -> Mapping[str, object]:
    try:
        said = json.loads(body.text)
    except (ValueError, RecursionError):
        return {}
    return said if isinstance(said, dict) else {}


def _passed(check: Entry) -> bool:
    return isinstance(check.body, InstrumentChecked) and check.body.passed
