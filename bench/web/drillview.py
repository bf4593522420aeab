"""What the page of a drill and its exports show: to whom, under which names, and of which readings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from flask import url_for

from bench.core.drillresults import Results, readings_in_order, results_of
from bench.core.drills import Drill
from bench.core.entries import DrillReading, Entry
from bench.core.lab import Person
from bench.web import book
from bench.web.personfigures import People


@dataclass(frozen=True)
class Shown:
    """A drill for the person who asks; `asked` holds the address's cast and person, '' for all.

    Whoever still has readings to take sees how far the drill is and none of its figures, and a
    technician sees none before it is closed. Names stand beside figures only after a logged look;
    one's own readings carry one's own name.
    """

    drill: Drill
    me: Person
    asked: Mapping[str, str]

    @property
    def blind(self) -> bool:
        """Whether figures are kept back so that no reading is taken with another in mind."""
        supervisor = self.me.role == "supervisor"
        return not self.drill.closed and (
            not supervisor or self.drill.next_turn(self.me.initials) is not None
        )

    @property
    def cast(self) -> str:
        """The cast asked for, '' for all."""
        return self._known("cast", self.drill.plan.casts)

    @property
    def wanted_person(self) -> str:
        """The technician named in the address, '' for all."""
        return self._known("person", self.drill.plan.technicians)

    def _known(self, name: str, known: tuple[str, ...]) -> str:
        asked = self.asked.get(name, "")
        return asked if asked in known else ""

    @cached_property
    def people(self) -> People:
        """Whether figures by name may be shown."""
        return People(self.wanted_person, book.lab())

    @property
    def person(self) -> str:
        """The technician whose readings are listed, '' for all; nobody's without the look."""
        wanted = self.wanted_person
        return wanted if self.people.shown or wanted == self.me.initials else ""

    @property
    def hidden_person(self) -> str:
        """The technician asked for whose figures are kept back, '' for none."""
        return self.wanted_person if self.wanted_person != self.person else ""

    def named(self, initials: str) -> bool:
        """Say whether somebody's name may stand beside their figures."""
        return self.people.shown or initials == self.me.initials

    @property
    def names(self) -> list[str]:
        """The technicians whose names may stand beside their figures."""
        return [name for name in self.drill.plan.technicians if self.named(name)]

    @cached_property
    def results(self) -> Results:
        """The figures of the whole drill."""
        return results_of(self.drill)

    @cached_property
    def readings(self) -> list[Entry]:
        """The readings asked for: by name in the order each was taken, else by cast alone."""
        found = [
            entry for entry in readings_in_order(self.drill)
            if self.person in ("", entry.person) and self.cast in ("", self.cast_of(entry))
        ]  # fmt: skip
        return found if self.people.shown else sorted(found, key=self._nameless)

    def _nameless(self, entry: Entry) -> tuple[int, str]:
        """The order tells nothing of whose readings belong together: an id ends as if drawn by lot."""
        casts = self.drill.plan.casts
        cast = self.cast_of(entry)
        return casts.index(cast) if cast in casts else len(casts), entry.id[::-1]

    @staticmethod
    def cast_of(entry: Entry) -> str:
        """Return the cast a reading was taken of."""
        assert isinstance(entry.body, DrillReading)
        return entry.body.cast

    @property
    def listing(self) -> bool:
        """Whether the list of readings stands open: something of it was asked for."""
        return bool({"cast", "person"} & self.asked.keys())

    def ids_of(self, cast: str = "", person: str = "") -> list[str]:
        """Return the ids of the readings of a cast and person, '' for all."""
        return [
            entry.id for entry in readings_in_order(self.drill)
            if cast in ("", self.cast_of(entry)) and person in ("", entry.person)
        ]  # fmt: skip

    def href(self, endpoint: str = "drills.results", **asked: str) -> str:
        """Return an address of this drill that asks for some readings of it."""
        return url_for(endpoint, drill=self.drill.id, **asked)  # type: ignore[arg-type]

    def behind(self, cast: str = "", person: str = "") -> str:
        """Return the address of the readings behind a figure."""
        return f"{self.href(cast=cast, person=person)}#readings"

    def same(self, endpoint: str) -> str:
        """Return an address that asks for the same readings as this page."""
        kept = {"cast": self.cast, "person": self.wanted_person}
        return self.href(endpoint, **{name: value for name, value in kept.items() if value})
