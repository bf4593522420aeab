"""Putting a cast back from its record: which marks and setting count, and what a re-mount answers."""

from __future__ import annotations

from collections.abc import Sequence

from bench.core.arch import Vector
from bench.core.case import Case, Said, Setting
from bench.core.entries import FourthMarkMade, TripodMarked
from bench.core.fourthmark import NoFourthPlace, fourth_place
from bench.core.off import Off, marks_in_frame, triangle_of
from bench.core.remount import tilt_off
from bench.core.rules.records import same_marks
from bench.core.survey import Survey


def residual_mm(marked: TripodMarked, heights_mm: Sequence[float], fourth: FourthMarkMade) -> float:
    """Return by how much (mm, SD) the heights of four marks miss one plane."""
    return tilt_off(marks_in_frame(marked, fourth, 0.0), heights_mm).residual_mm or 0.0


def fourth_of(survey: Survey) -> FourthMarkMade | None:
    """Return the newest fourth mark of the tripod that counts, None where it has none that fits."""
    said = fourth_said(survey)
    return said.body if said else None


def fourth_said(survey: Survey) -> Said[FourthMarkMade] | None:
    """Return the entry of that fourth mark."""
    same = same_marks(survey)
    made = [said for said in survey.case.said(FourthMarkMade) if said.body.tripod in same]
    if not made or survey.tripod is None:
        return None
    try:
        fourth_place(triangle_of(survey.tripod.body), made[-1].body)
    except NoFourthPlace:
        return None
    return made[-1]


def fourth_in(survey: Survey, a_turn_deg: float = 0.0) -> Vector | None:
    """Return where the fourth mark lies in the frame of the cast (mm), None without one."""
    fourth, tripod = fourth_of(survey), survey.tripod
    if fourth is None or tripod is None:
        return None
    return marks_in_frame(tripod.body, fourth, a_turn_deg)[3]


def setting_held(survey: Survey) -> Setting | None:
    """Return the setting that the tripod brings back: the present one where its marks hold here."""
    reading = survey.tripod
    if reading is None or reading.current:
        return survey.case.now
    return survey.case.setting_of(reading.entry.setting)


def answered(
    case: Case, off: Off, tolerance_deg: float, *, of_this_setting: bool
) -> tuple[str, ...]:
    """Return the disturbances that a re-mount answers: all open ones, inside the tolerance, else none."""
    if not of_this_setting or off.total_deg > tolerance_deg:
        return ()
    return tuple(said.entry.id for said in case.disturbances)
