"""Which re-mounts a figure is made of: the same answer for a figure and for the list of its entries."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bench.core.audit.samples import Remount

Reading = Literal["first", "last", "every"]
READINGS: tuple[Reading, ...] = ("first", "last", "every")
Side = Literal["technician", "surveyor", "cast", "method"]
SIDES: tuple[Side, ...] = ("technician", "surveyor", "cast", "method")


@dataclass(frozen=True, slots=True)
class Selection:
    """Re-mounts from a time on, up to before another (ISO 8601, '' for no end), of somebody or all.

    None asks for any technician, surveyor, cast or method; '' for those that named no surveyor.
    `reading` takes of each round its first reading, before correction, its last, after it, or all.
    """

    since: str = ""
    until: str = ""
    technician: str | None = None
    surveyor: str | None = None
    cast: str | None = None
    method: str | None = None
    reading: Reading = "first"

    def holds(self, one: Remount) -> bool:
        """Say whether a re-mount belongs to it."""
        wanted = (
            (self.technician, one.technician), (self.surveyor, one.surveyor),
            (self.cast, one.case), (self.method, one.method),
        )  # fmt: skip
        in_time = self.since <= one.at and (not self.until or one.at < self.until)
        of_round = {"first": one.first, "last": one.last, "every": True}[self.reading]
        return in_time and of_round and all(asked in (None, had) for asked, had in wanted)
