"""Whether there is enough data for a figure: what is short, how many there are, how many it takes."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Shortage:
    """Not enough data: what is counted, where it is missing, how many there are and are needed.

    `what` is a stable plain name ('persons', 'readings'), `code` the same as one word for
    catalogues; `where` names the cell or is ''.
    """

    what: str
    have: int
    need: int
    where: str = ""

    @property
    def missing(self) -> int:
        """How many more it takes."""
        return self.need - self.have

    @property
    def code(self) -> str:
        """The stable name in one word."""
        return self.what.replace(" ", "_")

    def __str__(self) -> str:
        place = f" of {self.where}" if self.where else ""
        return f"not enough data: {self.have} {self.what}{place}, {self.missing} more needed"


def short_of(what: str, have: int, need: int, where: str = "") -> tuple[Shortage, ...]:
    """Return the shortage as a tuple of one, or nothing when there are enough."""
    return (Shortage(what, have, need, where),) if have < need else ()
