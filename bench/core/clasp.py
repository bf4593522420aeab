"""Clasp arms as bending bars: how they compare with each other, advice and never a promise.

Published forces of like arms differ ninefold between set-ups, so the page shows ratios alone; the
force and stress of one arm are worked out to check them. Source: theory of elastic beams, a
cantilever pushed square at its tip, tapering evenly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, pi
from typing import Literal

from bench.core.refusal import Refusal
from bench.core.remark import Remark

Section = Literal["half_round", "round"]

# Second moment of area over r⁴ about the axis the arm bends on, and the farthest fibre over r.
# Half round: pi/8 - 8/(9 pi), and 1 - 4/(3 pi) to the crown. Source: plane geometry.
SECOND_MOMENT = {"half_round": pi / 8 - 8 / (9 * pi), "round": pi / 4}
FARTHEST_FIBRE = {"half_round": 1 - 4 / (3 * pi), "round": 1.0}
CO_CR_E_GPA = 220.0
# The root, where the push bends most, carries the most stress down to this taper.
_ROOT_GOVERNS_FROM = 2 / 3
_STIFFER_BY, _ALIKE_WITHIN = 2.0, 1.1


class BadArm(Refusal):
    """An arm with a size that is none."""

    code = "bad_arm"
    what = "An arm of {length_mm} mm, radius {root_radius_mm} mm, was not taken."
    why = "Sizes, stiffness and depth must be more than nothing, and the taper above 0 up to 1."
    what_to_do = "Measure from the shoulder to the tip along the arm, and its radius at the root."


@dataclass(frozen=True)
class Arm:
    """A retentive arm: material stiffness E in GPa, sizes in mm, depth its tip lies in, in mm.

    `taper` is the radius at the tip over the one at the root, 1 for an even arm. Raises BadArm.
    """

    name: str
    length_mm: float
    root_radius_mm: float
    depth_mm: float
    e_gpa: float = CO_CR_E_GPA
    taper: float = 1.0
    section: Section = "half_round"

    def __post_init__(self) -> None:
        sizes = (self.length_mm, self.root_radius_mm, self.depth_mm, self.e_gpa, self.taper)
        if not all(isfinite(size) and size > 0 for size in sizes) or self.taper > 1:
            raise BadArm(length_mm=self.length_mm, root_radius_mm=self.root_radius_mm)


@dataclass(frozen=True)
class ArmBeside:
    """One arm beside another: how many times as stiff, as strong in push, and as stressed."""

    name: str
    stiffness: float
    push: float
    stress: float


def stiffness_n_per_mm(arm: Arm) -> float:
    """Return the push at the tip per mm of bend: 3·E·I·taper / length³.

    With an even taper the integral of the bend comes to length³ / (3·E·I·taper) exactly, I at the
    root.
    """
    second_moment_mm4 = SECOND_MOMENT[arm.section] * arm.root_radius_mm**4
    return 3 * arm.e_gpa * 1000 * second_moment_mm4 * arm.taper / arm.length_mm**3


def push_n(arm: Arm) -> float:
    """Return the push (N) of the tip bent out by its depth: for checks, not for the page."""
    return stiffness_n_per_mm(arm) * arm.depth_mm


def stress_mpa(arm: Arm) -> float:
    """Return the greatest stress (MPa) along an arm bent out by its depth: for checks.

    At the root, or with a taper under two thirds where the distance from the tip is
    taper / (2·(1 - taper)) of the length.
    """
    fibre = FARTHEST_FIBRE[arm.section] / SECOND_MOMENT[arm.section]
    at_root = push_n(arm) * arm.length_mm * fibre / arm.root_radius_mm**3
    if arm.taper >= _ROOT_GOVERNS_FROM:
        return at_root
    share = arm.taper / (2 * (1 - arm.taper))
    return at_root * share / (arm.taper + (1 - arm.taper) * share) ** 3


def beside(arm: Arm, other: Arm) -> ArmBeside:
    """Return how an arm compares with another: each figure is arm over other."""
    return ArmBeside(
        arm.name,
        stiffness_n_per_mm(arm) / stiffness_n_per_mm(other),
        push_n(arm) / push_n(other),
        stress_mpa(arm) / stress_mpa(other),
    )


def length_to_match_mm(arm: Arm, other: Arm) -> float:
    """Return how long an arm of the same make would have to be to push like another."""
    return float(arm.length_mm * beside(arm, other).push ** (1 / 3))


def advise(arms: Sequence[Arm]) -> tuple[Remark, ...]:
    """Return remarks on arms that push unlike the gentlest: codes with names and ratios.

    `pushes_alike` (arms) when all are within a tenth; else for each that pushes at least twice as
    much `pushes_more` (arm, beside, times, length_mm to match) and `strains_more` (arm, beside,
    times) where its stress is the greater likewise. The limits are our own. Empty under two arms.
    """
    if len(arms) < 2:
        return ()
    gentlest = min(arms, key=push_n)
    compared = [(arm, beside(arm, gentlest)) for arm in arms if arm is not gentlest]
    if all(found.push <= _ALIKE_WITHIN for _, found in compared):
        return (Remark("pushes_alike", {"arms": tuple(arm.name for arm in arms)}),)
    return tuple(remark for pair in compared for remark in _told(*pair, gentlest))


def _told(arm: Arm, found: ArmBeside, gentlest: Arm) -> list[Remark]:
    names = {"arm": arm.name, "beside": gentlest.name}
    told = []
    if found.push >= _STIFFER_BY:
        length_mm = length_to_match_mm(arm, gentlest)
        told.append(Remark("pushes_more", {**names, "times": found.push, "length_mm": length_mm}))
    if found.stress >= _STIFFER_BY:
        told.append(Remark("strains_more", {**names, "times": found.stress}))
    return told
