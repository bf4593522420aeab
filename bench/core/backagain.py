"""How far a re-mounted cast is off by whichever means it was checked: marks, inclinometer or scored lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import asin, degrees, hypot, radians, sin

from bench.core.arch import Vector
from bench.core.case import Case, Setting
from bench.core.entries import FourthMarkMade, TripodMarked
from bench.core.fourthmark import NoFourthPlace, fourth_place
from bench.core.policy import Policy
from bench.core.remount import Verdict, judge, tilt_off
from bench.core.rules.records import same_marks, triangle_of
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


def off_by_marks(
    marked: TripodMarked,
    heights_mm: Sequence[float],
    a_turn_deg: float = 0.0,
    fourth: FourthMarkMade | None = None,
) -> Off:
    """Return what heights (mm, higher is more) read on marks A, B, C, and D where there is one, tell.

    `a_turn_deg` is how far mark A lies from straight in front of the marks' middle, toward the
    viewer's right more than nothing. Raises HeightsTooSteep, UnequalCounts or NoFourthPlace.
    """
    found = tilt_off(marks_in_frame(marked, fourth, a_turn_deg), heights_mm)
    return Off(found.ap_deg, found.lat_deg, found.total_deg)


def residual_mm(marked: TripodMarked, heights_mm: Sequence[float], fourth: FourthMarkMade) -> float:
    """Return by how much (mm, SD) the heights of four marks miss one plane."""
    return tilt_off(marks_in_frame(marked, fourth, 0.0), heights_mm).residual_mm or 0.0


def fourth_of(survey: Survey) -> FourthMarkMade | None:
    """Return the newest fourth mark of the tripod that counts, None where it has none that fits."""
    same = same_marks(survey)
    made = [said.body for said in survey.case.said(FourthMarkMade) if said.body.tripod in same]
    if not made or survey.tripod is None:
        return None
    try:
        fourth_place(triangle_of(survey.tripod.body), made[-1])
    except NoFourthPlace:
        return None
    return made[-1]


def fourth_in(survey: Survey, a_turn_deg: float = 0.0) -> Vector | None:
    """Return where the fourth mark lies in the frame of the cast (mm), None without one."""
    fourth, tripod = fourth_of(survey), survey.tripod
    if fourth is None or tripod is None:
        return None
    return marks_in_frame(tripod.body, fourth, a_turn_deg)[3]


def marks_in_frame(
    marked: TripodMarked, fourth: FourthMarkMade | None, a_turn_deg: float
) -> tuple[Vector, ...]:
    """Return the marks in the frame of the cast, A in its direction from the middle of the three.

    Raises NoFourthPlace.
    """
    triangle = triangle_of(marked)
    three = in_cast_frame(triangle, 90.0 - a_turn_deg)
    if fourth is None:
        return three
    # D lies in the frame by the same turn as the others: its place is carried over along A to B, A to C.
    (ax, ay), (bx, by), (cx, cy) = triangle.marks_mm
    x, y = fourth_place(triangle, fourth)
    whole = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    u = ((x - ax) * (cy - ay) - (cx - ax) * (y - ay)) / whole
    v = ((bx - ax) * (y - ay) - (x - ax) * (by - ay)) / whole
    a, b, c = three
    place = tuple(a[n] + u * (b[n] - a[n]) + v * (c[n] - a[n]) for n in range(2))
    return (*three, (place[0], place[1]))


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
