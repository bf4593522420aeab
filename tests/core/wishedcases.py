"""Invented sites and guide planes to find tilts for, and their mirror images."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace

from bench.core.finder import FoundTilt
from bench.core.strips import WishedSite
from bench.core.tilt import Tilt
from bench.core.toothchange import GuidePlane

Case = tuple[list[WishedSite], list[GuidePlane]]


def site(name: str, azimuth_deg: float, gauge_mm: float = 0.25, **rest: object) -> WishedSite:
    """Return a site that wants what it has, 2 mm below the survey line."""
    asked = {"drop_mm": 2.0, "least_mm": gauge_mm, **rest}
    return WishedSite(name, azimuth_deg, gauge_mm, **asked)  # type: ignore[arg-type]


def cases(count: int, seed: int, *, two_sided: bool = False) -> Iterator[Case]:
    """Yield invented cases of two to twelve sites and none to six guide planes."""
    chance = random.Random(seed)
    for _ in range(count):
        sites = [_site(chance, n, two_sided) for n in range(chance.randint(2, 12))]
        yield sites, [_plane(chance, n) for n in range(chance.randint(0, 6))]


def mirrored_case(case: Case) -> Case:
    """Return the mirror image of a case: what faced the right of view faces the left."""
    sites, planes = case
    return (
        [replace(one, azimuth_deg=180 - one.azimuth_deg) for one in sites],
        [replace(one, azimuth_deg=180 - one.azimuth_deg) for one in planes],
    )


def mirrored_tilt(found: FoundTilt) -> Tilt:
    """Return the mirror image of the tilt found."""
    return Tilt(found.tilt.ap_deg, -found.tilt.lat_deg)


def _site(chance: random.Random, n: int, two_sided: bool) -> WishedSite:
    least_mm = chance.choice([0.15, 0.20, 0.25])
    return WishedSite(
        name=f"site {n}",
        azimuth_deg=chance.uniform(0, 360),
        gauge_mm=chance.uniform(0.12, 0.5),
        drop_mm=chance.uniform(1.2, 3.0),
        least_mm=least_mm,
        most_mm=least_mm + chance.uniform(0.05, 0.3) if two_sided else None,
    )


def _plane(chance: random.Random, n: int) -> GuidePlane:
    return GuidePlane(
        f"plane {n}", chance.uniform(0, 360), chance.uniform(-8, 8), chance.uniform(2, 5)
    )
