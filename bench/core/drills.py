"""Drills: readings planned to be repeated, the order in which each technician takes them, and how far each came."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from hashlib import sha256

from bench.core.bounds import BadEntry
from bench.core.entries import Draft, DrillClosed, DrillPlanned, DrillReading, Entry
from bench.core.entries.drills import VALUES
from bench.core.lab import Lab
from bench.core.standing import put_aside

DRILL_KINDS = (DrillPlanned, DrillReading, DrillClosed)


@dataclass(frozen=True, slots=True)
class Turn:
    """One reading to be taken: its place in a technician's order (from 1), the cast, which repeat of it."""

    number: int
    cast: str
    repeat: int


@dataclass(frozen=True, slots=True)
class Uncounted:
    """A reading that does not count, and why.

    Codes: `not_your_turn`, `said_meanwhile`, `drill_closed`, `not_whole_reading`.
    """

    entry: Entry
    code: str


@dataclass(frozen=True)
class Drill:
    """A plan with what was read for it so far. Built by `drills_from`.

    `read` holds the standing readings of each technician by turn; `closed` the entry that closed it;
    `uncounted` the readings that came for it and do not count.
    """

    entry: Entry
    plan: DrillPlanned
    read: Mapping[str, Mapping[int, Entry]] = field(default_factory=dict)
    closed: Entry | None = None
    uncounted: tuple[Uncounted, ...] = ()

    @property
    def id(self) -> str:
        """The id of the plan: readings name it."""
        return self.entry.id

    @property
    def each(self) -> int:
        """How many readings the plan asks of each technician."""
        return len(self.plan.casts) * self.plan.repeats

    @property
    def wanted(self) -> int:
        """How many readings the plan asks for in all."""
        return self.each * len(self.plan.technicians)

    def taken_by(self, technician: str) -> int:
        """Return how many readings a technician has taken."""
        return len(self.read.get(technician, {}))

    @property
    def taken(self) -> int:
        """How many readings were taken in all."""
        return sum(map(self.taken_by, self.plan.technicians))

    @property
    def complete(self) -> bool:
        """Whether every reading was taken."""
        return self.taken >= self.wanted

    def next_turn(self, technician: str) -> Turn | None:
        """Return the first turn a technician has not read yet; None when closed, done or not theirs."""
        if self.closed or technician not in self.plan.technicians:
            return None
        done = self.read.get(technician, {})
        return next((t for t in order_of(self.plan, technician) if t.number not in done), None)

    def last_of(self, technician: str) -> Entry | None:
        """Return the reading a technician took last, or None."""
        done = self.read.get(technician, {}).values()
        return max(done, key=lambda entry: entry.id, default=None)


@lru_cache(maxsize=1024)
def order_of(plan: DrillPlanned, technician: str) -> tuple[Turn, ...]:
    """Return the order in which a technician takes the readings of a plan.

    Every cast comes once before any comes again, so that a drill broken off is as even as can be;
    within each such round the order is random, the same for the same seed, and no cast is read
    twice running where there are three or more. The order is by SHA-256 of seed, technician,
    repeat and cast, which any machine works out alike.
    """
    casts: list[tuple[str, int]] = []
    for repeat in range(1, plan.repeats + 1):
        drawn = sorted(plan.casts, key=lambda cast: _lot(plan.seed, technician, repeat, cast))
        if len(drawn) > 2 and casts and casts[-1][0] == drawn[0]:
            drawn[:2] = drawn[1], drawn[0]
        casts += [(cast, repeat) for cast in drawn]
    return tuple(Turn(place, cast, repeat) for place, (cast, repeat) in enumerate(casts, start=1))


def _lot(seed: int, technician: str, repeat: int, cast: str) -> bytes:
    return sha256(f"{seed}\n{technician}\n{repeat}\n{cast}".encode()).digest()


def drills_from(entries: Iterable[Entry]) -> dict[str, Drill]:
    """Return the drills that a set of entries makes, by their ids, in order; other kinds are left out.

    A reading counts that was its technician's turn and was taken before the drill was closed. Of two
    of one turn the earlier counts, so that a repeat sent twice changes nothing. What tablets send is
    not judged when it arrives: a reading that does not count stays beside those that do.
    """
    ordered = sorted(
        {e.id: e for e in entries if isinstance(e.body, DRILL_KINDS)}.values(), key=lambda e: e.id
    )
    plans = {entry.id: entry for entry in ordered if isinstance(entry.body, DrillPlanned)}
    closed: dict[str, Entry] = {}
    taken: dict[str, list[Entry]] = {key: [] for key in plans}
    for entry in ordered:
        if isinstance(entry.body, DrillClosed) and entry.body.drill in plans:
            closed.setdefault(entry.body.drill, entry)
        elif isinstance(entry.body, DrillReading) and entry.body.drill in plans:
            taken[entry.body.drill].append(entry)
    return {key: _drill(plan, taken[key], closed.get(key)) for key, plan in plans.items()}


