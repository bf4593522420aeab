"""How finely the lab reads: the SD of one reading from its own repeats, else the policy's figure.

Repeats of one length by one person are pooled within their groups: the squares about each group's
mean, over the sum of (count - 1). A re-mount of four marks or more adds its residual with its spare
degrees of freedom. Source: pooled variance, analysis of variance in one way.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import fsum, sqrt
from typing import Literal

LEAST_SPARE = 10


@dataclass(frozen=True, slots=True)
class ReadingSd:
    """The SD (mm) of one reading, whose it is, and on how many degrees of freedom it rests.

    `spare` counts the lab's own degrees of freedom, also where they were too few to be used.
    """

    sd_mm: float
    source: Literal["own", "policy"]
    spare: int


@dataclass(frozen=True, slots=True)
class Residual:
    """What a re-mount left about its fitted plane: SD in mm, and the marks beyond three."""

    sd_mm: float
    spare: int


def reading_sd(
    policy_mm: float, repeats: Iterable[Sequence[float]], residuals: Iterable[Residual] = ()
) -> ReadingSd:
    """Return the lab's own SD of a reading where it rests on ten degrees of freedom or more.

    Else the policy's. `repeats` are groups of readings of one length, each by one person; a group
    of one tells nothing. A lab whose repeats never differ keeps the policy's figure too: its scale
    is too coarse to tell.
    """
    squares, spare = _pooled(repeats)
    rest = list(residuals)
    squares += fsum(one.sd_mm**2 * one.spare for one in rest)
    spare += sum(one.spare for one in rest)
    if spare < LEAST_SPARE or squares <= 0:
        return ReadingSd(policy_mm, "policy", spare)
    return ReadingSd(sqrt(squares / spare), "own", spare)


def _pooled(repeats: Iterable[Sequence[float]]) -> tuple[float, int]:
    squares, spare = 0.0, 0
    for group in repeats:
        if len(group) > 1:
            mean = fsum(group) / len(group)
            squares += fsum((one - mean) ** 2 for one in group)
            spare += len(group) - 1
    return squares, spare
