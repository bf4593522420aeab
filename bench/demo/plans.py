"""Invented prescriptions: which teeth are gone, and what an invented dentist wishes for them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bench.core.entries import ClaspWished
from bench.core.surfaces import Surface
from bench.core.teeth import Arch, side_of


@dataclass(frozen=True, slots=True)
class Plan:
    """One arch with its teeth and its wish list. Teeth are ISO 3950; every clasp is cast or of wire."""

    arch: Arch
    missing: tuple[int, ...]
    replaced: tuple[int, ...]
    clasps: tuple[ClaspWished, ...]
    rests: tuple[tuple[int, str], ...]
    indirect: tuple[int, ...] = ()
    planes: tuple[tuple[int, Surface], ...] = ()
    extractions: tuple[int, ...] = ()


def _cast(tooth: int, surface: Surface) -> ClaspWished:
    return ClaspWished(tooth, surface, "circumferential", "co_cr", 0.25, 16.0)


def _wire(tooth: int, surface: Surface) -> ClaspWished:
    return ClaspWished(tooth, surface, "combination", "wrought_wire", 0.5, 12.0)


def _bar(tooth: int, surface: Surface) -> ClaspWished:
    return ClaspWished(tooth, surface, "bar", "co_cr", 0.25, 18.0)


PLANS: tuple[Plan, ...] = (
    Plan(
        "lower", (36, 37, 38, 46, 47, 48), (36, 37, 46, 47),
        (_wire(35, "MB"), _wire(45, "MB")), ((35, "distal"), (45, "distal")), (33, 43),
        ((35, "D"), (45, "D")),
    ),
    Plan(
        "upper", (16, 17, 18, 26, 27, 28), (16, 17, 26, 27),
        (_bar(15, "DB"), _bar(25, "DB")), ((15, "mesial"), (25, "mesial")), (13, 23),
    ),
    Plan(
        "lower", (36, 37, 38, 46, 48), (36, 37, 46),
        (_wire(35, "MB"), _cast(47, "DB"), _cast(44, "MB")),
        ((35, "distal"), (47, "mesial"), (45, "distal")), (43,), ((35, "D"), (47, "M")),
    ),
    Plan(
        "upper", (16, 17, 18, 28), (16, 17),
        (_wire(15, "MB"), _cast(26, "MB")), ((15, "distal"), (26, "mesial"), (24, "distal")), (23,),
    ),
    Plan(
        "lower", (46, 36, 38, 48), (46, 36),
        (_cast(47, "DB"), _cast(37, "DB"), _cast(45, "MB"), _cast(35, "MB")),
        ((47, "mesial"), (37, "mesial"), (45, "distal"), (35, "distal")),
    ),
    Plan(
        "upper", (14, 15, 25, 18, 28), (14, 15, 25),
        (_cast(16, "MB"), _cast(26, "DB")),
        ((16, "mesial"), (26, "mesial"), (24, "distal"), (13, "cingulum")), (), ((16, "M"),),
    ),
    Plan(
        "lower", (42, 41, 31, 32, 48), (42, 41, 31, 32),
        (_cast(46, "DB"), _cast(36, "DB")), ((44, "mesial"), (34, "mesial"), (46, "mesial")),
    ),
    Plan(
        "upper", (12, 11, 21, 18, 28), (12, 11, 21),
        (_cast(16, "DB"), _cast(26, "DB")), ((14, "mesial"), (24, "mesial"), (13, "cingulum")),
    ),
    Plan(
        "upper", (16, 18, 28), (16, 15, 26),
        (_cast(17, "DB"), _cast(14, "MB"), _cast(27, "DB")),
        ((17, "mesial"), (14, "distal"), (27, "mesial"), (25, "distal")), extractions=(15, 26),
    ),
    Plan(
        "lower", (36, 37, 46), (36, 37, 46),
        (_cast(38, "MB"), _cast(35, "MB"), _cast(47, "DB")),
        ((38, "mesial"), (35, "distal"), (47, "mesial"), (45, "distal")),
    ),
)  # fmt: skip


def unbalanced(plan: Plan) -> Plan:
    """Return the plan with its clasps on the patient's left moved to the lingual side."""
    return replace(plan, clasps=tuple(_moved(wish) for wish in plan.clasps))


def _moved(wish: ClaspWished) -> ClaspWished:
    lingual: dict[Surface, Surface] = {"MB": "ML", "DB": "DL", "B": "L"}
    if side_of(wish.tooth) == "right":
        return wish
    return replace(wish, surface=lingual.get(wish.surface, wish.surface))
