"""The computations on an arch: its class, the balance of its tips, its fulcrum line."""

from __future__ import annotations

from bench.compute.given import KennedyGiven, LinesGiven, RetentionGiven, TipGiven
from bench.core.arch import arch_model, require_on_arch
from bench.core.kennedy import KennedyResult, Space, classify
from bench.core.lines import Line, fulcrum_line, signed_distance_mm
from bench.core.refusal import Refusal
from bench.core.retention import Tip, judge_balance, resultant
from bench.core.teeth import SIDES, Side, place_in_arch, position_of, side_of, teeth_of

Answer = dict[str, object]


class RestsAgainstClass(Refusal):
    """Rests that no arch of the class can have."""

    code = "rests_against_class"
    what = "With rests on {rests} the arch cannot be of class {kennedy_class}."
    why = "The rests leave no room for the spaces of that class."
    what_to_do = "Give the teeth that carry the planned rests, in ISO 3950 numbers."


def kennedy(given: KennedyGiven) -> Answer:
    """Return the class, its modifications, the spaces that count, and why."""
    found = classify(
        given.arch,
        given.missing,
        present=given.present,
        abutment=given.abutment,
        not_replaced=given.not_replaced,
        replace=given.replace,
        planned_extraction=given.planned_extraction,
    )
    return {
        "class": found.kennedy_class,
        "mod": found.modifications,
        "spaces": [_space(space) for space in found.spaces],
        "reasons": [{"code": reason.code, **reason.params} for reason in found.reasons],
    }


def retention(given: RetentionGiven) -> Answer:
    """Return whether the sides balance, the share of pushes left over, and their resultant."""
    tips = _tips(given.tips)
    pushes = resultant(arch_model(given.arch), tips)
    balance = judge_balance(tips)
    letters = {"right": sorted(balance.right_letters), "left": sorted(balance.left_letters)}
    return {
        "balanced": balance.balanced,
        "T": pushes.transverse_ratio,
        "resultant": {"x": pushes.x, "y": pushes.y, "yaw": pushes.yaw},
        "reasons": [{"code": balance.reason, **letters}, {"code": f"pushes_{pushes.verdict}"}],
    }


def lines(given: LinesGiven) -> Answer:
    """Return the fulcrum line from the patient's right, and each tip's way from it.

    Distances are positive away from the base. The base lies behind the line; in class II on the
    side whose last rest stands further forward, in class IV between the rests.
    """
    for tooth in (*given.rests, *(tip.tooth for tip in given.tips)):
        require_on_arch(given.arch, tooth)
    line = _line(given)
    model = arch_model(given.arch)
    return {
        "fulcrum": None if line is None else [line.right_mm, line.left_mm],
        "tips": [
            {
                "tooth": tip.tooth,
                "distance_mm": None if line is None else signed_distance_mm(model, line, tip),
            }
            for tip in _tips(given.tips)
        ],
    }


def _space(space: Space) -> Answer:
    return {
        "teeth": space.teeth,
        "right_neighbour": space.right_neighbour,
        "left_neighbour": space.left_neighbour,
        "extension_sides": space.extension_sides,
        "crosses_midline": space.crosses_midline,
        "replaced": space.replaced,
    }


def _tips(tips: tuple[TipGiven, ...]) -> list[Tip]:
    return [Tip(tip.tooth, tip.surface) for tip in tips]


def _line(given: LinesGiven) -> Line | None:
    rests = {side: [t for t in given.rests if side_of(t) == side] for side in SIDES}
    if given.kennedy_class not in ("I", "II", "IV") or not (rests["right"] and rests["left"]):
        return None
    found = _arch_with(given, rests)
    if found.kennedy_class != given.kennedy_class:
        named = ", ".join(map(str, given.rests))
        raise RestsAgainstClass(rests=named, kennedy_class=given.kennedy_class)
    return fulcrum_line(arch_model(given.arch), found, given.rests).line


def _arch_with(given: LinesGiven, rests: dict[Side, list[int]]) -> KennedyResult:
    """Return an arch of the class with these rests: it stands in for the one not described."""
    if given.kennedy_class == "IV":
        ends = [place_in_arch(min(rests[side], key=position_of)) for side in SIDES]
        gone = teeth_of(given.arch)[ends[0] + 1 : ends[1]]
        return classify(given.arch, gone)
    last = {side: max(rests[side], key=position_of) for side in SIDES}
    forward = min(SIDES, key=lambda side: position_of(last[side]))
    sides = SIDES if given.kennedy_class == "I" else (forward,)
    gone = tuple(tooth for side in sides for tooth in _behind(last[side]))
    return classify(given.arch, gone, replace=gone)


def _behind(tooth: int) -> list[int]:
    return [tooth + n for n in range(1, 9 - position_of(tooth))]
