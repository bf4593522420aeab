"""How far a re-mounted cast is off by whichever means it was checked: marks, inclinometer or scored lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import asin, degrees, hypot, radians, sin

from bench.core.case import Case, Setting
from bench.core.entries import TripodMarked
from bench.core.policy import Policy
from bench.core.remount import Verdict, judge, tilt_off
from bench.core.rules.records import triangle_of
from bench.core.survey import Survey
from bench.core.tilt import EdgeDown, Tilt, angle_between_deg, edges_down
from bench.core.tripod import in_cast_frame


@dataclass(frozen=True, slots=True)
class Off:
    """What a re-mounted cast is off: degrees on both axes (front, right of view too low > 0) and in total."""

    ap_deg: float
    lat_deg: float
    total_deg: float

    def verdict(self, policy: Policy) -> Verdict:
        """Return whether this passes, wants a second look or must be repeated, by the lab's tolerance."""
        tolerance_deg = policy.number("remount_tolerance_deg")
        return judge(self.total_deg, tolerance_deg, policy.number("remount_repeat_above_deg"))

    @property
    def edges(self) -> tuple[EdgeDown, ...]:
        """Which edges to lower, and by how much, to undo it."""
        return edges_down(Tilt(-self.ap_deg, -self.lat_deg))


def off_by_marks(marked: TripodMarked, heights_mm: Sequence[float], a_turn_deg: float = 0.0) -> Off:
    """Return what three heights (mm, higher is more) read on marks A, B, C tell.

    `a_turn_deg` is how far mark A lies from straight in front of the marks' middle, toward the
    viewer's right more than nothing. Raises HeightsTooSteep.
    """
    marks = in_cast_frame(triangle_of(marked), 90.0 - a_turn_deg)
    found = tilt_off(marks, heights_mm)
    return Off(found.ap_deg, found.lat_deg, found.total_deg)


def off_by_reading(read: Tilt, wanted: Tilt) -> Off:
    """Return what an inclinometer's reading is off a setting; raises TiltTooSteep."""
    total_deg = angle_between_deg(read, wanted)
    return Off(read.ap_deg - wanted.ap_deg, read.lat_deg - wanted.lat_deg, total_deg)


def off_by_lines(ap_deg: float, lat_deg: float) -> Off:
    """Return what the angles between scored lines and the vertical tell, read along both axes."""
    across = hypot(sin(radians(ap_deg)), sin(radians(lat_deg)))
    return Off(ap_deg, lat_deg, degrees(asin(min(1.0, across))))


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
