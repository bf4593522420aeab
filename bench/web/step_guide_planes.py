"""The step of guide planes: where light shows beside the analysing rod, site by site."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from flask import render_template, request, url_for

from bench.core.bounds import BadEntry
from bench.core.case import Reading
from bench.core.entries import Confirmed, GuidePlaneRead
from bench.core.entries.vocabulary import LIGHT
from bench.core.kennedy import spaces_to_replace
from bench.core.surfaces import Site
from bench.core.undercut import NoGap, plane_angle_deg
from bench.core.wishes import leaning_deg
from bench.web import telling
from bench.web.archmap import MapPicture
from bench.web.castmap import (
    picture_of,
    plane_badge,
    state_of_reading,
    surface_of,
    tooth_of,
)
from bench.web.forms import number_from
from bench.web.stepforms import FormSeen, form_of, standing_on
from bench.web.steps import StepPage, renders


@dataclass(frozen=True)
class Planing:
    """What the page of guide planes shows besides its frame."""

    page: StepPage

    @cached_property
    def form(self) -> FormSeen:
        """The form that records a reading."""
        return form_of(self.page, "guide_plane_read")

    @property
    def sites(self) -> tuple[Site, ...]:
        """The sites that must be read, then others that were."""
        read = (Site(r.body.tooth, r.body.surface) for r in self.page.survey.planes.values())
        return tuple(dict.fromkeys((*self.page.survey.plane_sites, *read)))

    @property
    def next_open(self) -> Site | None:
        """The first site that must be read and is not, at the present setting."""
        open_ones = (s for s in self.page.survey.plane_sites if not self._is_current(s))
        return next(open_ones, None)

    def _is_current(self, site: Site) -> bool:
        reading = self.page.survey.plane(site)
        return reading is not None and reading.current

    @cached_property
    def site(self) -> Site | None:
        """The site in hand: after a record the next one to be read, else the one named, else the first."""
        said = self.page.announced
        if said is not None and isinstance(said.body, (GuidePlaneRead, Confirmed)):
            return self.next_open or self._named()
        return self._named() if tooth_of(self.page) else self.next_open

    def _named(self) -> Site | None:
        tooth, surface = tooth_of(self.page), surface_of(self.page.surface)
        if tooth is None:
            return None
        wanted = [site.surface for site in self.sites if site.tooth == tooth]
        found = surface or (wanted[0] if wanted else None)
        return Site(tooth, found) if found else None

    @property
    def tooth(self) -> int | None:
        """The tooth in hand."""
        return self.site.tooth if self.site else tooth_of(self.page)

    @property
    def reading(self) -> Reading[GuidePlaneRead] | None:
        """What counts for the site in hand."""
        return self.page.survey.plane(self.site) if self.site else None

    @property
    def supersedes(self) -> tuple[str, ...]:
        """What a reading of the site in hand takes the place of."""
        return standing_on(self.page.case, ("plane", *self.site)) if self.site else ()

    @property
    def facing(self) -> Site | None:
        """The site across the same space, None at a free end."""
        for space in spaces_to_replace(self.page.survey.kennedy):
            pair = [s for s in self.page.survey.plane_sites if s.tooth in space.neighbours]
            if self.site in pair and len(pair) == 2:
                return pair[1 - pair.index(self.site)]
        return None

    def found(self, site: Site) -> str:
        """Return what was found at a site: the angle and where the light shows, or that nothing is read."""
        reading, reader = self.page.survey.plane(site), telling.reader()
        if reading is None:
            return reader.say("shell.state.todo")
        light = reader.choice("light", reading.body.light)
        angle = leaning_deg(reading.body)
        return f"{reader.angle(round(abs(angle), 1))}, {light}" if angle else light

    def value(self, name: str) -> str:
        """Return what a stepper shows: typed or tried, else the present reading's."""
        present = self.reading.body if self.reading and self.reading.current else None
        recorded = getattr(present, name, None)
        otherwise = "" if recorded is None else f"{recorded:g}"
        # Without light there is nothing to measure: what was there must not be recorded unseen.
        tried = "" if _no_light(name) else request.args.get(name, otherwise)
        return str(self.form.typed(name, tried))

    @property
    def light(self) -> str | None:
        """Where the light shows: typed or tried, else as read at the present setting."""
        present = self.reading.body.light if self.reading and self.reading.current else None
        return str(self.form.typed("light", request.args.get("light", present or ""))) or None

    @property
    def angle(self) -> str:
        """The angle of the triangle of light in the steppers, in words; nothing while it is open."""
        try:
            gap_mm, height_mm = (number_from(n, self.value(n)) for n in ("gap_mm", "height_mm"))
            angle = plane_angle_deg(gap_mm, height_mm, self.light != "occlusal")
        except (BadEntry, NoGap):
            return ""
        return telling.reader().say(
            "steppages.plane.angle", angle=telling.reader().angle(round(abs(angle), 1))
        )

    def at(self, **asked: Any) -> str:
        """Return the address of this step with something asked for."""
        return url_for("steps.step_page", code=self.page.code, step="guide_planes", **asked)

    def site_keys(self) -> list[dict[str, object]]:
        """Return the sites as keys with their state."""
        return [self._key(site) for site in self.sites]

    def _key(self, site: Site) -> dict[str, object]:
        reading, reader = self.page.survey.plane(site), telling.reader()
        state = state_of_reading(reading)
        word = (
            plane_badge(reading, reader) if state == "done" else reader.say(f"shell.state.{state}")
        )
        return {
            "href": self.at(tooth=site.tooth, surface=site.surface), "text": reader.site(site.text),
            "state": state, "word": word, "current": site == self.site,
        }  # fmt: skip

    @property
    def picture(self) -> MapPicture:
        """The map with the site in hand."""
        return picture_of(self.page, telling.reader(), place=self.site)


def _no_light(name: str) -> bool:
    return name in ("gap_mm", "height_mm") and request.args.get("light") == "none"


@renders("guide_planes")
def guide_planes(page: StepPage) -> str:
    """Render the step of guide planes."""
    if page.case.now is None:
        return render_template("steps/guide_planes.html", page=page, view=None)
    view = Planing(page)
    return render_template(
        "steps/guide_planes.html", page=page, view=view, picture=view.picture, lights=LIGHT
    )
