"""The lab's own SD of a reading, as the log holds it up to an entry: one figure for pages, rules and board."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from bench.core.backagain import fourth_of, residual_mm
from bench.core.case import fold
from bench.core.drillresults import readings_in_order
from bench.core.drills import drills_from
from bench.core.entries import DrillReading, Entry, Remounted
from bench.core.lab import Lab
from bench.core.readingsd import ReadingSd, Residual, reading_sd
from bench.core.survey import Survey

if TYPE_CHECKING:
    from bench.store.reading import Reading

DRILLS = ("drill_planned", "drill_reading", "drill_closed")
FOUR_MARKS = ("fourth_mark_made",)


class OwnReading:
    """Works the figure out; of the cases only those are read anew to which something was added."""

    def __init__(self, log: Reading) -> None:
        self._log = log
        self._kept: dict[str, tuple[int, tuple[Residual, ...]]] = {}

    def up_to(self, position: int, lab: Lab) -> ReadingSd:
        """Return the SD that everything recorded up to a position gives, else the policy's.

        Bounded by a position, the same log gives the same figure whenever it is asked.
        """
        policy_mm = lab.policy.number("reading_sd_mm")
        repeats = repeats_in(self._log.of_kinds(*DRILLS, until=position))
        held = self._log.newest_with(*FOUR_MARKS, until=position)
        residuals = [one for code, at in held.items() for one in self._residuals(code, at, lab)]
        return reading_sd(policy_mm, repeats, residuals)

    def _residuals(self, code: str, position: int, lab: Lab) -> tuple[Residual, ...]:
        kept = self._kept.get(code)
        if kept is None or kept[0] != position:
            entries = self._log.entries_of(code, until=position)
            kept = (position, tuple(_residuals(Survey(fold(code, entries), lab))))
            self._kept = {**self._kept, code: kept}
        return kept[1]


def repeats_in(entries: Iterable[Entry]) -> list[list[float]]:
    """Return the distances that drills repeated, those of one drill, person and cast together."""
    repeats: defaultdict[tuple[str, str, str], list[float]] = defaultdict(list)
    for drill in drills_from(entries).values():
        if drill.plan.reads == "distance":
            for entry in readings_in_order(drill):
                assert isinstance(entry.body, DrillReading)
                repeats[drill.id, entry.person, entry.body.cast] += entry.body.values_mm
    return list(repeats.values())


def _residuals(survey: Survey) -> Iterator[Residual]:
    """Yield what each re-mount of four marks left about its plane."""
    fourth, tripod = fourth_of(survey), survey.tripod
    for said in survey.case.said(Remounted):
        if fourth and tripod and len(said.body.heights_mm) == 4:
            yield Residual(residual_mm(tripod.body, said.body.heights_mm, fourth), 1)
