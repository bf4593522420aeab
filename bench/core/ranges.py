"""The range of a few normal readings: what to expect of it, and what it seldom exceeds."""

from __future__ import annotations

from functools import lru_cache
from math import exp, fsum, pi, sqrt

from bench.core.distributions import normal_tail

# A bell-shaped curve summed at even steps is exact to rounding once the steps are this fine.
_STEP = 0.05
_END = 14.0
_GRID = tuple(i * _STEP - _END for i in range(int(2 * _END / _STEP) + 1))
_DENSITY = tuple(exp(-z * z / 2) / sqrt(2 * pi) for z in _GRID)
_BELOW = tuple(normal_tail(-z) for z in _GRID)
_ABOVE = tuple(normal_tail(z) for z in _GRID)


def range_below(width_sd: float, count: int) -> float:
    """Return the chance that the range of some normal readings is less than a width, in SDs.

    Source: the integral over the least of the readings, as in tables of the studentized range
    with infinitely many degrees of freedom.
    """
    if width_sd <= 0:
        return 0.0
    rows = zip(_GRID, _DENSITY, _ABOVE, strict=True)
    terms = (d * (above - normal_tail(z + width_sd)) ** (count - 1) for z, d, above in rows)
    return min(1.0, count * _STEP * fsum(terms))


@lru_cache(maxsize=256)
def range_factor(count: int, below: float = 0.95) -> float:
    """Return the width, in SDs, that the range of some normal readings keeps below with a chance.

    The factor f(n) of ISO 5725-6 for the critical range: 2.77 for two readings at 95 %.
    """
    low, high = 0.0, 20.0
    while high - low > 1e-13 * high:
        middle = (low + high) / 2
        low, high = (middle, high) if range_below(middle, count) < below else (low, middle)
    return high


@lru_cache(maxsize=64)
def mean_range(count: int) -> float:
    """Return d2, the mean range of some standard normal readings (1.128 for two)."""
    rows = zip(_BELOW, _ABOVE, strict=True)
    return _STEP * fsum(1 - below**count - above**count for below, above in rows)


@lru_cache(maxsize=64)
def range_sd(count: int) -> float:
    """Return d3, the SD of the range of some standard normal readings (0.853 for two)."""
    return sqrt(_mean_square_range(count) - mean_range(count) ** 2)


def upper_range_factor(count: int) -> float:
    """Return D4: the upper three-SD limit of ranges, as a multiple of their mean (3.267 for two)."""
    return 1 + 3 * range_sd(count) / mean_range(count)


def lower_range_factor(count: int) -> float:
    """Return D3: the lower three-SD limit of ranges, as a multiple of their mean, or 0."""
    return max(0.0, 1 - 3 * range_sd(count) / mean_range(count))


def individuals_factor() -> float:
    """Return E2: three SDs as a multiple of the mean moving range of two (2.660)."""
    return 3 / mean_range(2)


def _mean_square_range(count: int) -> float:
    """Return 2 ∫ w (chance of a range above w) dw from 0 on.

    With w = exp(t - exp(-t)) the integrand dies off at both ends, so that even steps are exact to
    rounding (double exponential rule of Takahasi and Mori).
    """
    total = 0.0
    for i in range(int(6 / _STEP)):
        t = i * _STEP - 3.2
        width_sd = exp(t - exp(-t))
        above = 1 - range_below(width_sd, count)
        total += width_sd * above * width_sd * (1 + exp(-t))
    return 2 * _STEP * total
