"""Whether people read the same undercut: pairs of readings, their table, and their agreement."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from bench.core.agreement import (
    Agreement,
    Raw,
    cohen,
    gwet,
    raw_agreement,
    readers_as_counts,
)
from bench.core.audit.samples import GaugeReading
from bench.core.entries.vocabulary import CONTACTS

Pair = tuple[GaugeReading, GaugeReading]
Pairs = Mapping[tuple[str, str], Sequence[Pair]]
ANYBODY = "*"


@dataclass(frozen=True)
class Cell:
    """How two people, or one person twice, agree on the sites both read at one setting.

    `table` counts pairs by the first reader's and the second's finding, in the order of CONTACTS;
    `entries` holds both ids of each pair.
    """

    one: str
    other: str
    table: tuple[tuple[int, ...], ...]
    raw: Raw
    kappa: Agreement
    ac1: Agreement
    entries: tuple[tuple[str, str], ...]

    @property
    def pairs(self) -> int:
        """How many sites were compared."""
        return len(self.entries)


def pairs_of(readings: Iterable[GaugeReading]) -> dict[tuple[str, str], list[Pair]]:
    """Return the pairs by who read first and second, in alphabetical order of the two.

    Each person's first reading of a site is held against each other person's first, and against
    their own second.
    """
    by_subject: defaultdict[object, defaultdict[str, list[GaugeReading]]]
    by_subject = defaultdict(lambda: defaultdict(list))
    for reading in sorted(readings, key=lambda one: one.entry):
        by_subject[reading.subject][reading.person].append(reading)
    found: defaultdict[tuple[str, str], list[Pair]] = defaultdict(list)
    for people in by_subject.values():
        for names, pair in _pairs(people):
            found[names].append(pair)
    return dict(sorted(found.items()))


def _pairs(people: Mapping[str, list[GaugeReading]]) -> list[tuple[tuple[str, str], Pair]]:
    own = [((p, p), (read[0], read[1])) for p, read in people.items() if len(read) > 1]
    two = [
        ((a, b), (people[a][0], people[b][0]))
        for a in sorted(people)
        for b in sorted(people)
        if a < b
    ]
    return own + two


def cells_of(pairs: Pairs) -> list[Cell]:
    """Return the agreement of each couple that has pairs."""
    return [cell_of(one, other, made) for (one, other), made in pairs.items()]


def pooled(pairs: Pairs, *, own: bool) -> Cell:
    """Return the agreement of all couples together: of each with themself (`own`), or of two."""
    made = [pair for (a, b), couple in pairs.items() if (a == b) is own for pair in couple]
    return cell_of(ANYBODY, ANYBODY, made)


def cell_of(one: str, other: str, made: Sequence[Pair]) -> Cell:
    """Return the agreement of pairs of readings."""
    table = tuple(
        tuple(
            sum(1 for a, b in made if (a.contact, b.contact) == (row, column))
            for column in CONTACTS
        )
        for row in CONTACTS
    )
    agreeing = sum(table[i][i] for i in range(len(CONTACTS)))
    counts = readers_as_counts(table)
    return Cell(
        one, other, table, raw_agreement(agreeing, len(made)), cohen(table), gwet(counts),
        tuple((a.entry, b.entry) for a, b in made),
    )  # fmt: skip
