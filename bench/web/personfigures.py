"""Who may see figures person by person just now: the lab's policy, and a look that is in the log."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from flask import current_app

from bench.core.entries import Entry, FiguresLookedAt
from bench.core.lab import Lab
from bench.store.audit import Audit
from bench.web import book, clock, seats

MOST_LOOKS = 20
# A look at figures of single persons holds for so long; then it is asked for, and logged, again.
LOOK_MS = 15 * 60_000


def audit() -> Audit:
    """Return the audit's tables of this bench."""
    kept = current_app.extensions.get("audit")
    if kept is None:
        kept = current_app.extensions["audit"] = Audit(book.log())
    found: Audit = kept
    return found


@dataclass(frozen=True)
class People:
    """Whether the person who asks may see figures person by person: of one asked for, or of all ('')."""

    asked: str
    lab: Lab

    @property
    def by_policy(self) -> bool:
        """Whether the lab's policy lets supervisors see them at all."""
        return self.lab.policy.switches["person_figures"]

    @cached_property
    def looks(self) -> list[Entry]:
        """The newest looks that anybody took, newest first."""
        return audit().said_beside("figures_looked_at", MOST_LOOKS)

    @cached_property
    def shown(self) -> bool:
        """Whether single persons are shown: the policy lets them be, and this look was logged."""
        return self.by_policy and any(self._covers(entry) for entry in self.looks)

    def _covers(self, entry: Entry) -> bool:
        person, body = seats.person(), entry.body
        mine = person is not None and (person.role, person.initials) == ("supervisor", entry.person)
        whose = isinstance(body, FiguresLookedAt) and body.whose in ("", self.asked)
        return mine and whose and clock.age_ms(entry.at) < LOOK_MS
