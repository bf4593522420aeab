"""What a survey wishes of a tilt, made ready for the finder: sites and guide planes with their readings.

Depth at the mark is the gauge that touched. A wish asks for its undercut at least, less the lab's
tolerance; a chosen tip without a wish of its own for the depth the lab gives its material. What no
reading can serve is left out and told, with the reading it takes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from bench.core.case import Said
from bench.core.entries import GuidePlaneRead, UndercutRead
from bench.core.finder import LIMIT_DEG, MOST_LIMIT_DEG, Bench
from bench.core.remark import Remark
from bench.core.strips import Strip, WishedSite, strip_of
from bench.core.surfaces import Site
from bench.core.survey import TOUCHING, Survey
from bench.core.tilt import LEVEL, Tilt
from bench.core.toothchange import GuidePlane
from bench.core.undercut import plane_angle_deg

# Only weighs a plane whose height was not read against the others.
GUESSED_HEIGHT_MM = 3.0
_LEAST_WISHED_MM = 0.05
# A wall that leans further is no guide plane; the finder weighs none.
STEEPEST_PLANE_DEG = 80.0


@dataclass(frozen=True)
class Wishes:
    """What the finder is given of a survey, and what is lacking.

    `lacking` are codes with a `site` each: `undercut_unread`, `undercut_shallower` (gauge_mm),
    `no_undercut`, `undercut_without_scale`, `plane_unread`, `plane_unmeasured`,
    `plane_without_scale`. `as_least` names the sites known only to be deeper than the gauge;
    `heights_guessed` the planes whose height was not read.
    """

    survey: Survey
    sites: tuple[WishedSite, ...]
    planes: tuple[GuidePlane, ...]
    lacking: tuple[Remark, ...]
    as_least: tuple[str, ...]
    heights_guessed: tuple[str, ...]

    @cached_property
    def bench(self) -> Bench:
        """What holds while a tilt is looked for; the limit is where the lab asks a reason."""
        policy = self.survey.policy
        return Bench(
            current=tilt_now(self.survey) or LEVEL,
            limit_deg=min(MOST_LIMIT_DEG, max(LIMIT_DEG, policy.number("tilt_asks_reason_deg"))),
            guessed_drop_mm=policy.number("guessed_drop_mm"),
            wire_depth_mm=policy.number("depth_wrought_wire_mm"),
        )

    @cached_property
    def strips(self) -> tuple[Strip, ...]:
        """The sites as strips in the plane of tilts."""
        return tuple(strip_of(site, self.bench.guessed_drop_mm) for site in self.sites)


def wishes_of(survey: Survey) -> Wishes:
    """Return what a survey wishes of a tilt; only its readings at settings with a scale can serve."""
    lacking: list[Remark] = []
    sites = [_site(survey, site, lacking) for site in survey.undercut_sites]
    planes = [_plane(survey, site, lacking) for site in _plane_sites(survey)]
    return Wishes(
        survey,
        tuple(site for site, _ in filter(None, sites)),
        tuple(plane for plane, _ in filter(None, planes)),
        tuple(lacking),
        tuple(site.name for site, deeper in filter(None, sites) if deeper),
        tuple(plane.name for plane, guessed in filter(None, planes) if guessed),
    )


def tilt_now(survey: Survey) -> Tilt | None:
    """Return the tilt the cast has now; None while it is not mounted, or on a table without a scale."""
    return survey.case.now.tilt if survey.case.now else None


def wanted_of(survey: Survey, site: Site) -> float:
    """Return the undercut (mm) wanted at a site: as wished, else as the lab gives the arm's material.

    The gauge for cast cobalt-chromium where nothing is known of the arm.
    """
    for said in survey.clasps:
        if (said.body.tooth, said.body.surface) == site:
            return said.body.wanted_mm
    arms = [counted.tip.body.material for counted in survey.tips if counted.site == site]
    return survey.policy.number(f"depth_{next(iter(arms), 'co_cr')}_mm")


def window_of(survey: Survey, wanted_mm: float) -> float:
    """Return the least depth (mm) that serves a wish, by the lab's tolerance."""
    tolerance_mm = survey.policy.number("wanted_tolerance_mm")
    return max(_LEAST_WISHED_MM, round(wanted_mm - tolerance_mm, 6))


