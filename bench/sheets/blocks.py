"""What a sheet is made of: blocks of pairs, tables and notes, already in the reader's words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

Force = Literal["plain", "done", "stale", "stopped"]
Pair = tuple[str, str]
_TOGETHER = re.compile(r"(?<=\d) (?=(?:mm|in|[MDBL]{1,2})\b)")


@dataclass(frozen=True, slots=True)
class Note:
    """One sentence and how it stands: nothing special, recorded, stale, or in the way."""

    text: str
    force: Force = "plain"


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a table."""

    cells: tuple[str, ...]
    force: Force = "plain"


@dataclass(frozen=True, slots=True)
class Table:
    """A table with the words over its columns."""

    head: tuple[str, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Block:
    """One part of a sheet under its title: pairs, then a table, then notes."""

    key: str
    title: str
    pairs: tuple[Pair, ...] = ()
    table: Table | None = None
    notes: tuple[Note, ...] = ()

    @property
    def empty(self) -> bool:
        """Whether there is nothing to say."""
        return not (self.pairs or self.notes or (self.table and self.table.rows))


def unbroken(text: str) -> str:
    """Return text in which no figure parts from its unit and no tooth from its surface at a line's end."""
    return _TOGETHER.sub("\u00a0", text)
