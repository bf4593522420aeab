"""May the cast go to design: every rule judged under the lab's policy, and the state this puts the case in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from bench.core.case import Case, Said
from bench.core.entries import (
    Body,
    Confirmed,
    Entry,
    HoldLifted,
    HoldSet,
    Overruled,
    PersonConfirmed,
    PersonUnconfirmed,
    PhotoDrawn,
    PhotoKept,
    PhotoMarksConfirmed,
    RecallTaken,
    Released,
    Remounted,
    RemountRead,
    Unknown,
    Withdrawn,
)
from bench.core.rules import balance, records, settings
from bench.core.rules.reason import Reason
from bench.core.survey import Survey

State = Literal["received", "surveying", "ready", "released", "recalled"]
STATES: tuple[State, ...] = ("received", "surveying", "ready", "released", "recalled")
Judgement = Literal["blocks", "warns", "overruled"]

_NO_GROUND = (
    Released, RecallTaken, HoldSet, HoldLifted, RemountRead, PersonUnconfirmed, PersonConfirmed,
    Withdrawn, Unknown, PhotoMarksConfirmed, PhotoDrawn,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Judged:
    """A reason with what it does under the policy, and the overruling that covers it if one does."""

    reason: Reason
    force: Judgement
    overruling: Said[Overruled] | None = None


@dataclass(frozen=True)
class Verdict:
    """Every reason found, in the order of the rules."""

    judged: tuple[Judged, ...]

    def of(self, force: Judgement) -> tuple[Judged, ...]:
        """Return the reasons of one force."""
        return tuple(one for one in self.judged if one.force == force)

    @cached_property
    def blocking(self) -> tuple[Judged, ...]:
        """The reasons that keep the cast from design."""
        return self.of("blocks")

    @property
    def may_release(self) -> bool:
        """Whether nothing keeps the cast from design."""
        return not self.blocking

    @cached_property
    def by_step(self) -> Mapping[str, tuple[Judged, ...]]:
        """The reasons by the step that settles them."""
        steps = dict.fromkeys(one.reason.step for one in self.judged)
        return {step: tuple(o for o in self.judged if o.reason.step == step) for step in steps}


def reasons_against(survey: Survey) -> tuple[Reason, ...]:
    """Return what every rule finds, in the order S, R, B."""
    rules = (*settings.RULES, *records.RULES, *balance.RULES)
    return tuple(reason for rule in rules for reason in rule(survey))


def judge(survey: Survey) -> Verdict:
    """Return the verdict on a survey: each reason blocks, warns or is overruled at the present setting."""
    return Verdict(tuple(_judged(survey, reason) for reason in reasons_against(survey)))


def _judged(survey: Survey, reason: Reason) -> Judged:
    if not survey.policy.blocks(reason.rule):
        return Judged(reason, "warns")
    here = survey.case.now.id if survey.case.now else None
    for said in survey.case.said(Overruled):
        same = said.body.rule == reason.rule and reason.key in said.body.covers
        if same and said.entry.setting == here:
            return Judged(reason, "overruled", said)
    return Judged(reason, "blocks")


def grounds(case: Case) -> tuple[str, ...]:
    """Return the ids of the standing entries that a release rests on.

    Releases, recalls and legal holds are no ground, nor is what this version cannot read; of photos only the
    tripod's are, and nothing that is said of a photo, of re-mounts those that settle a disturbance.
    """
    return tuple(
        entry.id for entry in case.standing
        if _is_ground(case.worked_out.get(entry.id, entry.body))
    )  # fmt: skip


def _is_ground(body: Body) -> bool:
    if isinstance(body, PhotoKept):
        return body.shows == "tripod"
    if isinstance(body, Remounted):
        return bool(body.settles) and body.passes
    return not isinstance(body, _NO_GROUND)


def ground_has_changed(case: Case) -> bool:
    """Say whether what the present release rests on is no longer what stands.

    A further photo, or a finding confirmed once more where it holds already, changes nothing.
    """
    if case.release is None:
        return False
    then, now = set(case.release.body.grounds), set(grounds(case))
    held = _held_at(case.by_id[entry_id] for entry_id in then & now)
    added = (case.by_id[entry_id] for entry_id in now - then)
    return not then <= now or not all(_adds_nothing(entry, held) for entry in added)


def _held_at(entries: Iterable[Entry]) -> set[tuple[str, str | None]]:
    """The findings that entries make or confirm, each with the setting at which it holds."""
    return {(e.body.finding if isinstance(e.body, Confirmed) else e.id, e.setting) for e in entries}


def _adds_nothing(entry: Entry, held: set[tuple[str, str | None]]) -> bool:
    if isinstance(entry.body, Confirmed):
        return (entry.body.finding, entry.setting) in held
    return isinstance(entry.body, PhotoKept)


def state_of(case: Case, verdict: Verdict) -> State:
    """Return the state of a case: received, surveying, ready, released or recalled."""
    if case.release is not None:
        return "recalled" if ground_has_changed(case) else "released"
    if not case.settings:
        return "received"
    return "ready" if verdict.may_release else "surveying"