def _drill(entry: Entry, taken: Sequence[Entry], closed: Entry | None) -> Drill:
    assert isinstance(entry.body, DrillPlanned)
    plan = entry.body
    readers = {one.person for one in taken} & set(plan.technicians)
    orders = {name: _casts(plan, name) for name in readers}
    why = {one.id: _unfit(one, plan, orders, closed) for one in taken}
    fit = [one for one in taken if not why[one.id]]
    replaced = _replaced(fit)
    read: dict[str, dict[int, Entry]] = {}
    for one in fit:
        held = (
            None
            if one.id in replaced
            else read.setdefault(one.person, {}).setdefault(turn_of(one), one)
        )
        why[one.id] = "said_meanwhile" if held not in (None, one) else ""
    uncounted = tuple(Uncounted(one, why[one.id]) for one in taken if why[one.id])
    return Drill(entry, plan, read, closed, uncounted)


def _casts(plan: DrillPlanned, technician: str) -> dict[int, str]:
    return {turn.number: turn.cast for turn in order_of(plan, technician)}


def _unfit(
    entry: Entry, plan: DrillPlanned, orders: Mapping[str, Mapping[int, str]], closed: Entry | None
) -> str:
    """Return why a reading does not belong to its plan, '' where it does."""
    body = entry.body
    assert isinstance(body, DrillReading)
    if closed is not None and entry.id > closed.id:
        return "drill_closed"
    if orders.get(entry.person, {}).get(body.turn) != body.cast:
        return "not_your_turn"
    return "" if _is_whole(body, plan) else "not_whole_reading"


def _is_whole(body: DrillReading, plan: DrillPlanned) -> bool:
    as_many = len(body.values_mm) == VALUES[plan.reads]
    return as_many and bool(body.contact) == (plan.reads == "undercut")


def turn_of(entry: Entry) -> int:
    """Return the turn that a reading is of."""
    assert isinstance(entry.body, DrillReading)
    return entry.body.turn


def _replaced(fit: Sequence[Entry]) -> set[str]:
    """Return the readings that their own technician took anew; nobody puts another's aside."""
    by_id = {entry.id: entry for entry in fit}
    return {
        key
        for key, by in put_aside(fit).items()
        if (by.person, turn_of(by)) == (by_id[key].person, turn_of(by_id[key]))
    }


def check_drill(draft: Draft, entries: Iterable[Entry], lab: Lab) -> None:
    """Refuse a statement about a drill that does not fit the drills as they are; raise BadEntry.

    `entries` are those of the lab; statements of other kinds pass.
    """
    body = draft.body
    if isinstance(body, DrillPlanned):
        _people_of_the_lab(body, lab)
    elif isinstance(body, DrillClosed):
        _open(_known(body.drill, drills_from(entries)))
    elif isinstance(body, DrillReading):
        _reading(draft, body, _known(body.drill, drills_from(entries)), lab)


def _people_of_the_lab(body: DrillPlanned, lab: Lab) -> None:
    for initials in body.technicians:
        person = lab.people.get(initials)
        if person is None or not person.active or person.role == "reader":
            raise BadEntry("technicians", "no_such_person", value=initials)


def _known(key: str, drills: Mapping[str, Drill]) -> Drill:
    if key not in drills:
        raise BadEntry("drill", "no_such_drill")
    return drills[key]


def _open(drill: Drill) -> None:
    if drill.closed is not None:
        raise BadEntry("drill", "drill_closed", person=drill.closed.person)


def _reading(draft: Draft, body: DrillReading, drill: Drill, lab: Lab) -> None:
    _open(drill)
    order = _casts(drill.plan, draft.person)
    if draft.person not in drill.plan.technicians or order.get(body.turn) != body.cast:
        raise BadEntry("turn", "not_your_turn", value=body.turn)
    held = drill.read.get(draft.person, {}).get(body.turn)
    if held is not None and held.id not in draft.supersedes:
        raise BadEntry("turn", "said_meanwhile")
    if any(key != (held.id if held else None) for key in draft.supersedes):
        raise BadEntry("supersedes", "no_such_entry", value=draft.supersedes[0])
    if len(body.values_mm) != VALUES[drill.plan.reads]:
        raise BadEntry("values_mm", "missing")
    if bool(body.contact) != (drill.plan.reads == "undercut"):
        raise BadEntry("contact", "missing")
    if body.instrument and body.instrument not in lab.instruments:
        raise BadEntry("instrument", "no_such_instrument", value=body.instrument)
