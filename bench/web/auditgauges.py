"""What the page of gauge agreement shows: who agrees with whom on the same undercut."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from bench.core.agreement import Agreement
from bench.core.audit.gauges import Cell, Pairs, cells_of, pairs_of, pooled
from bench.core.enough import Shortage
from bench.web.auditlines import shortages
from bench.web.auditview import View
from bench.web.personfigures import audit
from bench.words.reader import Reader

MOST_PAIRS = 60


@dataclass(frozen=True)
class CellLine:
    """The agreement of a couple in words, and the pairs to look up."""

    cell: Cell
    name: str
    raw: str
    kappa: str
    ac1: str
    missing: str


class GaugesView(View):
    """Gauge agreement of what is asked for."""

    @cached_property
    def pairs(self) -> Pairs:
        """The pairs of readings by who read first and second; of one person, theirs alone."""
        found = pairs_of(audit().gauges(self.selection))
        asked = self.asked.person
        return {names: made for names, made in found.items() if not asked or asked in names}

    @cached_property
    def together(self) -> list[CellLine]:
        """The agreement of any two persons, and of all with themselves."""
        return [
            cell_line(pooled(self.pairs, own=own), self.reader.say(f"audit.gauges.{key}"), self.reader)
            for key, own in (("between", False), ("own", True))
        ]  # fmt: skip

    @cached_property
    def couples(self) -> list[CellLine]:
        """The agreement of each couple; nobody's while single persons are not shown."""
        if not self.people.shown:
            return []
        return [
            cell_line(cell, _named(cell, self.reader), self.reader) for cell in cells_of(self.pairs)
        ]

    @cached_property
    def names(self) -> list[str]:
        """Everybody in a couple, in alphabetical order."""
        return sorted({name for line in self.couples for name in (line.cell.one, line.cell.other)})

    def between(self, one: str, other: str) -> CellLine | None:
        """Return the line of a couple, None where they share no site."""
        wanted = tuple(sorted((one, other)))
        found = (line for line in self.couples if (line.cell.one, line.cell.other) == wanted)
        return next(found, None)

    def newest_of(self, line: CellLine) -> tuple[tuple[str, str], ...]:
        """Return the pairs of a couple that its list shows."""
        return newest(line.cell)

    @cached_property
    def cases(self) -> dict[str, str]:
        """The cases of the entries shown, by entry."""
        lines = [*self.together, *self.couples]
        ids = {key for line in lines for pair in newest(line.cell) for key in pair}
        return audit().cases_of([*ids, *self.calipers.entries[:MOST_PAIRS]])


def newest(cell: Cell) -> tuple[tuple[str, str], ...]:
    """Return the pairs of a couple that its list shows: the newest."""
    return cell.entries[-MOST_PAIRS:]


def cell_line(cell: Cell, name: str, reader: Reader) -> CellLine:
    """Return a couple in words."""
    missing: tuple[Shortage, ...] = cell.kappa.missing
    return CellLine(
        cell, name, _raw(cell, reader), _coefficient(cell.kappa, reader), _coefficient(cell.ac1, reader),
        shortages(missing, reader),
    )  # fmt: skip


def _named(cell: Cell, reader: Reader) -> str:
    if cell.one == cell.other:
        return reader.say("audit.gauges.with_self", one=cell.one)
    return reader.say("audit.gauges.two", one=cell.one, other=cell.other)


def _raw(cell: Cell, reader: Reader) -> str:
    raw = cell.raw
    if raw.interval is None:
        return reader.say("audit.gauges.count", agreeing=raw.agreeing, count=raw.subjects)
    low, high = (reader.number(100 * end, 0) for end in raw.interval)
    return reader.say("audit.inside", agreeing=raw.agreeing, count=raw.subjects, low=low, high=high)


def _coefficient(found: Agreement, reader: Reader) -> str:
    if found.missing:
        return ""
    if found.value is None:
        return reader.say("audit.gauges.undefined")
    value = reader.number(found.value, 2)
    if found.interval is None:
        return value
    low, high = (reader.number(end, 2) for end in found.interval)
    return reader.say(
        "audit.figure", value=value, range=reader.say("audit.range", low=low, high=high)
    )
