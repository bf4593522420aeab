"""The step of interferences: none seen in one tap, or what stands in the way, where, and taken back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from flask import render_template, request, url_for

from bench.core.case import Reading
from bench.core.claims import LOOKED
from bench.core.entries import InterferenceNoted, InterferencesLooked
from bench.core.entries.vocabulary import NATURES
from bench.web import telling
from bench.web.archmap import MapPicture
from bench.web.castmap import picture_of, tooth_of
from bench.web.placemap import PlaceShape, place_shapes, places_of
from bench.web.steps import StepPage, renders

EDGE_MM, ROOM_MM = 0.6, (3.4, 8.6)


@dataclass(frozen=True)
class InterferencesView:
    """What the page of interferences shows besides its frame."""

    page: StepPage
    asked: Mapping[str, str]

    @property
    def noted(self) -> tuple[Reading[InterferenceNoted], ...]:
        """Every interference noted that counts, present ones first."""
        readings = self.page.case.readings(InterferenceNoted)
        found = [reading for claim, reading in readings.items() if claim != LOOKED]
        return tuple(sorted(found, key=lambda reading: (reading.stale, reading.entry.id)))

    @property
    def here(self) -> bool:
        """Whether an interference stands noted at the present setting."""
        return any(reading.current for reading in self.noted)

    @property
    def none_seen(self) -> Reading[InterferencesLooked] | None:
        """The statement that none was seen, None when nobody made it."""
        return self.page.case.readings(InterferencesLooked).get(LOOKED)

    @property
    def none_stands(self) -> tuple[str, ...]:
        """What a note has to supersede: the statement of the present setting that none was seen."""
        found = self.none_seen
        return found.seen if found is not None and found.current else ()

    @property
    def place(self) -> str | None:
        """The place tapped or typed."""
        return str(self.page.typed("place", self.asked.get("place", ""))) or None

    @property
    def nature(self) -> str | None:
        """The nature typed; a tooth tapped on the map is thought to lean."""
        typed = str(self.page.typed("nature", self.asked.get("nature", "")))
        return typed or ("leaning_tooth" if self.tooth else None)

    @property
    def remark(self) -> str:
        """The remark typed before a place was tapped."""
        return self.asked.get("remark", "") if self.page.announced is None else ""

    @property
    def tooth(self) -> int | None:
        """The tooth tapped; none once a note was made."""
        return tooth_of(self.page) if self.page.announced is None else None

    @property
    def noting(self) -> bool:
        """Whether a note is being made, so that its form comes before the list."""
        return self.place is not None or self.tooth is not None

    @property
    def places(self) -> list[tuple[str, str]]:
        """The places of this cast as keys."""
        say = telling.reader().choice
        return [(place, say("place", place)) for place in places_of(self.page.survey.model)]

    @property
    def natures(self) -> list[tuple[str, str]]:
        """The natures as keys."""
        return [(nature, telling.reader().choice("nature", nature)) for nature in NATURES]

    @property
    def shapes(self) -> tuple[PlaceShape, ...]:
        """The places as areas to tap."""
        return place_shapes(self.page.survey.model, self.picture.width / 2 - EDGE_MM)

    @property
    def taken(self) -> Mapping[str, str]:
        """For each place with a note its state: noted here, or stale."""
        return {r.body.place: "stale" if r.stale else "stopped" for r in reversed(self.noted)}

    @property
    def picture(self) -> MapPicture:
        """The arch map; a tap on a tooth keeps the place chosen."""
        keep = {"place": self.place} if self.place else {}
        return picture_of(
            self.page, telling.reader(), keep=keep, href=self._tooth_href, room_mm=ROOM_MM
        )

    def _tooth_href(self, tooth: int, surface: str | None) -> str:
        chosen = None if tooth == self.tooth or tooth not in self.page.case.present else tooth
        return self.href(self.place, chosen)

    def href(self, place: str | None, tooth: int | None = None) -> str:
        """Return the address of this step with a place and a tooth chosen."""
        return url_for(
            "steps.step_page", code=self.page.code, step="interferences", place=place, tooth=tooth
        )

    def words(self, reading: Reading[InterferenceNoted]) -> str:
        """Return a note in a few words: nature and tooth."""
        body, reader = reading.body, telling.reader()
        nature = reader.choice("nature", body.nature)
        if body.tooth is None:
            return nature
        return reader.say("interferences.at_tooth", nature=nature, tooth=reader.tooth(body.tooth))


@renders("interferences")
def interferences(page: StepPage) -> str:
    """Render the page of interferences."""
    view = InterferencesView(page, request.args) if page.case.now else None
    return render_template("steps/interferences.html", page=page, view=view)
