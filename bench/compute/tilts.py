"""The computations on tilts: the angle between two, what one does, and which one serves."""

from __future__ import annotations

from msgspec import UNSET

from bench.compute.given import (
    AngleGiven,
    FindTiltGiven,
    SiteGiven,
    TiltGiven,
    WallGiven,
    WhatIfGiven,
    WishGiven,
)
from bench.core.finder import LIMIT_DEG, TIE_WEIGHT_MM2, Bench, find_tilt, require_own_names
from bench.core.strips import WishedSite
from bench.core.tilt import Tilt, angle_between_deg, path_of_insertion
from bench.core.toothchange import GuidePlane
from bench.core.undercut import plane_after_deg, take_off_mm, turn_deg, undercut_after, wall_of

Answer = dict[str, object]


def angle(given: AngleGiven) -> Answer:
    """Return the angle between two settings and the path of insertion of each."""
    start, end = _tilt(given.start), _tilt(given.end)
    return {
        "angle_deg": angle_between_deg(start, end),
        "path_from": path_of_insertion(start),
        "path_to": path_of_insertion(end),
    }


def what_if(given: WhatIfGiven) -> Answer:
    """Return what each site and each wall comes to at a tilt."""
    tilt = _tilt(given.tilt)
    require_own_names(site.name for site in given.sites)
    require_own_names(wall.name for wall in given.walls)
    return {
        "sites": [_site_after(site, tilt) for site in given.sites],
        "walls": [_wall_after(wall, tilt) for wall in given.walls],
    }


def find(given: FindTiltGiven) -> Answer:
    """Return the tilt that serves every wish at the least change of teeth, the map, and why."""
    bench = Bench(
        limit_deg=LIMIT_DEG if given.limit_deg is UNSET else given.limit_deg,
        tie_weight_mm2=TIE_WEIGHT_MM2 if given.tie_weight is UNSET else given.tie_weight,
    )
    found = find_tilt(
        [_wished(site) for site in given.sites], [_plane(wall) for wall in given.walls], bench
    )
    return {
        "ap_deg": found.tilt.ap_deg,
        "lat_deg": found.tilt.lat_deg,
        "feasible": found.feasible,
        "polygon_deg": found.map.corners,
        "conflict": found.conflict,
        "cost": found.cost_mm2,
        "explanation": [{"code": remark.code, **remark.params} for remark in found.explanation],
    }


def _tilt(given: TiltGiven) -> Tilt:
    return Tilt(given.ap_deg, given.lat_deg)


def _site_after(site: SiteGiven, tilt: Tilt) -> Answer:
    turned_deg = turn_deg(site.phi_deg, tilt)
    after = undercut_after(site.gauge_mm, site.drop_mm, turned_deg)
    return {
        "name": site.name,
        "depth_mm": after.depth_mm,
        "theta_deg": wall_of(site.gauge_mm, site.drop_mm).theta_deg + turned_deg,
        "drop_mm": after.drop_mm,
    }


def _wall_after(wall: WallGiven, tilt: Tilt) -> Answer:
    alpha_deg = plane_after_deg(wall.alpha_deg, turn_deg(wall.phi_deg, tilt))
    return {
        "name": wall.name,
        "alpha_deg": alpha_deg,
        "reduction_mm": take_off_mm(wall.height_mm, alpha_deg),
    }


def _wished(site: WishGiven) -> WishedSite:
    least_mm, most_mm = site.want_mm
    return WishedSite(
        site.name, site.phi_deg, site.gauge_mm, site.drop_mm, least_mm, most_mm
    )  # fmt: skip


def _plane(wall: WallGiven) -> GuidePlane:
    return GuidePlane(wall.name, wall.phi_deg, wall.alpha_deg, wall.height_mm)
