"""Where each tooth of an average arch stands on the cast, and which way its surfaces face.

Frame of the cast on the table, occlusal side up, seen from behind: +X viewer's right, +Y anterior,
millimetres, origin midway between the distal ends of the second molars. The viewer's right is the
patient's right on a lower cast and the patient's left on an upper one.

Curve: beta function after Braun et al., Angle Orthod 1998;68:29-36; mesiodistal widths: Wheeler's
means. The arch width of the curve is assumed and its depth fitted so that half the curve is as
long as the seven crowns on it. Labiolingual depths are round figures of our own, for drawing.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate
from math import atan2, cos, degrees, hypot, pi, radians, sin

from bench.core.refusal import Refusal
from bench.core.surfaces import Site, Surface
from bench.core.teeth import THIRD_MOLAR, Arch, NoSuchTooth, arch_of, position_of, side_of

Vector = tuple[float, float]

MESIODISTAL_MM: dict[Arch, tuple[float, ...]] = {
    "upper": (8.5, 6.5, 7.5, 7.0, 7.0, 10.0, 9.0, 8.5),
    "lower": (5.0, 5.5, 7.0, 7.0, 7.0, 11.0, 10.5, 10.0),
}
LABIOLINGUAL_MM: dict[Arch, tuple[float, ...]] = {
    "upper": (7.0, 6.0, 8.0, 9.0, 9.0, 11.0, 11.0, 10.0),
    "lower": (6.0, 6.5, 7.5, 7.5, 8.0, 10.5, 10.5, 9.5),
}
CURVE_WIDTH_MM: dict[Arch, float] = {"upper": 60.0, "lower": 54.0}
CURVE_DEPTH_MM: dict[Arch, float] = {"upper": 42.82, "lower": 42.11}
_BETA_FACTOR, _BETA_POWER = 3.0314, 0.8
_STEPS = 2000
_PLAUSIBLE_SCALE = (0.6, 1.6)


class WrongArch(NoSuchTooth):
    """A tooth that stands on the other arch."""

    code = "tooth_not_on_arch"
    what = "Tooth {tooth} was given for the {arch} arch."
    why = "It stands on the other arch."
    what_to_do = "Give a tooth of the {arch} arch, or open the case of the other cast."


class CaliperOutOfRange(Refusal):
    """A caliper measure that fits no arch."""

    code = "caliper_out_of_range"
    what = "{measure} {value_mm} mm was not taken."
    why = "Between {least_mm} and {most_mm} mm was expected there."
    what_to_do = "Measure again, in millimetres, between the same two teeth."


@dataclass(frozen=True)
class Caliper:
    """Two measures of the actual cast, in mm, both taken at one pair of like-named teeth.

    `width_mm` lies between the middles of the two teeth, `depth_mm` from the contact of the
    central incisors square to the line joining them. One alone scales the arch both ways.
    """

    width_mm: float | None = None
    depth_mm: float | None = None
    at_position: int = 6


@dataclass(frozen=True)
class ToothPlace:
    """One tooth on the arch: centre and sizes in mm, unit vectors outward and distally."""

    tooth: int
    x_mm: float
    y_mm: float
    outward: Vector
    distal: Vector
    width_mm: float
    depth_mm: float


@dataclass(frozen=True)
class ArchModel:
    """An average arch, stretched across (x) and along (y) to fit a cast."""

    arch: Arch
    scale_x: float = 1.0
    scale_y: float = 1.0

    @property
    def half_width_mm(self) -> float:
        """Half the width between the distal ends of the second molars, in mm."""
        return self.scale_x * CURVE_WIDTH_MM[self.arch] / 2

    def place(self, tooth: int) -> ToothPlace:
        """Return where a tooth stands; raise WrongArch or NoSuchTooth."""
        return _place(self, require_on_arch(self.arch, tooth))

    def direction(self, site: Site) -> Vector:
        """Return the unit vector a surface faces, horizontally; corners lie midway."""
        return _direction(self.place(site.tooth), site.surface)

    def azimuth_deg(self, site: Site) -> float:
        """Return the direction a surface faces, from +X toward +Y, in [0, 360) degrees."""
        x, y = self.direction(site)
        return degrees(atan2(y, x)) % 360.0

    def point_mm(self, site: Site) -> Vector:
        """Return the middle of a surface, in mm, on the ellipse of the tooth's two sizes."""
        place, (dx, dy) = self.place(site.tooth), self.direction(site)
        along = (dx * place.distal[0] + dy * place.distal[1]) / (place.width_mm / 2)
        across = (dx * place.outward[0] + dy * place.outward[1]) / (place.depth_mm / 2)
        reach_mm = 1 / hypot(along, across)
        return place.x_mm + reach_mm * dx, place.y_mm + reach_mm * dy


