"""The Kennedy class of a partly edentulous arch, with Applegate's eight rules, and its spaces.

Source: the classification with Applegate's rules as printed in removable prosthodontics textbooks
(Carr & Brown, McCracken's Removable Partial Prosthodontics).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Literal, NamedTuple

from bench.core.arch import require_on_arch
from bench.core.surfaces import Site, Surface
from bench.core.teeth import (
    SIDES,
    THIRD_MOLAR,
    Arch,
    Side,
    place_in_arch,
    position_of,
    side_of,
    teeth_of,
)

KennedyClass = Literal["I", "II", "III", "IV", "none", "edentulous"]
ReasonCode = Literal[
    "extraction_first",
    "third_molar_ignored",
    "third_molar_as_absent",
    "third_molar_abutment",
    "third_molar_replaced",
    "second_molar_ignored",
    "two_extensions",
    "one_extension",
    "bounded_only",
    "one_space_across_the_midline",
    "no_modification_in_iv",
    "modifications",
    "no_space",
    "no_tooth_left",
]
SECOND_MOLAR = 7


class Reason(NamedTuple):
    """Why a class was found: a code for the catalogue and its params (teeth, counts, rule)."""

    code: ReasonCode
    params: Mapping[str, object]


@dataclass(frozen=True)
class Space:
    """One run of missing teeth that counts, from the patient's right to the left.

    `right_neighbour` and `left_neighbour` are the teeth that stand next to it; None where the
    space runs to the end of the arch. `replaced` is False when none of its teeth is to be.
    """

    teeth: tuple[int, ...]
    right_neighbour: int | None
    left_neighbour: int | None
    replaced: bool = True

    @property
    def extension_sides(self) -> tuple[Side, ...]:
        """The patient's sides on which no tooth stands behind the space."""
        ends = (self.right_neighbour, self.left_neighbour)
        return tuple(side for side, end in zip(SIDES, ends, strict=True) if end is None)

    @property
    def crosses_midline(self) -> bool:
        """Whether the space lies on both sides of the midline."""
        return len({side_of(tooth) for tooth in self.teeth}) == 2

    @property
    def neighbours(self) -> tuple[int, ...]:
        """The teeth next to the space, patient's right first."""
        return tuple(t for t in (self.right_neighbour, self.left_neighbour) if t is not None)


@dataclass(frozen=True)
class KennedyResult:
    """The class, its modifications (None where the class has no such count), spaces and reasons."""

    kennedy_class: KennedyClass
    modifications: int | None
    spaces: tuple[Space, ...]
    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class _Chart:
    arch: Arch
    gone: frozenset[int]
    extracted: frozenset[int]
    present: frozenset[int]
    abutment: frozenset[int]
    replace: frozenset[int]
    not_replaced: frozenset[int]


def classify(
    arch: Arch,
    missing: Collection[int],
    *,
    present: Collection[int] = (),
    abutment: Collection[int] = (),
    not_replaced: Collection[int] = (),
    replace: Collection[int] = (),
    planned_extraction: Collection[int] = (),
) -> KennedyResult:
    """Return the Kennedy class of an arch, its spaces, and the reasons for it.

    Teeth are ISO 3950. A third molar counts as absent unless it is in `abutment`, and as no space
    unless it is in `replace`; a missing second molar in `not_replaced` is ignored; teeth in
    `planned_extraction` are gone. `missing` outweighs `present` and `abutment`, and `replace`
    outweighs `not_replaced`. Raises WrongArch or NoSuchTooth for a tooth not on the arch.
    """
    for tooth in (*missing, *present, *abutment, *not_replaced, *replace, *planned_extraction):
        require_on_arch(arch, tooth)
    chart = _Chart(
        arch=arch,
        gone=frozenset((*missing, *planned_extraction)),
        extracted=frozenset(planned_extraction) - frozenset(missing),
        present=frozenset(present),
        abutment=frozenset(abutment),
        replace=frozenset(replace),
        not_replaced=frozenset(not_replaced) - frozenset(replace),
    )
    return _judge(chart)


def spaces_to_replace(result: KennedyResult) -> tuple[Space, ...]:
    """Return the spaces in which at least one tooth is to be replaced."""
    return tuple(space for space in result.spaces if space.replaced)


def teeth_next_to_a_space(result: KennedyResult) -> tuple[int, ...]:
    """Return the teeth next to a space to be replaced, each once, from the patient's right."""
    found = {tooth for space in spaces_to_replace(result) for tooth in space.neighbours}
    return tuple(sorted(found, key=place_in_arch))


