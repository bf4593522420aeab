"""What the address of an audit page asks for: a time, somebody, a surveyor, a method, a cast."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from datetime import UTC, date, datetime, time, timedelta

from flask import url_for

from bench.core.audit.selection import READINGS, Reading, Selection
from bench.core.entries.vocabulary import METHODS
from bench.core.ids import BadCode, code_from_typed

# Stands in an address for re-mounts that named no surveyor.
UNNAMED = "-"
_ADDRESS = {"since": "from", "until": "to", "cast": "case"}


@dataclass(frozen=True, slots=True)
class AuditAsked:
    """What is asked for, as written in the address; '' for everything. Days are those of the bench PC."""

    since: str = ""
    until: str = ""
    person: str = ""
    surveyor: str = ""
    method: str = ""
    cast: str = ""
    reading: Reading = "first"
    faults: tuple[str, ...] = ()

    @property
    def selection(self) -> Selection:
        """The re-mounts it means."""
        return Selection(
            since=_begin(self.since), until=_begin(self.until, days=1),
            technician=self.person or None, surveyor=_surveyor(self.surveyor),
            cast=self.cast or None, method=self.method or None, reading=self.reading,
        )  # fmt: skip

    @property
    def narrowed(self) -> bool:
        """Whether it asks for less than everything."""
        return self != AuditAsked(reading=self.reading)

    def args(self, **changes: str) -> dict[str, str]:
        """Return the address's questions, some of them changed."""
        changed = asdict(replace(self, **changes, faults=()))  # type: ignore[arg-type]
        return {
            _ADDRESS.get(name, name): value for name, value in changed.items()
            if value and (name, value) != ("reading", "first")
        }  # fmt: skip

    def href(self, endpoint: str, **changes: str) -> str:
        """Return the address of a page of the audit that asks for this, some of it changed."""
        return url_for(endpoint, **self.args(**changes))  # type: ignore[arg-type]


def audit_asked_from(args: Mapping[str, str]) -> AuditAsked:
    """Return what an address asks for; what cannot be is left out and named in `faults`."""
    since, until = _day(args, "from"), _day(args, "to")
    found = {
        "since": since, "until": until, "person": args.get("person", "").strip().upper()[:5],
        "surveyor": args.get("surveyor", "").strip()[:16], "method": args.get("method", ""),
        "cast": args.get("case", "").strip(), "reading": args.get("reading") or "first",
    }  # fmt: skip
    faults = [name for name in ("from", "to") if args.get(name) and not _day(args, name)]
    if found["method"] and found["method"] not in METHODS:
        faults, found = [*faults, "method"], {**found, "method": ""}
    if found["reading"] not in READINGS:
        faults, found = [*faults, "reading"], {**found, "reading": "first"}
    if found["cast"]:
        found["cast"] = _cast(found["cast"])
        faults += [] if found["cast"] else ["case"]
    return AuditAsked(**found, faults=tuple(faults))  # type: ignore[arg-type]


def _day(args: Mapping[str, str], name: str) -> str:
    try:
        return date.fromisoformat(args.get(name, "")).isoformat()
    except ValueError:
        return ""


def _cast(text: str) -> str:
    try:
        return code_from_typed(text)
    except BadCode:
        return ""


def _surveyor(text: str) -> str | None:
    return "" if text == UNNAMED else text or None


def _begin(day: str, days: int = 0) -> str:
    """Return when a day of the bench PC begins, or one after it, as the log writes times; '' for ''."""
    if not day:
        return ""
    try:
        midnight = datetime.combine(date.fromisoformat(day) + timedelta(days=days), time.min)
        at = midnight.astimezone(UTC)
    except (OverflowError, ValueError, OSError):
        return day
    return at.isoformat(timespec="milliseconds").replace("+00:00", "Z")
