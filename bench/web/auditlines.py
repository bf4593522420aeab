"""The figures of the audit in words: one line a group, each with the address of its entries."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bench.core.audit.calipers import CaliperSpread
from bench.core.audit.spread import Limit, Spread
from bench.core.components import Component, Components
from bench.core.enough import Shortage
from bench.core.intervals import Interval
from bench.core.precision import Precision
from bench.words.reader import Reader

MARKS = {"within": "done", "not_shown": "todo", "outside": "stopped"}


@dataclass(frozen=True)
class Line:
    """A group's figures as its table shows them; `spread` holds the numbers for the plot."""

    key: str
    name: str
    href: str
    spread: Spread
    count: str
    inside: str
    mean: str
    spread_words: str
    against: str
    between: str
    verdict: str
    limit_mark: str
    missing: str


def line_of(key: str, name: str, href: str, spread: Spread, reader: Reader) -> Line:
    """Return a group in words."""
    missing = shortages(spread.missing, reader)
    limit = spread.against_record
    return Line(
        key=key, name=name, href=href, spread=spread, count=str(spread.count),
        inside=inside_in_words(spread, reader),
        mean=_mean(spread, reader), spread_words=_axis_sd(spread, reader),
        against=limit_in_words(spread.against_record, reader),
        between=limit_in_words(spread.between_two, reader),
        verdict=_verdict(spread, reader),
        limit_mark=MARKS[limit.outcome] if limit else "plain", missing=missing,
    )  # fmt: skip


def fine(angle_deg: float, reader: Reader) -> str:
    """Return an angle to 0.01 degree; never a zero with a sign."""
    return reader.say("choices.figure.deg", value=reader.number(round(angle_deg, 2) + 0.0, 2))


def range_in_words(interval: Interval, reader: Reader) -> str:
    """Return an interval: `0.21° to 0.34°`."""
    low, high = (fine(end, reader) for end in interval)
    return reader.say("audit.range", low=low, high=high)


def limit_in_words(limit: Limit | None, reader: Reader) -> str:
    """Return a limit with its interval, '' for none."""
    if limit is None:
        return ""
    within = range_in_words(limit.interval, reader)
    return reader.say("audit.figure", value=fine(limit.deg, reader), range=within)


def shortages(missing: Iterable[Shortage], reader: Reader, room: str = "missing") -> str:
    """Return what is missing for a figure, in one sentence; '' for nothing."""
    found = [
        reader.counted(f"audit.{room}.{one.code}", one.missing, have=one.have, where=one.where)
        for one in missing
    ]
    return reader.say("audit.not_enough", what=reader.listed(found)) if found else ""


def inside_in_words(spread: Spread, reader: Reader) -> str:
    """Return how many lie inside the tolerance, with the interval of that share."""
    raw = spread.inside
    if raw.share is None or raw.interval is None:
        return ""
    low, high = (reader.number(100 * end, 0) for end in raw.interval)
    return reader.say("audit.inside", agreeing=raw.agreeing, count=raw.subjects, low=low, high=high)


def precision_in_words(found: Precision, reader: Reader) -> list[tuple[str, str]]:
    """Return the figures of ISO 5725-2 along one axis as pairs of label and words."""
    rows = [
        ("repeatability", found.repeatability_sd, found.repeatability_interval),
        ("reproducibility", found.reproducibility_sd, found.reproducibility_interval),
    ]
    pairs = [
        (reader.say(f"audit.precision.{name}"), _with_range(sd, interval, reader))
        for name, sd, interval in rows if sd is not None and interval is not None
    ]  # fmt: skip
    limits = (("limit_r", found.repeatability_limit), ("limit_big_r", found.reproducibility_limit))
    pairs += [
        (reader.say(f"audit.precision.{n}"), fine(v, reader)) for n, v in limits if v is not None
    ]
    if found.between_clamped:
        pairs.append((reader.say("audit.precision.between"), reader.say("audit.precision.clamped")))
    if found.missing:
        pairs.append((reader.say("audit.precision.wanting"), shortages(found.missing, reader)))
    return pairs


def _with_range(value: float, interval: Interval, reader: Reader) -> str:
    within = range_in_words(interval, reader)
    return reader.say("audit.figure", value=fine(value, reader), range=within)


def components_in_words(found: Components, reader: Reader) -> list[tuple[str, str]]:
    """Return where the spread comes from as pairs of label and words."""
    if found.variances is None:
        return [
            (reader.say("audit.precision.wanting"), shortages(found.missing[:3], reader, "parts"))
        ]
    parts: list[tuple[str, Component]] = [
        ("surveyor", found.variances.cast), ("technician", found.variances.technician),
        ("both", found.variances.interaction), ("repeat", found.variances.repeat),
    ]  # fmt: skip
    return [(reader.say(f"audit.parts.{name}"), _part(one, reader)) for name, one in parts]


def _part(one: Component, reader: Reader) -> str:
    words = _with_range(one.sd, one.sd_interval, reader)
    return f"{words}, {reader.say('audit.precision.clamped')}" if one.clamped else words


def calipers_in_words(found: CaliperSpread, reader: Reader) -> list[tuple[str, str]]:
    """Return how well caliper distances repeat as pairs of label and words."""
    if found.sd_mm is None or found.interval_mm is None or found.limit_mm is None:
        return [(reader.say("audit.precision.wanting"), shortages(found.missing, reader))]
    low, high = (reader.length(end) for end in found.interval_mm)
    within = reader.say("audit.range", low=low, high=high)
    sd = reader.say("audit.figure", value=reader.length(found.sd_mm), range=within)
    return [
        (reader.say("audit.calipers.triangles"), str(found.triangles)),
        (reader.say("audit.calipers.readings"), str(found.readings)),
        (reader.say("audit.calipers.sd"), sd),
        (reader.say("audit.calipers.limit"), reader.length(found.limit_mm)),
    ]


def _mean(spread: Spread, reader: Reader) -> str:
    if spread.mean_deg is None or spread.missing:
        return ""
    ap, lat = (_signed(value, reader) for value in spread.mean_deg)
    return reader.say("audit.both_axes", ap=ap, lat=lat)


def _signed(angle_deg: float, reader: Reader) -> str:
    rounded = round(angle_deg, 2) + 0.0
    return ("+" if rounded > 0 else "") + fine(rounded, reader)


def _axis_sd(spread: Spread, reader: Reader) -> str:
    if spread.missing or spread.ap.repeatability_sd is None or spread.lat.repeatability_sd is None:
        return ""
    ap, lat = (fine(one.repeatability_sd or 0.0, reader) for one in (spread.ap, spread.lat))
    return reader.say("audit.both_axes", ap=ap, lat=lat)


def _verdict(spread: Spread, reader: Reader) -> str:
    if spread.mean_within is None:
        return ""
    words = reader.say(f"audit.outcome.{spread.mean_within.outcome}")
    if spread.more_needed is not None:
        words += reader.counted("audit.more_needed", spread.more_needed)
    return words
