"""A case on one line: what the board shows, filters and searches."""

from __future__ import annotations

from dataclasses import dataclass

from bench.core.case import Case
from bench.core.lab import Lab
from bench.core.release import Verdict, judge, state_of
from bench.core.steps import next_step, steps_of
from bench.core.survey import Survey


@dataclass(frozen=True, slots=True)
class Summary:
    """One case on the board. `opened_at` and `touched_at` are ISO 8601 times; rule codes each once."""

    code: str
    number: str
    arch: str
    kennedy: str
    state: str
    step: str
    opened_at: str
    touched_at: str
    blocking: tuple[str, ...]
    warning: tuple[str, ...]
    stale: int
    contradictions: int
    overruled: int
    teeth: tuple[int, ...]
    people: tuple[str, ...]


def summarise(case: Case, lab: Lab) -> Summary:
    """Return a case on one line under the lab's policy."""
    survey = Survey(case, lab)
    verdict = judge(survey)
    opened = case.opened
    return Summary(
        code=case.code,
        number=opened.body.number,
        arch=opened.body.arch,
        kennedy=kennedy_text(survey),
        state=state_of(case, verdict),
        step=step_of(survey, verdict),
        opened_at=opened.entry.at,
        touched_at=max(entry.at for entry in case.entries),
        blocking=_rules(verdict, "blocks"),
        warning=_rules(verdict, "warns"),
        stale=sum(one.reason.rule == "S2" for one in verdict.judged),
        contradictions=len(case.contradictions),
        overruled=len(verdict.of("overruled")),
        teeth=tuple(sorted({*survey.abutments, *(tip.site.tooth for tip in survey.tips)})),
        people=tuple(sorted({entry.person for entry in case.entries})),
    )


def step_of(survey: Survey, verdict: Verdict) -> str:
    """Return the step to do next; a released case has none left but its release."""
    released = state_of(survey.case, verdict) == "released"
    return "release" if released else next_step(steps_of(survey, verdict))


def _rules(verdict: Verdict, force: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one.reason.rule for one in verdict.judged if one.force == force))


def kennedy_text(survey: Survey) -> str:
    """Return the class with its modifications, such as `II mod 1`; the bare class where it has none."""
    found = survey.kennedy
    return (
        f"{found.kennedy_class} mod {found.modifications}"
        if found.modifications
        else found.kennedy_class
    )
