"""How far a re-mounted cast is off its tilt, from heights read on its tripod marks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import asin, degrees, fsum, hypot, sqrt
from typing import Literal

from bench.core.refusal import Refusal
from bench.core.tilt import EdgeDown, Tilt, edges_down
from bench.core.tripod import Marks, centred, require_spread, spread_mm2

Verdict = Literal["pass", "look_again", "repeat"]
PASS_DEG, REPEAT_ABOVE_DEG = 1.0, 2.0


class HeightsRefused(Refusal):
    """Heights that do not belong to the marks."""


class UnequalCounts(HeightsRefused):
    """As many heights as marks are needed."""

    code = "unequal_counts"
    what = "{heights} heights were given for {marks} marks."
    why = "Each mark needs its own height, in the same order."
    what_to_do = "Read one height on each mark."


class HeightsTooSteep(HeightsRefused):
    """Heights that differ by more than the marks are apart."""

    code = "heights_too_steep"
    what = "The heights differ by {range_mm} mm."
    why = "That is more than marks so close together can differ."
    what_to_do = "Check that all heights were read in mm from one level, and the distances too."


@dataclass(frozen=True)
class TiltOff:
    """What is still off: degrees on both axes (front, right of view too low > 0) and in total.

    `residual_mm` is the SD of the heights about the fitted plane; None with three marks, which fit
    always.
    """

    ap_deg: float
    lat_deg: float
    total_deg: float
    residual_mm: float | None


def tilt_off(marks_mm: Marks, heights_mm: Sequence[float]) -> TiltOff:
    """Return how far the cast is off the setting at which its marks were level.

    Marks in the frame of the cast (+X viewer's right, +Y anterior), three or more, and the height
    read now on each, mm, higher is more. Exact: the fitted slope is the z-row of the rotation.
    Raises TooFewMarks, CollinearMarks, UnequalCounts or HeightsTooSteep. Source: least squares.
    """
    if len(marks_mm) != len(heights_mm):
        raise UnequalCounts(marks=len(marks_mm), heights=len(heights_mm))
    require_spread(marks_mm)
    slope_x, slope_y = _slope(marks_mm, heights_mm)
    steep = hypot(slope_x, slope_y)
    if not steep < 1:
        raise HeightsTooSteep(range_mm=round(max(heights_mm) - min(heights_mm), 2))
    return TiltOff(
        ap_deg=-degrees(asin(slope_y)),
        lat_deg=-degrees(asin(slope_x)),
        total_deg=degrees(asin(steep)),
        residual_mm=_residual_mm(marks_mm, heights_mm, (slope_x, slope_y)),
    )


def edges_to_lower(off: TiltOff) -> tuple[EdgeDown, ...]:
    """Return which edges to lower, and by how much, to undo what is off; then read again."""
    return edges_down(Tilt(-off.ap_deg, -off.lat_deg))


def judge(
    total_deg: float, pass_deg: float = PASS_DEG, repeat_above_deg: float = REPEAT_ABOVE_DEG
) -> Verdict:
    """Return whether a re-mount passes, wants a second look, or must be repeated.

    The limits are the lab's policy; no published tolerance was found. 1 degree moves an undercut
    3 mm below the survey line by 0.05 mm.
    """
    if total_deg <= pass_deg:
        return "pass"
    return "look_again" if total_deg <= repeat_above_deg else "repeat"


def _slope(marks_mm: Marks, heights_mm: Sequence[float]) -> tuple[float, float]:
    xx, xy, yy = spread_mm2(marks_mm)
    rows = list(zip(centred(marks_mm), heights_mm, strict=True))
    xh = fsum(x * height for (x, _), height in rows)
    yh = fsum(y * height for (_, y), height in rows)
    whole = xx * yy - xy * xy
    return (yy * xh - xy * yh) / whole, (xx * yh - xy * xh) / whole


def _residual_mm(
    marks_mm: Marks, heights_mm: Sequence[float], slope: tuple[float, float]
) -> float | None:
    spare = len(marks_mm) - 3
    if spare == 0:
        return None
    mean = fsum(heights_mm) / len(heights_mm)
    rows = zip(centred(marks_mm), heights_mm, strict=True)
    left = (height - mean - slope[0] * x - slope[1] * y for (x, y), height in rows)
    return sqrt(fsum(rest * rest for rest in left) / spare)
