"""What is said of drills: readings repeated on purpose, to learn how well the lab repeats them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bench.core import bounds
from bench.core.bounds import BadEntry
from bench.core.entries import vocabulary as v
from bench.core.surfaces import site_from
from bench.core.tripod import TripodRefused, triangle_from

MOST_CASTS = MOST_TECHNICIANS = 12
MOST_REPEATS = 10
LARGEST_SEED = 2**32 - 1
VALUES: dict[str, int] = {"undercut": 0, "tripod_heights": 3, "distance": 1}


@dataclass(frozen=True, slots=True)
class DrillPlanned:
    """A supervisor plans casts by technicians by repeats of one reading; the seed fixes the order.

    `sites` and `gauge_mm` belong to undercuts, a site for each cast; `distances_mm` to heights on
    tripod marks: A to B, A to C and B to C of each cast.
    """

    reads: str
    casts: tuple[str, ...]
    technicians: tuple[str, ...]
    repeats: int
    seed: int
    sites: tuple[str, ...] = ()
    gauge_mm: float | None = None
    distances_mm: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        bounds.one_of("reads", self.reads, v.READS)
        _named("casts", self.casts, MOST_CASTS)
        _named("technicians", self.technicians, MOST_TECHNICIANS)
        for initials in self.technicians:
            bounds.pattern("technicians", initials, r"[A-Z]{2,4}[0-9]?", "bad_initials")
        bounds.within("repeats", self.repeats, 1, MOST_REPEATS, "")
        bounds.within("seed", self.seed, 0, LARGEST_SEED, "")
        bounds.within("gauge_mm", self.gauge_mm, 0.05, 1.5, "mm")
        self._site_of_each_cast()
        self._triangle_of_each_cast()

    def _site_of_each_cast(self) -> None:
        wanted = len(self.casts) if self.reads == "undercut" else 0
        if len(self.sites) != wanted:
            raise BadEntry("sites", "one_of_each_cast", count=wanted)
        for site in self.sites:
            try:
                site_from(site)
            except ValueError:
                raise BadEntry("sites", "no_such_site", value=site) from None
        if self.reads == "undercut" and self.gauge_mm is None:
            raise BadEntry("gauge_mm", "missing")

    def _triangle_of_each_cast(self) -> None:
        wanted = 3 * len(self.casts) if self.reads == "tripod_heights" else 0
        if len(self.distances_mm) != wanted:
            raise BadEntry("distances_mm", "three_of_each_cast", count=wanted)
        for length_mm in self.distances_mm:
            bounds.within("distances_mm", length_mm, 3.0, 120.0, "mm")
        for first in range(0, wanted, 3):
            d_ab_mm, d_ac_mm, d_bc_mm = self.distances_mm[first : first + 3]
            try:
                triangle_from(d_ab_mm, d_ac_mm, d_bc_mm)
            except TripodRefused as refused:
                raise BadEntry("distances_mm", refused.code, **refused.params) from refused


@dataclass(frozen=True, slots=True)
class DrillReading:
    """One reading of a drill, blind to the earlier ones.

    `turn` counts from 1 in the order the plan makes for this technician; `values_mm` are the three
    heights on A, B and C or the one distance, `contact` what the gauge told.
    """

    drill: str
    turn: int
    cast: str
    contact: str = ""
    values_mm: tuple[float, ...] = ()
    instrument: str = ""

    def __post_init__(self) -> None:
        bounds.entry_id("drill", self.drill)
        bounds.within("turn", self.turn, 1, MOST_CASTS * MOST_REPEATS, "")
        bounds.text("cast", self.cast, least=1, most=40)
        if self.contact:
            bounds.one_of("contact", self.contact, v.CONTACTS)
        if len(self.values_mm) > max(VALUES.values()):
            raise BadEntry("values_mm", "too_long", most=max(VALUES.values()))
        for value_mm in self.values_mm:
            bounds.within("values_mm", value_mm, -50.0, 200.0, "mm")
        bounds.text("instrument", self.instrument, most=16)


@dataclass(frozen=True, slots=True)
class DrillClosed:
    """A supervisor closes a drill, complete or not: no more readings are taken for it."""

    drill: str
    remark: str = ""

    def __post_init__(self) -> None:
        bounds.entry_id("drill", self.drill)
        bounds.text("remark", self.remark)


def _named(field: str, values: Iterable[str], most: int) -> None:
    """Refuse a list of names that is empty or too long, or names one twice."""
    seen: set[str] = set()
    for value in values:
        bounds.text(field, value, least=1, most=40)
        if value in seen:
            raise BadEntry(field, "named_twice", value=value)
        seen.add(value)
    bounds.within(field, len(seen), 1, most, "")