def arch_model(arch: Arch, caliper: Caliper | None = None) -> ArchModel:
    """Return the average arch, scaled to two caliper measures (mm) where they were taken.

    Raises CaliperOutOfRange when a measure is not within 0.6 to 1.6 times the average.
    """
    if caliper is None:
        return ArchModel(arch)
    x_mm, y_mm = _mean_centre_mm(arch, caliper.at_position)
    across = _scale("width", caliper.width_mm, 2 * x_mm)
    along = _scale("depth", caliper.depth_mm, CURVE_DEPTH_MM[arch] - y_mm)
    return ArchModel(arch, across or along or 1.0, along or across or 1.0)


def require_on_arch(arch: Arch, tooth: int) -> int:
    """Return the tooth, or raise WrongArch (or NoSuchTooth) when it is not on the arch."""
    if arch_of(tooth) != arch:
        raise WrongArch(tooth=tooth, arch=arch)
    return tooth


def view_sign(tooth: int) -> int:
    """Return +1 for a tooth on the viewer's right of the cast seen from behind, -1 on the left."""
    lower, right = arch_of(tooth) == "lower", side_of(tooth) == "right"
    return 1 if lower == right else -1


def _scale(measure: str, value_mm: float | None, mean_mm: float) -> float | None:
    if value_mm is None:
        return None
    least, most = _PLAUSIBLE_SCALE
    if not least * mean_mm <= value_mm <= most * mean_mm:
        least_mm, most_mm = round(least * mean_mm, 1), round(most * mean_mm, 1)
        raise CaliperOutOfRange(
            measure=measure, value_mm=value_mm, least_mm=least_mm, most_mm=most_mm
        )
    return value_mm / mean_mm


@lru_cache(maxsize=256)
def _place(model: ArchModel, tooth: int) -> ToothPlace:
    position, sign = position_of(tooth), view_sign(tooth)
    x_mm, y_mm = _mean_centre_mm(model.arch, position)
    mean = _mean_distal(model.arch, position)
    distal = (sign * mean[0] * model.scale_x, mean[1] * model.scale_y)
    stretch = hypot(*distal)
    across = hypot(mean[1] * model.scale_x, mean[0] * model.scale_y)
    distal = (distal[0] / stretch, distal[1] / stretch)
    return ToothPlace(
        tooth=tooth,
        x_mm=sign * x_mm * model.scale_x,
        y_mm=y_mm * model.scale_y,
        outward=(-sign * distal[1], sign * distal[0]),
        distal=distal,
        width_mm=MESIODISTAL_MM[model.arch][position - 1] * stretch,
        depth_mm=LABIOLINGUAL_MM[model.arch][position - 1] * across,
    )


def _direction(place: ToothPlace, surface: Surface) -> Vector:
    along = ("D" in surface) - ("M" in surface)
    across = ("B" in surface) - ("L" in surface)
    x = along * place.distal[0] + across * place.outward[0]
    y = along * place.distal[1] + across * place.outward[1]
    return x / hypot(x, y), y / hypot(x, y)


def _mean_centre_mm(arch: Arch, position: int) -> Vector:
    half_width_mm = CURVE_WIDTH_MM[arch] / 2
    if position == THIRD_MOLAR:
        return half_width_mm, -MESIODISTAL_MM[arch][position - 1] / 2
    turn = _turn_at(arch, position)
    return half_width_mm * sin(turn), _height_mm(arch) * cos(turn) ** (2 * _BETA_POWER)


def _mean_distal(arch: Arch, position: int) -> Vector:
    turn = pi / 2 if position == THIRD_MOLAR else _turn_at(arch, position)
    x, y = _velocity_mm(arch, turn)
    return x / hypot(x, y), y / hypot(x, y)


def _height_mm(arch: Arch) -> float:
    return _BETA_FACTOR * CURVE_DEPTH_MM[arch] * float(0.25**_BETA_POWER)


def _velocity_mm(arch: Arch, turn: float) -> Vector:
    # With x = W/2 sin(turn) the curve's end, where it runs straight back, stays regular.
    power = 2 * _BETA_POWER
    if turn >= pi / 2:
        return 0.0, -1.0
    slope = -power * _height_mm(arch) * cos(turn) ** (power - 1) * sin(turn)
    return CURVE_WIDTH_MM[arch] / 2 * cos(turn), slope


@lru_cache(maxsize=2)
def _lengths_mm(arch: Arch) -> tuple[float, ...]:
    step = radians(90) / _STEPS
    middles = ((n + 0.5) * step for n in range(_STEPS))
    pieces = (hypot(*_velocity_mm(arch, turn)) * step for turn in middles)
    return (0.0, *accumulate(pieces))


def _turn_at(arch: Arch, position: int) -> float:
    widths, lengths = MESIODISTAL_MM[arch], _lengths_mm(arch)
    wanted_mm = sum(widths[: position - 1]) + widths[position - 1] / 2
    n = bisect_left(lengths, wanted_mm)
    within = (wanted_mm - lengths[n - 1]) / (lengths[n] - lengths[n - 1])
    return (n - 1 + within) * radians(90) / _STEPS
