"""Rules B: balanced retention, reciprocation, depth and arm, and where the tips lie to the fulcrum line."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from bench.core.entries import IndirectRetainerWished
from bench.core.kennedy import extension_sides
from bench.core.lines import Line, signed_distance_mm
from bench.core.retention import Tip, judge_balance
from bench.core.rules.reason import Param, Reason
from bench.core.survey import TOUCHING, CountedTip, Survey
from bench.core.teeth import SIDES, side_of

SAME_GAUGE_MM = 0.02
IN_FRONT_MM = 1.0


def balanced(survey: Survey) -> Iterator[Reason]:
    """B1: the retentive tips of both sides share a letter, or named guide planes stand for it.

    Source: bilateral opposition as taught in prosthodontic textbooks (Carr & Brown, McCracken's Removable
    Partial Prosthodontics).
    """
    balance = judge_balance(survey.retentive)
    if balance.balanced or exemption_holds(survey):
        return
    params: dict[str, Param] = {
        "right": "".join(sorted(balance.right_letters)), "left": "".join(sorted(balance.left_letters)),
    }  # fmt: skip
    if balance.reason == "empty_side":
        params["side"] = "left" if balance.right_letters else "right"
    ids = tuple(counted.tip.entry.id for counted in survey.tips)
    problem = "none_counts" if survey.tips and balance.reason == "no_tips" else balance.reason
    letters = f"{params['right']}|{params['left']}"
    yield Reason("B1", problem, "retention", letters, params, ids)


def exemption_holds(survey: Survey) -> bool:
    """Say whether the exemption's guide planes are all read, and held, at the present setting."""
    said = survey.exemption
    if said is None:
        return False
    current = {f"{r.body.tooth}{r.body.surface}" for r in survey.planes.values() if r.current}
    return current.issuperset(said.body.sites)


def reciprocation(survey: Survey) -> Iterator[Reason]:
    """B3: reciprocation is recorded opposite each tip, and a clasp has one retentive arm."""
    for counted in survey.tips:
        if counted.tip.body.reciprocation == "none":
            site = counted.site.text
            yield Reason(
                "B3", "no_reciprocation", "retention", site, {"site": site}, (counted.tip.entry.id,)
            )
    for tooth, count in Counter(counted.site.tooth for counted in survey.tips).items():
        if count > 1:
            ids = tuple(c.tip.entry.id for c in survey.tips if c.site.tooth == tooth)
            yield Reason("B3", "two_arms", "retention", str(tooth), {"tooth": tooth}, ids)


def depth_suits_arm(survey: Survey) -> Iterator[Reason]:
    """B4: the undercut suits the arm's material, and the arm is long enough for it.

    Source: Co-Cr 0.25 mm and wrought wire 0.50 mm as taught; texts disagree on gold and steel wire
    (common practice, no source); the lab's numbers are its policy.
    """
    for counted in survey.tips:
        yield from _depth(survey, counted)
        yield from _arm(survey, counted)


def _depth(survey: Survey, counted: CountedTip) -> Iterator[Reason]:
    if counted.reading is None:
        return
    read = counted.reading.body
    material, site = counted.tip.body.material, counted.site.text
    suits_mm = survey.policy.number(f"depth_{material}_mm")
    params: dict[str, Param] = {
        "site": site, "material": material, "gauge_mm": read.gauge_mm, "suits_mm": suits_mm,
    }  # fmt: skip
    ids = (counted.tip.entry.id, counted.reading.entry.id)
    if read.contact not in TOUCHING:
        yield Reason("B4", "not_deep_enough", "undercuts", site, params, ids)
        return
    if read.contact == "lip_short":
        yield Reason("B4", "deeper_than_gauge", "undercuts", site, params, ids)
    if not _same(read.gauge_mm, suits_mm):
        problem = "too_deep" if read.gauge_mm > suits_mm else "too_shallow"
        yield Reason("B4", problem, "retention", site, params, ids)


def _same(gauge_mm: float, other_mm: float) -> bool:
    return round(abs(gauge_mm - other_mm), 6) <= SAME_GAUGE_MM


def _arm(survey: Survey, counted: CountedTip) -> Iterator[Reason]:
    body = counted.tip.body
    name = f"least_arm_{body.material}_mm"
    least_mm = survey.policy.numbers.get(name)
    if body.arm_mm is not None and least_mm is not None and body.arm_mm < least_mm:
        params: dict[str, Param] = {
            "site": counted.site.text, "material": body.material, "arm_mm": body.arm_mm, "least_mm": least_mm,
        }  # fmt: skip
        yield Reason(
            "B4", "arm_short", "retention", counted.site.text, params, (counted.tip.entry.id,)
        )


def same_gauge(survey: Survey) -> Iterator[Reason]:
    """B5: both sides are read with the same gauge sizes."""
    sizes: dict[str, set[float]] = {side: set() for side in SIDES}
    for counted in survey.counted_tips:
        if counted.reading is not None:
            sizes[side_of(counted.site.tooth)].add(counted.reading.body.gauge_mm)
    right, left = (sorted(sizes[side]) for side in SIDES)
    if right and left and not _alike(right, left):
        params: dict[str, Param] = {"right_mm": _list(right), "left_mm": _list(left)}
        ids = tuple(counted.tip.entry.id for counted in survey.counted_tips)
        sizes_of_both = "|".join(",".join(sizes) for sizes in (_list(right), _list(left)))
        yield Reason("B5", "sides_differ", "retention", sizes_of_both, params, ids)


def _alike(right: list[float], left: list[float]) -> bool:
    def near(size: float, others: list[float]) -> bool:
        return any(_same(size, other) for other in others)

    return all(near(size, left) for size in right) and all(near(size, right) for size in left)


def _list(sizes: list[float]) -> tuple[str, ...]:
    return tuple(f"{size:.2f}" for size in sizes)


def tips_and_fulcrum(survey: Survey) -> Iterator[Reason]:
    """B6: in Class I and II tips lie near the fulcrum line or away from the base, with an indirect retainer."""
    if survey.kennedy.kennedy_class not in ("I", "II"):
        return
    if not survey.case.said(IndirectRetainerWished):
        yield Reason("B6", "no_indirect_retainer", "receive")
    line = survey.fulcrum.line
    if line is None:
        yield Reason("B6", survey.fulcrum.reason, "receive")
        return
    for counted in survey.tips:
        yield from _tip_to_line(survey, line, counted)


def _tip_to_line(survey: Survey, line: Line, counted: CountedTip) -> Iterator[Reason]:
    site = counted.site
    distance_mm = signed_distance_mm(survey.model, line, Tip(*site))
    params: dict[str, Param] = {"site": site.text, "distance_mm": round(abs(distance_mm), 1)}
    ids = (counted.tip.entry.id,)
    if distance_mm < -survey.policy.number("near_fulcrum_mm"):
        yield Reason("B6", "behind_line", "retention", site.text, params, ids)
    on_extension = side_of(site.tooth) in extension_sides(survey.kennedy)
    if on_extension and distance_mm > IN_FRONT_MM and counted.tip.body.material != "wrought_wire":
        yield Reason("B6", "wants_wire", "retention", site.text, params, ids)


RULES = (balanced, reciprocation, depth_suits_arm, same_gauge, tips_and_fulcrum)
