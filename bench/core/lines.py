"""The fulcrum line a denture turns about, and how far a retentive tip lies from it."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from math import hypot
from typing import Literal

from bench.core.arch import ArchModel, Vector, require_on_arch
from bench.core.kennedy import KennedyResult, Space, extension_sides
from bench.core.retention import Tip
from bench.core.surfaces import Site
from bench.core.teeth import SIDES, Side, position_of, side_of

LineCode = Literal[
    "most_distal_rests",
    "diagonal",
    "mesial_rests_of_the_space",
    "class_has_no_line",
    "no_rest_on_right",
    "no_rest_on_left",
    "one_rest_only",
]


@dataclass(frozen=True)
class Line:
    """A fulcrum line between two rests: patient's right first, ends in mm in the arch's frame.

    `base_mm` is a place under the base that sinks, and so tells the side of the base.
    """

    right_tooth: int
    left_tooth: int
    right_mm: Vector
    left_mm: Vector
    base_mm: Vector


@dataclass(frozen=True)
class FulcrumLine:
    """The line, or None, with the rule it follows from or the reason why there is none."""

    line: Line | None
    reason: LineCode


def fulcrum_line(arch: ArchModel, kennedy: KennedyResult, rests: Collection[int]) -> FulcrumLine:
    """Return the fulcrum line that the planned rests (ISO 3950 teeth) make on the arch model.

    Class I: through the most distal rests of both sides. II: from the most distal rest on the
    extension side to the most distal rest across. IV: through the rest nearest to the space on
    either side, each the most mesial. III and arches without a class have none. Rests lie at the
    centres of their teeth; one on a missing tooth is passed over. Raises WrongArch for a rest on
    the other arch.
    Source: removable prosthodontics textbooks (common teaching; no single figure).
    """
    for tooth in rests:
        require_on_arch(arch.arch, tooth)
    if kennedy.kennedy_class not in ("I", "II", "IV"):
        return FulcrumLine(None, "class_has_no_line")
    standing = set(rests).difference(*(space.teeth for space in kennedy.spaces))
    right, left = (_end_rest(kennedy, standing, side) for side in SIDES)
    if right is None:
        return FulcrumLine(None, "no_rest_on_right")
    if left is None:
        return FulcrumLine(None, "no_rest_on_left")
    if right == left:
        return FulcrumLine(None, "one_rest_only")
    return FulcrumLine(_line(arch, kennedy, right, left), _code(kennedy))


def signed_distance_mm(arch: ArchModel, line: Line, tip: Tip) -> float:
    """Return how far a tip lies from the fulcrum line, in mm.

    Positive on the side away from the base, negative on the side of the base, where the tip would
    lift with it. The tip is taken at the middle of its surface on the arch model.
    """
    return _offset_mm(line, arch.point_mm(Site(*tip))) * -_side_of_base(line)


def foot_mm(line: Line, point_mm: Vector) -> Vector:
    """Return where the square from a place to the fulcrum line meets it, in mm; also beyond its ends."""
    (x, y), (to_x, to_y) = line.right_mm, line.left_mm
    along_x, along_y = to_x - x, to_y - y
    share = ((point_mm[0] - x) * along_x + (point_mm[1] - y) * along_y) / hypot(
        along_x, along_y
    ) ** 2
    return x + share * along_x, y + share * along_y


def _end_rest(kennedy: KennedyResult, rests: Collection[int], side: Side) -> int | None:
    if kennedy.kennedy_class == "IV":
        here = [tooth for tooth in rests if side_of(tooth) == side]
        return min(here, key=position_of, default=None)
    here = [tooth for tooth in rests if _lies_on(kennedy, tooth, side)]
    return max(here, key=lambda tooth: _distality(tooth, side), default=None)


def _lies_on(kennedy: KennedyResult, tooth: int, side: Side) -> bool:
    """Say whether a rest serves a side; the tooth next to a side's extension always does."""
    return side_of(tooth) == side or tooth == _terminal(kennedy, side)


def _terminal(kennedy: KennedyResult, side: Side) -> int | None:
    ends = [space for space in kennedy.spaces if side in space.extension_sides]
    return next(iter(ends[0].neighbours), None) if ends else None


def _distality(tooth: int, side: Side) -> int:
    return position_of(tooth) if side_of(tooth) == side else -position_of(tooth)


def _line(arch: ArchModel, kennedy: KennedyResult, right: int, left: int) -> Line:
    ends = (arch.place(right), arch.place(left))
    (right_mm, left_mm) = ((place.x_mm, place.y_mm) for place in ends)
    return Line(right, left, right_mm, left_mm, _base_mm(arch, _bases(kennedy)))


def _bases(kennedy: KennedyResult) -> Iterable[Space]:
    if kennedy.kennedy_class == "IV":
        return kennedy.spaces
    return (space for space in kennedy.spaces if space.extension_sides)


def _base_mm(arch: ArchModel, bases: Iterable[Space]) -> Vector:
    places = [arch.place(tooth) for space in bases for tooth in space.teeth]
    count = len(places)
    return sum(p.x_mm for p in places) / count, sum(p.y_mm for p in places) / count


def _code(kennedy: KennedyResult) -> LineCode:
    if kennedy.kennedy_class == "IV":
        return "mesial_rests_of_the_space"
    return "diagonal" if len(extension_sides(kennedy)) == 1 else "most_distal_rests"


def _offset_mm(line: Line, point_mm: Vector) -> float:
    (x, y), (to_x, to_y) = line.right_mm, line.left_mm
    along_x, along_y = to_x - x, to_y - y
    across = along_x * (point_mm[1] - y) - along_y * (point_mm[0] - x)
    return across / hypot(along_x, along_y)


def _side_of_base(line: Line) -> int:
    return 1 if _offset_mm(line, line.base_mm) >= 0 else -1
