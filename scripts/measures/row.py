"""One measured figure, and how figures are summed up."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from math import ceil


@dataclass(frozen=True)
class Row:
    """A figure with its unit, the goal it is held to, and what it was measured beside."""

    name: str
    figure: float
    unit: str
    goal: str = ""
    beside: str = ""

    def as_json(self) -> dict[str, object]:
        """Return the row as plain values."""
        return asdict(self)


def percentile(values: list[float], share: float) -> float:
    """Return the value below which a share (0 to 1) of the values lie: nearest rank."""
    ordered = sorted(values)
    return ordered[max(0, ceil(share * len(ordered)) - 1)]


def timed_ms(work: Callable[[], object], times: int) -> list[float]:
    """Return how long each of some runs took, in milliseconds."""
    taken = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        taken.append((time.perf_counter() - begun) * 1000)
    return taken
