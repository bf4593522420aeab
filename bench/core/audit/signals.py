"""What a supervisor should look at: points beyond limits, drifts, spread, limits, instruments due."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from bench.core.audit.spread import Spread
from bench.core.audit.watching import Watched
from bench.core.entries import Entry, SignalAcknowledged
from bench.core.instruments import Standing
from bench.core.intervals import sd_interval
from bench.core.policy import Policy

Kind = Literal["beyond", "drift", "spread", "limit", "due"]
By = Literal["technician", "surveyor", "method", "whole", "instrument"]
Group = tuple[By, str]
Figures = Mapping[str, float | int | str]
# A figure that stays too wide comes back after so many further re-mounts, though acknowledged.
AGAIN_AFTER = 25
_PRESSING = ("failed", "overdue", "never")


@dataclass(frozen=True)
class AuditSignal:
    """One signal: what about, whose, the entries behind it, and its figures for the words.

    `mark` tells two signals of one kind apart: the entry, the day or the count it came up at.
    `entries` is empty where every re-mount of the group stands behind it.
    """

    kind: Kind
    by: By
    of: str
    mark: str
    entries: tuple[str, ...] = ()
    figures: Figures = field(default_factory=dict)

    @property
    def key(self) -> str:
        """The name under which it is acknowledged."""
        return f"{self.kind}:{self.by}:{self.of}:{self.mark}"

    @property
    def of_a_person(self) -> bool:
        """Whether it speaks of one person."""
        return self.by == "technician"

    def seen_in(self, key: str) -> bool:
        """Say whether an acknowledgement covers it: nothing that has come up since is covered."""
        kind, by, of, mark = (*key.split(":", 3), "", "", "", "")[:4]
        if (kind, by, of) != (self.kind, self.by, self.of):
            return False
        if self.kind == "beyond":
            return mark >= self.mark
        return mark == self.mark or mark in self.entries


def acknowledgement(signal: AuditSignal, entries: Iterable[Entry]) -> Entry | None:
    """Return the newest entry that acknowledges a signal, or None."""
    found = [
        entry for entry in entries
        if isinstance(entry.body, SignalAcknowledged) and signal.seen_in(entry.body.key)
    ]  # fmt: skip
    return max(found, key=lambda entry: entry.id, default=None)


def signals_of(
    watched: Mapping[Group, Watched],
    spreads: Mapping[Group, Spread],
    due: Iterable[Standing],
    policy: Policy,
) -> tuple[AuditSignal, ...]:
    """Return the signals of the audit, those of the whole lab first."""
    found = [
        *(signal for group, one in spreads.items() for signal in _of_spread(group, one, policy)),
        *(signal for group, run in watched.items() for signal in _of_run(group, run)),
        *(_of_instrument(one) for one in due if one.state in _PRESSING),
    ]
    order = ("whole", "surveyor", "method", "technician", "instrument")
    return tuple(sorted(found, key=lambda one: (order.index(one.by), one.of, one.kind, one.mark)))


def _of_run(group: Group, run: Watched) -> Iterator[AuditSignal]:
    by, of = group
    beyond = run.beyond
    if beyond and run.size.upper_deg is not None:
        figures: Figures = {
            "count": len(beyond),
            "judged": run.judged,
            "limit_deg": run.size.upper_deg,
        }
        yield AuditSignal("beyond", by, of, beyond[-1], beyond, figures)
    for axis in ("ap", "lat"):
        drift, found = (run.ap_drift if axis == "ap" else run.lat_drift), run.drifting(axis)
        if drift is not None and found is not None:
            signal, entries = found
            moved = drift.averages[signal.indexes[-1] + 1] - (drift.centre or 0.0)
            figures = {"axis": axis, "moved_deg": moved, "count": len(entries)}
            yield AuditSignal(
                "drift", by, of, run.entries[run.baseline + signal.at], entries, figures
            )


def _of_spread(group: Group, one: Spread, policy: Policy) -> Iterator[AuditSignal]:
    by, of = group
    mark = str(one.count // AGAIN_AFTER)
    if by == "technician":
        if one.against_record is not None and one.against_record.outcome == "outside":
            limit = one.against_record
            figures = {"limit_deg": limit.deg, "low_deg": limit.interval.low, "count": one.count,
                       "tolerance_deg": one.tolerance_deg}  # fmt: skip
            yield AuditSignal("limit", by, of, mark, (), figures)
        return
    allowed, sd = policy.number("remount_spread_deg"), one.axis_sd_deg
    if sd is None or one.missing:
        return
    low = sd_interval(sd, 2 * (one.count - 1)).low
    if low > allowed:
        figures = {"sd_deg": sd, "low_deg": low, "allowed_deg": allowed, "count": one.count}
        yield AuditSignal("spread", by, of, mark, (), figures)


def _of_instrument(one: Standing) -> AuditSignal:
    checks = one.instrument.checks
    entries = (checks[-1].id,) if checks else ()
    figures = {"state": one.state, "due_on": one.due_on, "sort": one.instrument.sort}
    return AuditSignal(
        "due", "instrument", one.instrument.tag, f"{one.state} {one.due_on}", entries, figures
    )
