"""The step of undercuts: tooth, surface, and what the gauge's shank and lip do."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from flask import render_template, request, url_for

from bench.core.bounds import BadEntry
from bench.core.case import Reading
from bench.core.entries import ClaspWished, UndercutRead
from bench.core.entries.vocabulary import CONTACTS
from bench.core.lab import Instrument
from bench.core.predictions import expected_now, prediction_of
from bench.core.rules.balance import SAME_GAUGE_MM
from bench.core.surfaces import UNDERCUT_SURFACES, Site
from bench.web import telling
from bench.web.archmap import MapPicture
from bench.web.castmap import picture_of, state_of_reading, surface_of, tooth_of, undercut_badge
from bench.web.forms import number_from
from bench.web.predictions import found_in_words
from bench.web.stepforms import last_tool, standing_on
from bench.web.steps import StepPage, renders


@dataclass(frozen=True)
class Gauging:
    """What the page of undercuts shows besides its frame."""

    page: StepPage

    @property
    def tooth(self) -> int | None:
        """The tooth in hand."""
        return tooth_of(self.page)

    @cached_property
    def site(self) -> Site | None:
        """The site in hand, None until tooth and surface are chosen."""
        surface = surface_of(self.page.surface)
        return Site(self.tooth, surface) if self.tooth and surface else None

    @property
    def wish(self) -> ClaspWished | None:
        """The clasp wished at the site in hand."""
        wished = (said.body for said in self.page.survey.clasps)
        return next((body for body in wished if self.site == (body.tooth, body.surface)), None)

    @property
    def reading(self) -> Reading[UndercutRead] | None:
        """What counts for the site in hand."""
        return self.page.survey.undercut(self.site) if self.site else None

    @property
    def expected(self) -> str:
        """What was expected at the site in hand by its reading at another setting, in words.

        Beside what the gauge then found, once it was read here; nothing where nothing could be expected.
        """
        survey, reader = self.page.survey, telling.reader()
        expected = expected_now(survey, self.site) if self.site else None
        if expected is None:
            return ""
        mm, read = reader.length(expected.mm), self.reading
        if read is None or read.stale:
            key = "expected_guess" if expected.drop_guessed else "expected"
            return reader.say(f"predictions.{key}", expected=mm)
        found = found_in_words(prediction_of(expected, read.entry.id, read.body), reader)
        return reader.say("predictions.beside", expected=mm, read=found)

    @property
    def supersedes(self) -> tuple[str, ...]:
        """What a reading of the site in hand takes the place of."""
        return standing_on(self.page.case, ("undercut", *self.site)) if self.site else ()

    @cached_property
    def gauge_mm(self) -> float:
        """The gauge in the chuck: as named, else the one last read with, else as wished, else the first."""
        sizes = self.page.lab.policy.gauges_mm
        named = self._named_mm()
        if named is not None:
            return named
        said = self.page.case.latest(UndercutRead)
        if said is not None:
            return said.body.gauge_mm
        return self.wish.wanted_mm if self.wish and self.wish.wanted_mm in sizes else sizes[0]

    def _named_mm(self) -> float | None:
        try:
            named = number_from("gauge_mm", request.values.get("gauge_mm", ""))
        except BadEntry:
            return None
        return named if 0.05 <= named <= 1.5 else None

    @property
    def gauges(self) -> tuple[Instrument, ...]:
        """The lab's gauges in service that have the size in the chuck."""
        known = self.page.lab.in_service("gauge")
        return tuple(
            one for one in known
            if one.size_mm is not None and abs(one.size_mm - self.gauge_mm) <= SAME_GAUGE_MM
        )  # fmt: skip

    @property
    def tag(self) -> str | None:
        """The tag of the gauge: the only one of its size, else the one last read with, else none yet.

        Last read with on this case, or else by the person signed in on any.
        """
        tags = [one.tag for one in self.gauges]
        if len(tags) == 1:
            return tags[0]
        used = [said.body.gauge for said in self.page.case.said(UndercutRead)]
        return next((tag for tag in reversed(used) if tag in tags), last_tool(self.gauges) or None)

    def at(self, **asked: Any) -> str:
        """Return the address of this step with something asked for; the gauge stays in the chuck."""
        kept = {"gauge_mm": f"{self.gauge_mm:g}", **asked}
        return url_for("steps.step_page", code=self.page.code, step="undercuts", **kept)

    def gauge_keys(self) -> list[tuple[str, str, str, bool]]:
        """Return the lab's gauge sizes as keys; the one in the chuck is current."""
        place = {"tooth": self.tooth, "surface": self.page.surface}
        sizes = sorted({*self.page.lab.policy.gauges_mm, self.gauge_mm})
        return [
            (self.at(**{**place, "gauge_mm": f"{size:g}"}), _bare(size), *self._in_hand(size))
            for size in sizes
        ]

    def _in_hand(self, size_mm: float) -> tuple[str, bool]:
        """Return the tag to show with a size, and whether it is the one in the chuck."""
        chosen = size_mm == self.gauge_mm
        return (self.tag or "" if chosen and len(self.gauges) == 1 else ""), chosen

    def surface_keys(self) -> list[tuple[str, str, str, bool]]:
        """Return the surfaces of the tooth in hand as keys."""
        reader = telling.reader()
        chosen = self.site.surface if self.site else None
        return [
            (self.at(tooth=self.tooth, surface=s), s, reader.surface(s), s == chosen)
            for s in UNDERCUT_SURFACES
        ]

    def site_keys(self) -> list[dict[str, object]]:
        """Return the wanted sites as keys with their state."""
        return [self._key(site) for site in self.page.survey.undercut_sites]

    def _key(self, site: Site) -> dict[str, object]:
        reading, reader = self.page.survey.undercut(site), telling.reader()
        state = state_of_reading(reading)
        word = (
            undercut_badge(reading, reader)
            if state == "done"
            else reader.say(f"shell.state.{state}")
        )
        return {
            "href": self.at(tooth=site.tooth, surface=site.surface), "text": reader.site(site.text),
            "state": state, "word": word, "current": site == self.site,
        }  # fmt: skip

    @property
    def done(self) -> int:
        """How many of the wanted sites are read at the present setting."""
        return sum(key["state"] == "done" for key in self.site_keys())

    def found(self, reading: Reading[UndercutRead]) -> str:
        """Return a reading in words: gauge, contact, drop below the line."""
        reader, body = telling.reader(), reading.body
        said = reader.say(
            "steppages.undercut.found", gauge=reader.length(body.gauge_mm),
            contact=reader.say(f"steppages.undercut.contact_{body.contact}"),
        )  # fmt: skip
        if body.drop_mm is not None:
            said += reader.say("steppages.undercut.drop_found", drop=reader.length(body.drop_mm))
        return said + (reader.say("steppages.undercut.marked_found") if body.marked else "")

    @property
    def picture(self) -> MapPicture:
        """The map with the site in hand; each tap keeps the gauge."""
        return picture_of(self.page, telling.reader(), keep={"gauge_mm": f"{self.gauge_mm:g}"})


def _bare(size_mm: float) -> str:
    """Return a size in the reader's unit without naming it: the legend above the keys does."""
    return telling.reader().length(size_mm).split()[0]


@renders("undercuts")
def undercuts(page: StepPage) -> str:
    """Render the step of undercuts."""
    if page.case.now is None:
        return render_template("steps/undercuts.html", page=page, view=None)
    view = Gauging(page)
    return render_template(
        "steps/undercuts.html", page=page, view=view, picture=view.picture, contacts=CONTACTS
    )
