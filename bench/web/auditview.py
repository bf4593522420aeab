"""What the audit's overview shows: the groups, their signals and plots, and who may see single persons."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

from flask import url_for

from bench.core.audit.calipers import CaliperSpread, caliper_spread
from bench.core.audit.samples import Remount
from bench.core.audit.selection import Selection, Side
from bench.core.audit.signals import AuditSignal, By, Group, acknowledgement, signals_of
from bench.core.audit.spread import Spread, components_by, spread_of
from bench.core.audit.sums import Sums
from bench.core.audit.watching import WINDOW, Watched, watch
from bench.core.entries import Entry
from bench.core.instruments import due_list
from bench.store.log import iso
from bench.web import auditplots as plots
from bench.web import book, clock, telling
from bench.web.auditasked import UNNAMED, AuditAsked
from bench.web.auditlines import (
    Line,
    calipers_in_words,
    components_in_words,
    fine,
    line_of,
    precision_in_words,
)
from bench.web.personfigures import People, audit

SHOWN_IN_CHART, SHOWN_AROUND = 60, 120
MOST_CASTS = 12
_ADDRESSED = {"technician": "person", "surveyor": "surveyor", "method": "method", "cast": "cast"}
Cells = Mapping[tuple[str, ...], Sums]


@dataclass(frozen=True)
class Signalled:
    """A signal with the entry that acknowledges it, if any."""

    signal: AuditSignal
    acknowledged: Entry | None


class View:
    """Everything the overview shows of what is asked for."""

    def __init__(self, asked: AuditAsked) -> None:
        self.lab = book.lab()
        self.people = People(asked.person, self.lab)
        # Of one person nothing is shown before the look is logged: not even to somebody who
        # writes the initials into the address.
        self.hidden_person = "" if self.people.shown else asked.person
        self.asked = asked if self.people.shown else replace(asked, person="")
        self.tolerance_deg = self.lab.policy.number("remount_tolerance_deg")
        self.reader = telling.reader()
        self._spreads: dict[Side, dict[str, Spread]] = {}

    @property
    def selection(self) -> Selection:
        """The re-mounts behind every figure of the page."""
        return self.asked.selection

    @cached_property
    def cells(self) -> Cells:
        """The sums by technician, surveyor and method: what all groups but casts are joined from."""
        sides: tuple[Side, ...] = ("technician", "surveyor", "method")
        return audit().once(
            ("cells", self.selection), lambda: audit().cells(self.selection, *sides)
        )

    @cached_property
    def whole(self) -> Spread:
        """The figures of everything asked for."""
        by_technician: defaultdict[str, Sums] = defaultdict(Sums)
        for (technician, _, _), sums in self.cells.items():
            by_technician[technician] += sums
        return spread_of(by_technician, self.tolerance_deg)

    def spreads(self, side: Side) -> dict[str, Spread]:
        """Return the figures of each technician, surveyor or method, by name."""
        if side not in self._spreads:
            groups = _grouped(self.cells, ("technician", "surveyor", "method").index(side))
            self._spreads[side] = {
                name: spread_of(groups[name], self.tolerance_deg) for name in sorted(groups)
            }
        return self._spreads[side]

    def lines(self, side: Side) -> list[Line]:
        """Return the figures of each group of a side in words, in alphabetical order."""
        return [
            line_of(f"{side}-{name or UNNAMED}", self.name_of(side, name), self.href(side, name), one, self.reader)
            for name, one in self.spreads(side).items()
        ]  # fmt: skip

    @cached_property
    def casts(self) -> list[Line]:
        """The casts put back most often, in words."""
        cells = audit().once(("casts", self.selection), self._casts)
        groups = _grouped(cells, 0, by=1)
        return [
            line_of(code, code, self.href("cast", code), spread_of(groups[code], self.tolerance_deg), self.reader)
            for code in groups
        ]  # fmt: skip

    def name_of(self, side: Side, name: str) -> str:
        """Return a group's name as it is shown."""
        if side == "method":
            return self.reader.choice("method", name)
        return name or self.reader.say("audit.unnamed_surveyor")

    def href(self, side: Side, name: str) -> str:
        """Return the address of the entries behind a group's figures."""
        return self.asked.href("audit.entries", **{_ADDRESSED[side]: name or UNNAMED})

    @cached_property
    def whole_line(self) -> Line:
        """The figures of everything in words."""
        return line_of("whole", "", "", self.whole, self.reader)

    @property
    def whole_pairs(self) -> list[tuple[str, str]]:
        """The same as pairs of label and words; what is missing is left out."""
        line = self.whole_line
        shown = (
            ("count", line.count), ("inside", line.inside), ("mean", line.mean),
            ("spread", line.spread_words), ("against", line.against), ("between", line.between),
            ("verdict", line.verdict),
        )  # fmt: skip
        return [(self.reader.say(f"audit.column.{name}"), words) for name, words in shown if words]

    @property
    def mean_words(self) -> str:
        """The mean of everything as a sentence, '' for too few."""
        mean = self.whole_line.mean
        return self.reader.say("audit.plot.mean", mean=mean) if mean else ""

    @property
    def cone_words(self) -> str:
        """The cone around that mean as a sentence, '' for too few."""
        cone = self.whole.directions.cone_deg
        if cone is None or not self.whole_line.mean:
            return ""
        return self.reader.say("audit.plot.cone", cone=fine(cone, self.reader))

    def off_words(self, one: Remount) -> str:
        """Return what was off along both axes."""
        ap, lat = (fine(value, self.reader) for value in (one.ap_deg, one.lat_deg))
        return self.reader.say("audit.both_axes", ap=ap, lat=lat)

    def total_words(self, one: Remount) -> str:
        """Return what was off in all, with as many decimals as every other in its column."""
        return fine(one.total_deg, self.reader)

    @property
    def caliper_pairs(self) -> list[tuple[str, str]]:
        """How well caliper distances repeat, in words."""
        return calipers_in_words(self.calipers, self.reader)

    @property
    def precision(self) -> list[tuple[str, list[tuple[str, str]]]]:
        """Precision along both axes, by the axis' key."""
        found = self.whole
        return [
            (axis, precision_in_words(one, self.reader))
            for axis, one in (("ap", found.ap), ("lat", found.lat))
        ]

    @property
    def parts(self) -> list[tuple[str, list[tuple[str, str]]]]:
        """Where the spread comes from along both axes, by the axis' key."""
        cells: defaultdict[tuple[str, str], Sums] = defaultdict(Sums)
        for (technician, surveyor, _), sums in self.cells.items():
            cells[surveyor, technician] += sums
        return [
            (axis, components_in_words(components_by(cells, axis), self.reader))
            for axis in ("ap", "lat")
        ]

    @cached_property
    def newest(self) -> list[Remount]:
        """The newest re-mounts asked for, oldest of them first."""
        return audit().newest(self.selection, SHOWN_AROUND)

    @cached_property
    def chart(self) -> plots.ChartPicture:
        """The sizes of the newest re-mounts in order."""
        shown = self.newest[-SHOWN_IN_CHART:]
        return plots.chart_picture(shown, watch(shown), self.tolerance_deg)

    @property
    def around(self) -> plots.DirectionPicture:
        """Where the newest re-mounts came to lie around the record, and the mean of all with its cone."""
        return plots.direction_picture(self.newest, self.whole, self.tolerance_deg)

    def dots(self, lines: list[Line]) -> plots.DotPicture:
        """Return the limits of groups with their intervals."""
        return plots.dot_picture(lines, self.tolerance_deg)

    @cached_property
    def watched(self) -> dict[Group, Watched]:
        """The newest re-mounts of each surveyor and technician asked for, with their charts."""
        return {
            **{("surveyor", name): self._watch(replace(self.selection, surveyor=name))
               for name in self.spreads("surveyor")},
            **{("technician", name): self._watch(replace(self.selection, technician=name))
               for name in self.spreads("technician")},
        }  # fmt: skip

    def _watch(self, selection: Selection) -> Watched:
        return audit().once(("watched", selection), lambda: _watched(selection))

    def _casts(self) -> Cells:
        most = audit().busiest_casts(self.selection, MOST_CASTS)
        return audit().cells_of_casts(self.selection, most)

    @cached_property
    def every_signal(self) -> tuple[AuditSignal, ...]:
        """The signals of what is asked for, those of single persons too."""
        spreads: dict[Group, Spread] = {("whole", ""): self.whole}
        sides: tuple[Side, ...] = ("surveyor", "technician")
        for side in sides:
            spreads |= {(_AS_GROUP[side], name): one for name, one in self.spreads(side).items()}
        due = due_list(self.lab, iso(clock.now_ms()))
        return signals_of(self.watched, spreads, due, self.lab.policy)

    @cached_property
    def signals(self) -> list[Signalled]:
        """The signals that may be shown now, with what acknowledges them."""
        said = audit().said_beside("signal_acknowledged", 500)
        return [
            Signalled(one, acknowledgement(one, said))
            for one in self.every_signal if self.people.shown or not one.of_a_person
        ]  # fmt: skip

    @property
    def signals_kept_back(self) -> int:
        """How many signals speak of one person and are not shown now."""
        shown = {one.signal.key for one in self.signals}
        return sum(1 for one in self.every_signal if one.key not in shown)

    def signal_href(self, signal: AuditSignal) -> str:
        """Return where the entries behind a signal are."""
        if signal.by == "instrument":
            return url_for("trails.instrument", tag=signal.of)
        if signal.by == "whole":
            return self.asked.href("audit.entries")
        return self.href(signal.by, signal.of)

    @property
    def judged(self) -> int:
        """How many re-mounts the charts watch."""
        return sum(max(0, run.judged) for run in self.watched.values() if not run.missing)

    @property
    def false_alarms(self) -> float:
        """How many signals chance alone would give among the charts watched."""
        return sum(run.false_alarms_expected for run in self.watched.values())

    @cached_property
    def calipers(self) -> CaliperSpread:
        """How well caliper distances repeat."""
        return caliper_spread(audit().calipers(self.selection))


def _watched(selection: Selection) -> Watched:
    """Return a run with its charts; one that no new re-mount belongs to is not charted anew."""
    return _charted(tuple(audit().newest(selection, WINDOW)))


@lru_cache(maxsize=64)
def _charted(run: tuple[Remount, ...]) -> Watched:
    return watch(run)


_AS_GROUP: dict[Side, By] = {
    "surveyor": "surveyor", "technician": "technician",
}  # fmt: skip


def _grouped(cells: Cells, place: int, by: int = 0) -> dict[str, dict[str, Sums]]:
    """Return the sums by the name at one place of the cells' keys, and in it by technician."""
    groups: defaultdict[str, defaultdict[str, Sums]] = defaultdict(lambda: defaultdict(Sums))
    for key, sums in cells.items():
        groups[key[place]][key[by]] += sums
    return {name: dict(found) for name, found in groups.items()}
