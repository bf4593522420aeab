"""Repeat readings: their mean and squares without loss of digits, and what is no reading."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import fsum, isfinite, sqrt

from bench.core.refusal import Refusal

Cells = Mapping[str, Sequence[float]]


@dataclass(frozen=True, slots=True)
class Moments:
    """What a cell's figures rest on: how many readings, their mean, their squares about it."""

    count: int
    mean: float
    squares: float


class BadReading(Refusal):
    """A reading that is no finite number."""

    code = "bad_reading"
    what = "A reading is {value}."
    why = "Only finite numbers can be averaged."
    what_to_do = "Leave the reading out or enter the number that was read."


def finite(values: Iterable[float]) -> tuple[float, ...]:
    """Return the readings as a tuple; raises BadReading on infinity and on what is no number."""
    readings = tuple(values)
    for value in readings:
        if not isfinite(value):
            raise BadReading(value=str(value))
    return readings


def filled(cells: Cells) -> dict[str, tuple[float, ...]]:
    """Return the cells that hold readings; raises BadReading."""
    return {name: finite(values) for name, values in cells.items() if len(values)}


def mean_of(values: Sequence[float]) -> float:
    """Return the mean, counted from the first reading so that a large constant costs no digits."""
    first = values[0]
    return first + fsum(value - first for value in values) / len(values)


def squares_of(values: Sequence[float]) -> float:
    """Return the sum of squares about the mean, in two passes from the first reading."""
    first = values[0]
    shifted = [value - first for value in values]
    mean = fsum(shifted) / len(shifted)
    return fsum((value - mean) ** 2 for value in shifted)


def moments_of(values: Sequence[float]) -> Moments:
    """Return the moments of one reading or more."""
    return Moments(len(values), mean_of(values), squares_of(values))


def sd_of(values: Sequence[float]) -> float:
    """Return the SD of two readings or more, with n - 1."""
    return sqrt(squares_of(values) / (len(values) - 1))
