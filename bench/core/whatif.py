"""What each wished site and guide plane reads now, and is expected to read at a tilt that is tried."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from math import floor, isfinite

from bench.core.finder import FoundTilt
from bench.core.strips import Strip, depth_mm, miss_mm, place_of
from bench.core.tilt import Tilt
from bench.core.toothchange import Pull, angle_at_deg, cost_mm2, pulls_of
from bench.core.undercut import take_off_mm
from bench.core.wishes import Wishes

_MET_WITHIN_MM = 1e-6
_ROUND_ABOUT = (0, 1, -1, 2)


@dataclass(frozen=True, slots=True)
class SiteThen:
    """A wished site: depth (mm) at the mark now and then, what is wished, whether it is met then.

    `drop_guessed`: no drop was read, so the figure is a guess; `as_least`: the gauge that was read
    lies less deep than the wall, so both depths are the least they can be.
    """

    site: str
    now_mm: float
    then_mm: float
    least_mm: float
    most_mm: float | None
    meets: bool
    drop_guessed: bool
    as_least: bool


@dataclass(frozen=True, slots=True)
class PlaneThen:
    """A guide plane: angle to the path (degrees) now and then, and what would be taken off (mm) then.

    `take_off_mm` None where the height was not read.
    """

    site: str
    now_deg: float
    then_deg: float
    take_off_mm: float | None


def sites_then(wishes: Wishes, tried: Tilt) -> tuple[SiteThen, ...]:
    """Return what each wished site comes to at a tilt, in the order of the wishes."""
    return tuple(_site(wishes, strip, tried) for strip in wishes.strips)


def planes_then(wishes: Wishes, tried: Tilt) -> tuple[PlaneThen, ...]:
    """Return what each guide plane comes to at a tilt."""
    found = []
    for plane in wishes.planes:
        then_deg = angle_at_deg(plane, tried)
        off_mm = take_off_mm(plane.height_mm, then_deg)
        guessed = plane.name in wishes.heights_guessed
        now_deg = angle_at_deg(plane, wishes.bench.current)
        found.append(PlaneThen(plane.name, now_deg, then_deg, None if guessed else off_mm))
    return tuple(found)


def settable(wishes: Wishes, found: FoundTilt, step_deg: float) -> Tilt:
    """Return the tilt nearest to one found that a scale of this step can be set to.

    Where the one found serves every wish, so does this one, with the least change of teeth of
    those round about; finer steps are taken until there is one, at last the one found.
    """
    pulls = pulls_of(wishes.planes, wishes.bench.tie_weight_mm2)
    for step in (step_deg, 0.5, 0.1, 0.05, 0.01):
        if step > step_deg:
            continue
        near = [tilt for tilt in _round_about(found.tilt, step) if _inside(wishes, tilt)]
        serving = [tilt for tilt in near if _serves(wishes.strips, tilt) or not found.feasible]
        if serving:
            return min(serving, key=lambda tilt: _cost(found, wishes.strips, tilt, pulls))
    return found.tilt


def _cost(
    found: FoundTilt, strips: tuple[Strip, ...], tilt: Tilt, pulls: tuple[Pull, ...]
) -> float:
    place = place_of(tilt)
    if not found.feasible:
        return max(miss_mm(strip, place) for strip in strips)
    return cost_mm2(pulls, place)


def _round_about(tilt: Tilt, step: float) -> list[Tilt]:
    low = [floor(angle / step) for angle in tilt]
    return [
        Tilt(round((low[0] + a) * step, 2) + 0.0, round((low[1] + b) * step, 2) + 0.0)
        for a, b in product(_ROUND_ABOUT, _ROUND_ABOUT)
    ]


def _inside(wishes: Wishes, tilt: Tilt) -> bool:
    return max(abs(tilt.ap_deg), abs(tilt.lat_deg)) <= wishes.bench.limit_deg


def _serves(strips: tuple[Strip, ...], tilt: Tilt) -> bool:
    return all(miss_mm(strip, place_of(tilt)) <= _MET_WITHIN_MM for strip in strips)


def _site(wishes: Wishes, strip: Strip, tried: Tilt) -> SiteThen:
    now, then = place_of(wishes.bench.current), place_of(tried)
    return SiteThen(
        strip.name,
        depth_mm(strip, now),
        depth_mm(strip, then),
        strip.least_mm,
        strip.most_mm if isfinite(strip.most_mm) else None,
        miss_mm(strip, then) <= _MET_WITHIN_MM,
        strip.drop_is_guessed,
        strip.name in wishes.as_least,
    )
