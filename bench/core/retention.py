"""Whether the retentive tips of both sides hold against each other, and what their pushes make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum
from typing import Literal, NamedTuple

from bench.core.arch import ArchModel
from bench.core.surfaces import Letter, Site, Surface, letter_of
from bench.core.teeth import Side, side_of

BalanceCode = Literal["shared_letter", "no_shared_letter", "empty_side", "no_tips"]
Verdict = Literal["cancel", "partly", "one_way", "no_tips"]
CANCEL_BELOW = 0.1
_ALL_ONE_WAY = 1 - 1e-9


class Tip(NamedTuple):
    """The retentive tip of one clasp: the tooth it holds and the surface it lies on."""

    tooth: int
    surface: Surface


@dataclass(frozen=True)
class Balance:
    """Whether the sides share a letter, the letters on each side, and why in a code."""

    balanced: bool
    right_letters: frozenset[Letter]
    left_letters: frozenset[Letter]
    reason: BalanceCode


@dataclass(frozen=True)
class Resultant:
    """What the pushes sum to, per tip: vector, turning, share left across the arch, verdict.

    `x`, `y` are in unit pushes per tip in the frame of the arch, `yaw` in unit pushes times half
    the arch width per tip, positive anticlockwise seen from above, about the middle of the tips.
    `transverse_ratio` is |sum of Fx| / sum of |Fx|, 0 to 1; None without tips.
    """

    x: float
    y: float
    yaw: float
    transverse_ratio: float | None
    verdict: Verdict


def judge_balance(tips: Sequence[Tip]) -> Balance:
    """Say whether the right and left tips share a letter, buccal or lingual.

    Give only tips with a gauge reading at the final setting. A tip on a purely proximal surface
    has no letter and balances nothing. Source: bilateral opposition as taught in prosthodontic
    textbooks (Carr & Brown, McCracken's Removable Partial Prosthodontics); that a side with both
    letters may face a side with one is common practice, no source.
    """
    right, left = _letters(tips, "right"), _letters(tips, "left")
    if not right and not left:
        return Balance(False, right, left, "no_tips")
    if not right or not left:
        return Balance(False, right, left, "empty_side")
    shared = bool(right & left)
    return Balance(shared, right, left, "shared_letter" if shared else "no_shared_letter")


def resultant(arch: ArchModel, tips: Sequence[Tip]) -> Resultant:
    """Return the sum of unit pushes, each along the outward direction of the tip's surface.

    Pushes act at the centres of the teeth. The verdict is 'one_way' when nothing across the arch
    cancels, 'cancel' when less than a tenth is left (our own figure), else 'partly'; it is shown
    beside the balance, never instead of it. Raises WrongArch for a tooth of the other arch.
    Source: statics.
    """
    if not tips:
        return Resultant(0.0, 0.0, 0.0, None, "no_tips")
    count = len(tips)
    pushes = [arch.direction(Site(*tip)) for tip in tips]
    sum_x, sum_y = fsum(x for x, _ in pushes), fsum(y for _, y in pushes)
    ratio = _share_left([x for x, _ in pushes])
    yaw = _turning_mm(arch, tips) / (count * arch.half_width_mm)
    return Resultant(sum_x / count, sum_y / count, yaw, ratio, _verdict(ratio))


def _letters(tips: Sequence[Tip], side: Side) -> frozenset[Letter]:
    letters = (letter_of(tip.surface) for tip in tips if side_of(tip.tooth) == side)
    return frozenset(letter for letter in letters if letter is not None)


def _share_left(across: Sequence[float]) -> float:
    total = fsum(abs(push) for push in across)
    return abs(fsum(across)) / total if total else 0.0


def _turning_mm(arch: ArchModel, tips: Sequence[Tip]) -> float:
    places = [arch.place(tip.tooth) for tip in tips]
    middle_x = fsum(place.x_mm for place in places) / len(places)
    middle_y = fsum(place.y_mm for place in places) / len(places)
    turning = []
    for tip, place in zip(tips, places, strict=True):
        x, y = arch.direction(Site(*tip))
        turning.append((place.x_mm - middle_x) * y - (place.y_mm - middle_y) * x)
    return fsum(turning)


def _verdict(ratio: float) -> Verdict:
    if ratio > _ALL_ONE_WAY:
        return "one_way"
    return "cancel" if ratio < CANCEL_BELOW else "partly"
