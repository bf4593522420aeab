"""Intervals for SDs and for sums and differences of mean squares."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum, sqrt
from typing import NamedTuple

from bench.core.distributions import chi_square_quantile, f_quantile

CONFIDENCE = 0.95


class Interval(NamedTuple):
    """Where a figure lies with 95 % confidence unless another is asked for."""

    low: float
    high: float

    def root(self) -> Interval:
        """Return the interval of an SD from that of its variance; what is below 0 becomes 0."""
        return Interval(sqrt(max(0.0, self.low)), sqrt(max(0.0, self.high)))

    def reaching(self, value: float) -> Interval:
        """Return the interval, widened where it has to be to hold a value."""
        return Interval(min(self.low, value), max(self.high, value))


class MeanSquare(NamedTuple):
    """A mean square, its degrees of freedom, and the weight it has in a figure."""

    value: float
    df: float
    weight: float = 1.0


def sd_interval(sd: float, df: float, confidence: float = CONFIDENCE) -> Interval:
    """Return the interval of a normal SD estimated with df degrees of freedom (chi-square)."""
    below = (1 - confidence) / 2
    low = sd * sqrt(df / chi_square_quantile(1 - below, df))
    return Interval(low, sd * sqrt(df / chi_square_quantile(below, df)))


def sd_upper_bound(sd: float, df: float, confidence: float = CONFIDENCE) -> float:
    """Return what a normal SD lies below with a confidence, on one side only (chi-square)."""
    return sd * sqrt(df / chi_square_quantile(1 - confidence, df))


def sum_interval(parts: Sequence[MeanSquare], confidence: float = CONFIDENCE) -> Interval:
    """Return the interval of a sum of mean squares with weights of 0 or more.

    Modified large samples, Graybill and Wang (1980); also in Burdick and Graybill (1992). Close to
    its confidence for any degrees of freedom; exact for a single mean square.
    """
    below = (1 - confidence) / 2
    total = fsum(part.weight * part.value for part in parts)
    under = fsum((_shrink(part.df, below) * part.weight * part.value) ** 2 for part in parts)
    over = fsum((_stretch(part.df, below) * part.weight * part.value) ** 2 for part in parts)
    return Interval(total - sqrt(under), total + sqrt(over))


def difference_interval(
    plus: MeanSquare, minus: MeanSquare, confidence: float = CONFIDENCE
) -> Interval:
    """Return the interval of one weighted mean square less another; it may reach below 0.

    Modified large samples, Ting, Burdick, Graybill, Jeyaratnam and Lu (1990).
    """
    below = (1 - confidence) / 2
    first, second = plus.weight * plus.value, minus.weight * minus.value
    under = (_shrink(plus.df, below) * first) ** 2 + (_stretch(minus.df, below) * second) ** 2
    over = (_stretch(plus.df, below) * first) ** 2 + (_shrink(minus.df, below) * second) ** 2
    under += _cross(plus.df, minus.df, below, upper=True) * first * second
    over += _cross(plus.df, minus.df, below, upper=False) * first * second
    gap = first - second
    return Interval(gap - sqrt(max(0.0, under)), gap + sqrt(max(0.0, over)))


def _shrink(df: float, below: float) -> float:
    return 1 - df / chi_square_quantile(1 - below, df)


def _stretch(df: float, below: float) -> float:
    return df / chi_square_quantile(below, df) - 1


def _cross(df1: float, df2: float, below: float, *, upper: bool) -> float:
    """Return the factor of the product of both, chosen so that the limit is right when one is 0."""
    if upper:
        ratio = f_quantile(1 - below, df1, df2)
        squares = _shrink(df1, below) ** 2 * ratio**2 + _stretch(df2, below) ** 2
    else:
        ratio = f_quantile(below, df1, df2)
        squares = _stretch(df1, below) ** 2 * ratio**2 + _shrink(df2, below) ** 2
    return ((ratio - 1) ** 2 - squares) / ratio
