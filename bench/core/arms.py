"""The clasp arms of a case beside each other: like-made ones only, by their length and depth.

Arms of one material are taken as made alike, so that section and stiffness cancel and only length
and depth are left: a push goes with depth / length³ (see `clasp`). Arms of different materials
would be compared by assumed sections, so they are not.
"""

from __future__ import annotations

from bench.core.clasp import Arm, advise
from bench.core.remark import Remark
from bench.core.survey import CountedTip, Survey

# Any radius does, being the same for all; the published arm of `clasp`.
_ROOT_RADIUS_MM = 0.8


def arms_beside(survey: Survey) -> tuple[Remark, ...]:
    """Return what `clasp.advise` tells of the arms of each material; nothing under two of one."""
    by_material: dict[str, list[Arm]] = {}
    for counted in survey.counted_tips:
        arm = _arm(counted)
        if arm is not None:
            by_material.setdefault(counted.tip.body.material, []).append(arm)
    return tuple(remark for arms in by_material.values() for remark in advise(arms))


def arms_unmeasured(survey: Survey) -> tuple[str, ...]:
    """Return the tips that count but cannot be compared: no length of their arm is recorded."""
    return tuple(
        counted.site.text for counted in survey.counted_tips if counted.tip.body.arm_mm is None
    )


def _arm(counted: CountedTip) -> Arm | None:
    length_mm, reading = counted.tip.body.arm_mm, counted.reading
    if length_mm is None or reading is None:
        return None
    return Arm(counted.site.text, length_mm, _ROOT_RADIUS_MM, reading.body.gauge_mm)