def proximal_sites_facing_a_space(result: KennedyResult) -> list[Site]:
    """Return the proximal surfaces of present teeth that face a space to be replaced.

    The distal surface of the tooth mesial to a space, the mesial one of the tooth distal to it;
    both mesial where a space crosses the midline. In order from the patient's right to the left.
    """
    return [site for space in spaces_to_replace(result) for site in _facing(space)]


def extension_sides(result: KennedyResult) -> tuple[Side, ...]:
    """Return the patient's sides with a distal extension space, right first."""
    found = {side for space in result.spaces for side in space.extension_sides}
    return tuple(side for side in SIDES if side in found)


def _facing(space: Space) -> Iterator[Site]:
    if space.right_neighbour is not None:
        toward_left: Surface = "M" if side_of(space.right_neighbour) == "right" else "D"
        yield Site(space.right_neighbour, toward_left)
    if space.left_neighbour is not None:
        toward_right: Surface = "M" if side_of(space.left_neighbour) == "left" else "D"
        yield Site(space.left_neighbour, toward_right)


def _judge(chart: _Chart) -> KennedyResult:
    reasons = [Reason("extraction_first", {"tooth": t}) for t in _in_order(chart.extracted)]
    row = []
    for tooth in teeth_of(chart.arch):
        counted, reason = _counted(chart, tooth)
        row += [tooth] if counted else []
        reasons += [reason] if reason else []
    spaces = _spaces(chart, row)
    found, modifications, why = _class_of(spaces, whole=len(row))
    return KennedyResult(found, modifications, spaces, (*reasons, *why))


def _counted(chart: _Chart, tooth: int) -> tuple[bool, Reason | None]:
    """Say whether a tooth's place counts at all, present or missing (rules 2, 3 and 4)."""
    if position_of(tooth) == THIRD_MOLAR:
        code = _third_molar(chart, tooth)
        counts = code in ("third_molar_abutment", "third_molar_replaced")
        return counts, Reason(code, {"tooth": tooth})
    if position_of(tooth) == SECOND_MOLAR and tooth in chart.gone and tooth in chart.not_replaced:
        return False, Reason("second_molar_ignored", {"tooth": tooth})
    return True, None


def _third_molar(chart: _Chart, tooth: int) -> ReasonCode:
    if tooth not in chart.gone and tooth in chart.abutment:
        return "third_molar_abutment"
    if tooth in chart.replace and tooth not in chart.present - chart.gone:
        return "third_molar_replaced"
    here = tooth in chart.present and tooth not in chart.gone
    return "third_molar_as_absent" if here else "third_molar_ignored"


def _spaces(chart: _Chart, row: list[int]) -> tuple[Space, ...]:
    empty = [_is_space(chart, tooth) for tooth in row]
    spaces = []
    for is_space, places in groupby(range(len(row)), key=lambda place: empty[place]):
        run = list(places)
        if is_space:
            teeth = tuple(row[place] for place in run)
            right = row[run[0] - 1] if run[0] > 0 else None
            left = row[run[-1] + 1] if run[-1] + 1 < len(row) else None
            spaces.append(Space(teeth, right, left, not chart.not_replaced.issuperset(teeth)))
    return tuple(spaces)


def _is_space(chart: _Chart, tooth: int) -> bool:
    if tooth in chart.gone:
        return True
    return position_of(tooth) == THIRD_MOLAR and tooth not in chart.abutment


def _class_of(
    spaces: tuple[Space, ...], whole: int
) -> tuple[KennedyClass, int | None, tuple[Reason, ...]]:
    if not spaces:
        return "none", None, (Reason("no_space", {}),)
    if len(spaces[0].teeth) == whole:
        return "edentulous", None, (Reason("no_tooth_left", {}),)
    sides = tuple(side for space in spaces for side in space.extension_sides)
    if not sides and len(spaces) == 1 and spaces[0].crosses_midline:
        across = Reason("one_space_across_the_midline", {"teeth": spaces[0].teeth})
        return "IV", None, (across, Reason("no_modification_in_iv", {}))
    more = len(spaces) - max(1, len(sides))
    counted = Reason("modifications", {"count": more})
    if not sides:
        return "III", more, (Reason("bounded_only", {"count": len(spaces)}), counted)
    if len(sides) == 1:
        return "II", more, (Reason("one_extension", {"side": sides[0]}), counted)
    return "I", more, (Reason("two_extensions", {}), counted)


def _in_order(teeth: frozenset[int]) -> list[int]:
    return sorted(teeth, key=place_in_arch)
