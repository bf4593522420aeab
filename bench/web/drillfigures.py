"""The figures of a drill in words: each with its interval, or with what is still missing for it."""

from __future__ import annotations

from collections.abc import Iterable

from bench.core.agreement import Agreement, Raw
from bench.core.components import Component, Components
from bench.core.enough import Shortage
from bench.core.intervals import Interval
from bench.web import telling

PARTS = ("repeat", "technician", "interaction", "gauge", "cast")


def figure(value: float | None, unit: str) -> str:
    """Return a figure with its unit: three decimals for mm, two for degrees."""
    if value is None:
        return ""
    reader = telling.reader()
    shown = reader.number(value, 3 if unit == "mm" else 2)
    return reader.say(f"choices.figure.{unit}", value=shown)


def between(interval: Interval | None, unit: str) -> str:
    """Return a 95 % interval in words, '' where there is none."""
    if interval is None:
        return ""
    low, high = figure(interval.low, unit), figure(interval.high, unit)
    return telling.reader().say("drills.interval", low=low, high=high)


def short(missing: Iterable[Shortage]) -> str:
    """Return what is missing for a figure, in words, '' where nothing is.

    Of many cells without readings three are named and the rest counted.
    """
    reader = telling.reader()
    found = list(missing)
    said = [_short(one) for one in found[:3]]
    if len(found) > 3:
        said.append(reader.say("drills.short.more", count=len(found) - 3))
    return reader.say("drills.short.all", what=reader.listed(said)) if said else ""


def _short(one: Shortage) -> str:
    reader = telling.reader()
    key = f"drills.short.{one.code}"
    key = key if reader.words.has(key) else "drills.short.other"
    return reader.say(key, have=one.have, need=one.need, where=one.where, what=one.what)


def parts(found: Components) -> list[tuple[str, Component]]:
    """Return the parts of the spread that there are figures for, the repeats first."""
    variances = found.variances
    return [] if variances is None else [(name, getattr(variances, name)) for name in PARTS]


def share(raw: Raw) -> str:
    """Return raw agreement in words: how many of how many, and the interval of the share."""
    reader = telling.reader()
    if raw.share is None or raw.interval is None:
        return short(raw.missing)
    return reader.say(
        "drills.agree.raw", agreeing=raw.agreeing, subjects=raw.subjects,
        share=round(100 * raw.share), low=round(100 * raw.interval.low),
        high=round(100 * raw.interval.high),
    )  # fmt: skip


def coefficient(found: Agreement) -> str:
    """Return a coefficient of agreement in words, or why there is none."""
    reader = telling.reader()
    if found.missing:
        return short(found.missing)
    if found.value is None:
        return reader.say("drills.agree.undefined")
    value = reader.number(found.value, 2)
    if found.interval is None:
        return reader.say("drills.agree.bare", value=value)
    low, high = (reader.number(one, 2) for one in found.interval)
    return reader.say("drills.agree.value", value=value, low=low, high=high)
