"""The normal, t, F and chi-square distributions: chances beyond a value, and values at a chance.

Everywhere `tail` is the chance of more than the value, `below` the chance of less, and `quantile`
the value that a given chance lies below. Relative errors stay under 1e-10 for chances down to
1e-12 and for degrees of freedom up to a hundred thousand.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import copysign, erfc, exp, inf, isnan, lgamma, log, log1p, pi, sqrt
from statistics import NormalDist

_SMALLEST = 1e-290
_TINY = 1e-300
_CLOSE = 1e-16
_STEPS = 20_000
_FIRST_STEP, _LONGEST_STEP = 1.01, 1e6
# Stirling's series for ln Γ: B(2k) / (2k (2k - 1)), from the Bernoulli numbers (DLMF 5.11.1).
_STIRLING = (1 / 12, -1 / 360, 1 / 1260, -1 / 1680, 1 / 1188, -691 / 360360, 1 / 156)

Curve = Callable[[float], float]


def normal_tail(z: float) -> float:
    """Return the chance that a standard normal value lies above z."""
    return erfc(z / sqrt(2)) / 2


def normal_quantile(below: float) -> float:
    """Return the standard normal value that a chance strictly between 0 and 1 lies below."""
    return NormalDist().inv_cdf(_chance(below))


def chi_square_below(value: float, df: float) -> float:
    """Return the chance that a chi-square value with df degrees of freedom is less."""
    return _gamma_parts(df / 2, value / 2)[0] if value > 0 else 0.0


def chi_square_tail(value: float, df: float) -> float:
    """Return the chance that a chi-square value with df degrees of freedom is more."""
    return _gamma_parts(df / 2, value / 2)[1] if value > 0 else 1.0


@lru_cache(maxsize=4096)
def chi_square_quantile(below: float, df: float) -> float:
    """Return the chi-square value with df degrees of freedom that a chance lies below."""
    return _quantile(
        _chance(below), lambda x: chi_square_below(x, df), lambda x: chi_square_tail(x, df),
        _near_chi_square(below, df),
    )  # fmt: skip


def f_below(value: float, df1: float, df2: float) -> float:
    """Return the chance that a variance ratio with df1 and df2 degrees of freedom is less."""
    return _f_parts(value, df1, df2)[0]


def f_tail(value: float, df1: float, df2: float) -> float:
    """Return the chance that a variance ratio with df1 and df2 degrees of freedom is more."""
    return _f_parts(value, df1, df2)[1]


@lru_cache(maxsize=4096)
def f_quantile(below: float, df1: float, df2: float) -> float:
    """Return the variance ratio with df1 and df2 degrees of freedom that a chance lies below."""
    return _quantile(
        _chance(below), lambda x: f_below(x, df1, df2), lambda x: f_tail(x, df1, df2),
        _near_f(below, df1, df2),
    )  # fmt: skip


def f_value_at_tail(tail: float, df1: float, df2: float) -> float:
    """Return the variance ratio that is exceeded with a chance, exact for very small chances."""
    return 1 / f_quantile(tail, df2, df1)


def t_tail(value: float, df: float) -> float:
    """Return the chance that Student's t with df degrees of freedom lies above the value."""
    beyond = f_tail(value * value, 1, df) / 2
    return beyond if value >= 0 else 1 - beyond


@lru_cache(maxsize=4096)
def t_quantile(below: float, df: float) -> float:
    """Return Student's t with df degrees of freedom that a chance lies below."""
    if below == 0.5:
        return 0.0
    outside = 2 * min(_chance(below), 1 - below)
    return copysign(sqrt(f_value_at_tail(outside, 1, df)), below - 0.5)


def beta_parts(a: float, b: float, x: float, y: float) -> tuple[float, float]:
    """Return the regularised incomplete beta function at x and what is left of 1; x + y is 1.

    Both of x and y are asked for, since 1 - x loses a small y. Continued fraction DLMF 8.17.22.
    """
    if x <= 0 or y <= 0:
        return (0.0, 1.0) if x <= 0 else (1.0, 0.0)
    if x * (a + b + 2) > a + 1:
        return beta_parts(b, a, y, x)[::-1]
    part = _beta_front(a, b, x, y) * _beta_fraction(a, b, x) / a
    return part, 1 - part


def _chance(below: float) -> float:
    if isnan(below) or not 0 < below < 1:
        raise ValueError(f"A chance must lie between 0 and 1, not be {below}.")
    return below


def _f_parts(value: float, df1: float, df2: float) -> tuple[float, float]:
    if value <= 0:
        return 0.0, 1.0
    whole = df1 * value + df2
    return beta_parts(df1 / 2, df2 / 2, df1 * value / whole, df2 / whole)


def _quantile(below: float, lower: Curve, upper: Curve, guess: float) -> float:
    if below <= 0.5:
        return _crossing(lambda x: _log(lower(x)) - log(below), guess)
    return _crossing(lambda x: log1p(-below) - _log(upper(x)), guess)


def _log(chance: float) -> float:
    return log(max(chance, _TINY))


def _near_chi_square(below: float, df: float) -> float:
    """Return about where a chi-square quantile lies (Wilson and Hilferty 1931)."""
    part = 2 / (9 * df)
    return df * float(max(0.1, 1 - part + normal_quantile(below) * sqrt(part))) ** 3


