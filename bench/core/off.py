"""How far off a cast is that was put back: by heights on its marks, an inclinometer or scored lines.

A re-mount recorded without the bench PC holds what was read; here that becomes the figures.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import asin, degrees, hypot, radians, sin

from bench.core.arch import Vector
from bench.core.bounds import BadEntry
from bench.core.entries import (
    Entry,
    FourthMarkMade,
    Mounted,
    Remounted,
    RemountRead,
    SettingTaken,
    TripodMarked,
)
from bench.core.fourthmark import fourth_place
from bench.core.policy import Policy
from bench.core.refusal import Refusal
from bench.core.remount import Verdict, judge, tilt_off
from bench.core.tilt import EdgeDown, Tilt, angle_between_deg, edges_down
from bench.core.tripod import Sense, Triangle, in_cast_frame, triangle_from


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


def triangle_of(marked: TripodMarked) -> Triangle:
    """Return the triangle that recorded distances and turning sense make."""
    sense: Sense = "clockwise" if marked.sense == "clockwise" else "anticlockwise"
    return triangle_from(marked.d_ab_mm, marked.d_ac_mm, marked.d_bc_mm, sense)


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


def worked_out(entry: Entry, known: Mapping[str, Entry]) -> Remounted | None:
    """Return the re-mount that readings taken without the bench PC make; None where they tell nothing.

    `known` are the entries of the case by id: the marks, the fourth of them and the setting to be
    brought back are among them, or nothing follows until they have arrived. Which disturbances it
    answers is named by the reading itself, so that no clock and no order of arrival decides it; it
    answers none when it brings back another setting than the cast had.
    """
    body = entry.body
    if not isinstance(body, RemountRead):
        return None
    try:
        off = _off(body, known)
        return Remounted(
            method=body.method, ap_deg=round(off.ap_deg, 4), lat_deg=round(off.lat_deg, 4),
            total_deg=round(off.total_deg, 4), tolerance_deg=body.tolerance_deg,
            heights_mm=body.heights_mm, surveyor=body.surveyor,
            tripod=body.tripod if body.method == "tripod" else None,
            instrument=body.instrument if body.method == "inclinometer" else "",
            second_check=body.second_check, settles=_settles(body, off, entry.setting),
        )  # fmt: skip
    except (Refusal, BadEntry, LookupError):
        return None


def _settles(body: RemountRead, off: Off, here: str | None) -> tuple[str, ...]:
    inside = off.total_deg <= body.tolerance_deg and body.brings_back == here
    return body.answers if inside else ()


def _off(body: RemountRead, known: Mapping[str, Entry]) -> Off:
    if body.method == "tripod":
        return _by_marks(body, known)
    ap_deg, lat_deg = body.ap_deg or 0.0, body.lat_deg or 0.0
    if body.method == "scored_lines":
        return off_by_lines(ap_deg, lat_deg)
    return off_by_reading(Tilt(ap_deg, lat_deg), _tilt_of(known[body.brings_back]))


def _by_marks(body: RemountRead, known: Mapping[str, Entry]) -> Off:
    marked = known[body.tripod or ""].body
    fourth = known[body.fourth].body if body.fourth else None
    if not isinstance(marked, TripodMarked) or not isinstance(fourth, FourthMarkMade | None):
        raise BadEntry("tripod", "no_such_entry", value=body.tripod)
    return off_by_marks(marked, body.heights_mm, body.a_turn_deg, fourth)


def _tilt_of(entry: Entry) -> Tilt:
    body = entry.body
    if isinstance(body, Mounted):
        return Tilt(0.0, 0.0)
    if not isinstance(body, SettingTaken) or body.ap_deg is None or body.lat_deg is None:
        raise BadEntry("brings_back", "no_such_entry", value=entry.id)
    return Tilt(body.ap_deg, body.lat_deg)
