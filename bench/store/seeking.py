"""What lines of the board are looked for, as SQL that reads no more of them than are shown."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

Order = Literal["touched", "opened", "oldest", "number"]
Params = tuple[str | int, ...]

ORDERS: dict[Order, str] = {
    "touched": "s.touched_at DESC, s.code DESC",
    "opened": "s.opened_at DESC, s.code DESC",
    "oldest": "s.opened_at, s.code",
    "number": "s.number, s.code",
}
FEW = 1000
_WORD = re.compile(r"[^\W_]+")
_LAST_LETTER = "\U0010ffff"
# Both stand to the letter in the partial indexes of 0007.
_OPEN = "s.state <> 'released'"
_TO_SETTLE = "(s.state = 'recalled' OR s.contradictions > 0)"


def words_in(text: str) -> tuple[str, ...]:
    """Return the words of a text as the search compares them."""
    return tuple(_WORD.findall(text.casefold()))


@dataclass(frozen=True, slots=True)
class Word:
    """A word of a search: the start of a number or code, or else who or which tooth it may mean."""

    start: str
    person: str = ""
    tooth: int | None = None


@dataclass(frozen=True, slots=True)
class Sought:
    """What lines are looked for; each filter given has to be met, and each of the words.

    `state` None means any, `open_only` any but released; `to_settle` leaves those that are recalled
    or hold statements that disagree.
    """

    state: str | None = None
    open_only: bool = False
    step: str | None = None
    person: str | None = None
    tooth: int | None = None
    words: tuple[Word, ...] = ()
    to_settle: bool = False

    @property
    def by_state_and_step_alone(self) -> bool:
        """Whether the counts kept by state and step tell how many lines there are."""
        return not (self.person or self.tooth or self.words or self.to_settle)


def words_sought(text: str) -> tuple[Word, ...]:
    """Return the words of a text as starts of numbers and codes; a text without any finds nothing."""
    found = tuple(Word(word) for word in words_in(text))
    return found or ((Word(""),) if text.strip() else ())


def condition(conn: sqlite3.Connection, sought: Sought) -> tuple[str, Params]:
    """Return the WHERE clause for lines named `s` and its parameters.

    A filter that few lines meet is looked up in its list; one that many meet is tried on the lines
    in their order, which soon fills a page.
    """
    lists = tuple(_lists(sought))
    rare = [_is_rare(conn, one) for one in lists]
    parts = [_looked_up(one) if few else _tried(one) for one, few in zip(lists, rare, strict=True)]
    values = [value for one in lists for listed in one for value in listed.params]
    # The plus keeps SQLite from walking all lines of a state when a rare word names a few.
    plus = "+" if any(rare) else ""
    for column, wanted in (("state", sought.state), ("step", sought.step)):
        if wanted is not None:
            parts.append(f"{plus}s.{column} = ?")
            values.append(wanted)
    parts += [_OPEN] * sought.open_only + [_TO_SETTLE] * sought.to_settle
    return (f" WHERE {' AND '.join(parts)}" if parts else ""), tuple(values)


@dataclass(frozen=True, slots=True)
class _Listed:
    """A condition on one of the lists beside the lines, with its parameters."""

    table: str
    condition: str
    params: Params


def _lists(sought: Sought) -> Iterator[tuple[_Listed, ...]]:
    """Yield what has to be met; of several conditions in one, any one will do."""
    if sought.person:
        yield (_person(sought.person),)
    if sought.tooth is not None:
        yield (_tooth(sought.tooth),)
    for word in sought.words:
        yield tuple(_meanings(word))


def _meanings(word: Word) -> Iterator[_Listed]:
    # Nothing starts with no letter at all: a search of nothing but signs finds nothing.
    ends = word.start + _LAST_LETTER if word.start else ""
    yield _Listed("case_words", "word >= ? AND word < ?", (word.start, ends))
    if word.person:
        yield _person(word.person)
    if word.tooth is not None:
        yield _tooth(word.tooth)


def _person(initials: str) -> _Listed:
    return _Listed("case_people", "person = ?", (initials,))


def _tooth(tooth: int) -> _Listed:
    return _Listed("case_teeth", "tooth = ?", (tooth,))


def _is_rare(conn: sqlite3.Connection, lists: Iterable[_Listed]) -> bool:
    """Say whether few lines meet any of these."""
    met = 0
    for one in lists:
        sql = f"SELECT count(*) FROM (SELECT 1 FROM {one.table} WHERE {one.condition} LIMIT {FEW})"
        met += int(conn.execute(sql, one.params).fetchone()[0])
    return met < FEW


def _looked_up(lists: Iterable[_Listed]) -> str:
    codes = (f"SELECT code FROM {one.table} WHERE {one.condition}" for one in lists)
    return f"s.code IN ({' UNION '.join(codes)})"


def _tried(lists: Iterable[_Listed]) -> str:
    met = (
        f"EXISTS (SELECT 1 FROM {one.table} WHERE code = s.code AND {one.condition})"
        for one in lists
    )
    return f"({' OR '.join(met)})"