def _near_f(below: float, df1: float, df2: float) -> float:
    """Return about where a quantile of the variance ratio lies (Paulson 1942), 1 where that tells nothing."""
    z, a, b = normal_quantile(below), 2 / (9 * df1), 2 / (9 * df2)
    foot = (1 - b) ** 2 - b * z * z
    inside = (1 - a) ** 2 * b + (1 - b) ** 2 * a - a * b * z * z
    if foot <= 0.05 or inside <= 0:
        return 1.0
    return float(max(0.1, ((1 - a) * (1 - b) + z * sqrt(inside)) / foot)) ** 3


def _crossing(rising: Curve, guess: float) -> float:
    """Return where a rising curve is zero: the search begins close to the guess and soon reaches far."""
    low, step = guess, _FIRST_STEP
    while rising(low) > 0:
        low, step = low / step, min(step * step, _LONGEST_STEP)
    high, step = guess, _FIRST_STEP
    while rising(high) < 0:
        high, step = high * step, min(step * step, _LONGEST_STEP)
    return exp(_root(lambda u: rising(exp(u)), log(low), log(high)))


def _root(rising: Curve, low: float, high: float) -> float:
    """Return where a rising curve is zero: false position that halves an end kept twice (Illinois).

    Every fourth turn bisects where three turns have not brought the ends eight times closer.
    """
    at_low, at_high, kept = rising(low), rising(high), 0
    if _met(at_low) or _met(at_high):
        return low if _met(at_low) else high
    wide = middle = high - low
    for turn in range(200):
        slow, wide = high - low > wide / 8, high - low if turn % 4 == 3 else wide
        share = 0.5 if slow and turn % 4 == 3 else at_low / (at_low - at_high)
        middle = low + (high - low) * min(max(share, 1e-9), 1 - 1e-9)
        at_middle = rising(middle)
        if _met(at_middle) or high - low <= 4e-15 * max(1.0, abs(low)):
            break
        if at_middle < 0:
            low, at_low, at_high, kept = middle, at_middle, at_high / (2 if kept > 0 else 1), 1
        else:
            high, at_high, at_low, kept = middle, at_middle, at_low / (2 if kept < 0 else 1), -1
    return middle


def _met(value: float) -> bool:
    """Say whether the logarithm of a chance is off by no more than rounding."""
    return abs(value) <= 1e-15


def _beta_fraction(a: float, b: float, x: float) -> float:
    def term(m: int) -> float:
        k = m // 2
        if m % 2:
            return -(a + k) * (a + b + k) * x / ((a + 2 * k) * (a + 2 * k + 1))
        return k * (b - k) * x / ((a + 2 * k - 1) * (a + 2 * k))

    return 1 / _continued(term)


def _continued(term: Callable[[int], float]) -> float:
    """Return 1 + t1/(1 + t2/(1 + ...)) by the method of Lentz as modified by Thompson and Barnett."""
    value, c, d = 1.0, 1.0, 0.0
    for m in range(1, _STEPS):
        step = term(m)
        d = 1 / _not_zero(1 + step * d)
        c = _not_zero(1 + step / c)
        value *= c * d
        if abs(c * d - 1) < _CLOSE:
            break
    return value


def _not_zero(value: float) -> float:
    return value if abs(value) > _TINY else _TINY


def _beta_front(a: float, b: float, x: float, y: float) -> float:
    """Return x^a y^b / B(a, b) without the cancellation of large logarithms (Loader 2000)."""
    if min(x, y) < _SMALLEST:  # n * x would lose its digits or all of itself
        return exp(a * log(x) + b * log(y) + lgamma(a + b) - lgamma(a) - lgamma(b))
    n = a + b
    deviance = _deviance(a, n * x) + _deviance(b, n * y)
    return exp(_rest(n) - _rest(a) - _rest(b) - deviance) * sqrt(a * b / (2 * pi * n))


def _gamma_parts(a: float, x: float) -> tuple[float, float]:
    """Return both regularised incomplete gamma functions (DLMF 8.7.1 and 8.9.2)."""
    if x == inf:
        return 1.0, 0.0
    front = exp(-_rest(a) - _deviance(a, x)) * sqrt(a / (2 * pi))
    if x < a + 1:
        part = front * _gamma_series(a, x) / a
        return part, 1 - part
    part = front * _gamma_fraction(a, x)
    return 1 - part, part


def _gamma_series(a: float, x: float) -> float:
    term = total = 1.0
    for k in range(1, _STEPS):
        term *= x / (a + k)
        total += term
        if term < total * _CLOSE:
            break
    return total


def _gamma_fraction(a: float, x: float) -> float:
    b = x + 1 - a
    c, d = 1 / _TINY, 1 / b
    value = d
    for k in range(1, _STEPS):
        step, b = -k * (k - a), b + 2
        d = 1 / _not_zero(step * d + b)
        c = _not_zero(b + step / c)
        value *= c * d
        if abs(c * d - 1) < _CLOSE:
            break
    return value


def _rest(z: float) -> float:
    """Return ln Γ(z + 1) less Stirling's (z + 1/2) ln z - z + ln(2π)/2."""
    if z < 16:
        return lgamma(z + 1) - (z + 0.5) * log(z) + z - log(2 * pi) / 2
    return sum(factor / z ** (2 * k + 1) for k, factor in enumerate(_STIRLING))


def _deviance(a: float, m: float) -> float:
    """Return a ln(a / m) + m - a, also where a is close to m."""
    if abs(a - m) > 0.1 * (a + m):
        return a * log(a / m) + m - a
    v = (a - m) / (a + m)
    # a ln(a/m) = 2 a artanh(v), and m - a = -(a + m) v: only the terms from v² on remain.
    total, power = (a - m) * v, 2 * a * v
    for k in range(1, 60):
        power *= v * v
        total += power / (2 * k + 1)
    return total
