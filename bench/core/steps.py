"""The ten steps of the survey: how far each has come at the setting the cast has now."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Literal

from bench.core.case import Reading
from bench.core.entries import (
    CastReceived,
    DisinfectionRecorded,
    InterferenceNoted,
    InterferencesLooked,
    Mounted,
    PrescriptionRecorded,
    TeethRecorded,
)
from bench.core.release import Verdict, state_of
from bench.core.survey import Survey

StepKey = Literal[
    "receive", "mount", "tilt", "guide_planes", "undercuts", "interferences",
    "survey_lines", "tripod", "retention", "release",
]  # fmt: skip
STEPS: tuple[StepKey, ...] = (
    "receive", "mount", "tilt", "guide_planes", "undercuts", "interferences",
    "survey_lines", "tripod", "retention", "release",
)  # fmt: skip
Progress = Literal["todo", "part", "stale", "done"]


@dataclass(frozen=True, slots=True)
class Step:
    """How far one step has come: `done` of `wanted` records, and whether a rule of it blocks release."""

    key: StepKey
    progress: Progress
    done: int
    wanted: int
    blocks: bool


Counted = tuple[int, int, bool]


def _receive(survey: Survey) -> Counted:
    kinds = (CastReceived, TeethRecorded, PrescriptionRecorded, DisinfectionRecorded)
    return sum(survey.case.latest(kind) is not None for kind in kinds), len(kinds), False


def _mount(survey: Survey) -> Counted:
    return int(survey.case.latest(Mounted) is not None), 1, False


def _tilt(survey: Survey) -> Counted:
    return (int(survey.case.now is not None) + int(survey.case.final is not None)), 2, False


def _readings(readings: Iterable[Reading[object] | None]) -> Counted:
    found = list(readings)
    done = sum(reading is not None and reading.current for reading in found)
    return done, len(found), any(reading is not None and reading.stale for reading in found)


def _guide_planes(survey: Survey) -> Counted:
    return _readings([survey.plane(site) for site in survey.plane_sites])


def _undercuts(survey: Survey) -> Counted:
    return _readings([survey.undercut(site) for site in survey.undercut_sites])


def _interferences(survey: Survey) -> Counted:
    case = survey.case
    found: list[Reading[object]] = [
        *case.readings(InterferenceNoted).values(), *case.readings(InterferencesLooked).values(),
    ]  # fmt: skip
    return int(any(r.current for r in found)), 1, any(r.stale for r in found)


def _survey_lines(survey: Survey) -> Counted:
    return _readings([survey.lines.get(("line", site.text)) for site in survey.line_sites])


def _tripod(survey: Survey) -> Counted:
    return _readings([survey.tripod])


def _retention(survey: Survey) -> Counted:
    stale = any(counted.tip.stale for counted in survey.tips)
    return len(survey.counted_tips), max(2, len(survey.tips)), stale


_COUNTS: dict[StepKey, Callable[[Survey], Counted]] = {
    "receive": _receive, "mount": _mount, "tilt": _tilt, "guide_planes": _guide_planes,
    "undercuts": _undercuts, "interferences": _interferences, "survey_lines": _survey_lines,
    "tripod": _tripod, "retention": _retention,
}  # fmt: skip


def steps_of(survey: Survey, verdict: Verdict) -> tuple[Step, ...]:
    """Return the ten steps in order with their progress."""
    return (*(_step(survey, verdict, key) for key in _COUNTS), _release(survey, verdict))


def _step(survey: Survey, verdict: Verdict, key: StepKey) -> Step:
    done, wanted, stale = _COUNTS[key](survey)
    blocks = any(one.force == "blocks" for one in verdict.by_step.get(key, ()))
    return Step(key, _progress(done, wanted, stale, blocks), done, wanted, blocks)


def _progress(done: int, wanted: int, stale: bool, blocks: bool) -> Progress:
    if stale:
        return "stale"
    if done >= wanted and not blocks:
        return "done"
    return "part" if done else "todo"


def _release(survey: Survey, verdict: Verdict) -> Step:
    state = state_of(survey.case, verdict)
    progress: Progress = {"released": "done", "recalled": "stale"}.get(state, "todo")  # type: ignore[assignment]
    return Step("release", progress, int(state == "released"), 1, not verdict.may_release)


def next_step(steps: Iterable[Step]) -> StepKey:
    """Return the first step that is not done, or release when all are."""
    return next((step.key for step in steps if step.progress != "done"), "release")