def read_at(survey: Survey, said: Said[UndercutRead] | Said[GuidePlaneRead]) -> Tilt | None:
    """Return the tilt at which a reading holds: the present one where it was made or confirmed there.

    None at a setting without a scale, and at one that was taken back.
    """
    now = survey.case.now
    if now is not None and now.id in survey.case.held_at.get(said.entry.id, ()) and now.tilt:
        return now.tilt
    setting = survey.case.setting_of(said.entry.setting)
    return setting.tilt if setting else None


def readings_of(survey: Survey, site: Site) -> tuple[Said[UndercutRead], ...]:
    """Return the standing readings of a site in order of their ids."""
    return tuple(
        said
        for said in survey.case.said(UndercutRead)
        if (said.body.tooth, said.body.surface) == site
    )


def _site(survey: Survey, site: Site, lacking: list[Remark]) -> tuple[WishedSite, bool] | None:
    readings = readings_of(survey, site)
    said = max(_serving(survey, readings), key=lambda one: _worth(survey, one), default=None)
    if said is None:
        lacking.append(_why_not(survey, site, readings))
        return None
    tilt, wanted_mm = read_at(survey, said), wanted_of(survey, site)
    assert tilt is not None
    return WishedSite(
        name=site.text,
        azimuth_deg=survey.model.azimuth_deg(site),
        gauge_mm=said.body.gauge_mm,
        drop_mm=said.body.drop_mm,
        least_mm=window_of(survey, wanted_mm),
        read_at=tilt,
    ), said.body.contact != "both"  # fmt: skip


def _serving(
    survey: Survey, readings: Iterable[Said[UndercutRead]]
) -> Iterator[Said[UndercutRead]]:
    return (
        said for said in readings
        if said.body.contact in TOUCHING and read_at(survey, said) is not None
    )  # fmt: skip


def _worth(survey: Survey, said: Said[UndercutRead]) -> tuple[bool, bool, bool, str]:
    """Rank readings: one that holds now, that touched, that has its drop, the newest."""
    now = survey.case.now
    held = now is not None and now.id in survey.case.held_at.get(said.entry.id, ())
    return held, said.body.contact == "both", said.body.drop_mm is not None, said.entry.id


def _why_not(survey: Survey, site: Site, readings: tuple[Said[UndercutRead], ...]) -> Remark:
    if not readings:
        return Remark("undercut_unread", {"site": site.text})
    last = readings[-1].body
    if any(said.body.contact in TOUCHING for said in readings):
        return Remark("undercut_without_scale", {"site": site.text})
    if last.contact == "none":
        return Remark("no_undercut", {"site": site.text})
    return Remark("undercut_shallower", {"site": site.text, "gauge_mm": last.gauge_mm})


def _plane_sites(survey: Survey) -> tuple[Site, ...]:
    read = (Site(reading.body.tooth, reading.body.surface) for reading in survey.planes.values())
    staying = survey.standing_teeth
    return tuple(
        site for site in dict.fromkeys((*survey.plane_sites, *read)) if site.tooth in staying
    )


def _plane(survey: Survey, site: Site, lacking: list[Remark]) -> tuple[GuidePlane, bool] | None:
    reading = survey.plane(site)
    if reading is None:
        lacking.append(Remark("plane_unread", {"site": site.text}))
        return None
    angle_deg = leaning_deg(reading.body)
    tilt = read_at(survey, Said(reading.entry, reading.body))
    if angle_deg is None or tilt is None or abs(angle_deg) > STEEPEST_PLANE_DEG:
        code = "plane_without_scale" if tilt is None else "plane_unmeasured"
        lacking.append(Remark(code, {"site": site.text}))
        return None
    body, azimuth_deg = reading.body, survey.model.azimuth_deg(site)
    height_mm = body.height_mm or body.run_mm
    plane = GuidePlane(
        site.text, azimuth_deg, angle_deg, height_mm or GUESSED_HEIGHT_MM, read_at=tilt
    )
    return plane, height_mm is None


def leaning_deg(read: GuidePlaneRead) -> float | None:
    """Return the angle (degrees) of a plane to the path, 0 without light, None when unmeasured."""
    if read.light == "none":
        return 0.0
    if read.gap_mm is None or read.height_mm is None:
        return None
    return plane_angle_deg(read.gap_mm, read.height_mm, read.light == "gingival")
