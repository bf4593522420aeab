"""The audit's figures put together for paper."""

from __future__ import annotations

from bench.sheets.audit import Dots, Report, Section
from bench.sheets.blocks import Row, Table
from bench.web import telling
from bench.web.auditgauges import CellLine, GaugesView
from bench.web.auditlines import Line, calipers_in_words, line_of
from bench.web.auditview import Signalled, View
from bench.web.auditwords import signal_in_words
from bench.words.reader import Reader

_COLUMNS = ("name", "count", "inside", "mean", "spread", "against", "between", "verdict")


def report_of(view: View, gauges: GaugesView, printed: str) -> Report:
    """Return the report of what a view shows; single persons only where the page shows them too."""
    say = view.reader.say
    sections = [
        _signals(view),
        _pairs(say("audit.whole.title"), _whole(view)),
        _group(view, "surveyor", view.lines("surveyor")),
        _group(view, "method", view.lines("method")),
        *([_group(view, "technician", view.lines("technician"))] if view.people.shown else []),
        *(_pairs(say("audit.precision.title", axis=say(f"audit.axis.{axis}")), found)
          for axis, found in view.precision),
        *(_pairs(say("audit.parts.title", axis=say(f"audit.axis.{axis}")), found)
          for axis, found in view.parts),
        _agreement(view.reader, [*gauges.together, *gauges.couples]),
        _pairs(say("audit.calipers.title"), calipers_in_words(view.calipers, view.reader)),
    ]  # fmt: skip
    return Report(
        title=say("audit.paper.title"), what=say("audit.paper.what"), about=_about(view, printed),
        sections=tuple(sections), foot=say("audit.paper.foot"),
        page=say("audit.paper.page"),
    )  # fmt: skip


def _about(view: View, printed: str) -> tuple[tuple[str, str], ...]:
    asked, say = view.asked, view.reader.say
    ever = say("audit.open")
    pairs = [
        ("period", say("audit.period", since=asked.since or ever, until=asked.until or ever)),
        ("person", asked.person), ("surveyor", asked.surveyor),
        ("method", view.reader.choice("method", asked.method) if asked.method else ""),
        ("cast", asked.cast), ("reading", say(f"audit.reading.{asked.reading}")),
        ("tolerance", view.reader.angle(view.tolerance_deg)), ("printed", printed),
    ]  # fmt: skip
    return tuple((say(f"audit.field.{name}"), value) for name, value in pairs if value)


def _whole(view: View) -> list[tuple[str, str]]:
    line = line_of("whole", "", "", view.whole, view.reader)
    shown = (
        ("count", line.count), ("inside", line.inside), ("mean", line.mean), ("spread", line.spread_words),
        ("against", line.against), ("between", line.between), ("verdict", line.verdict),
        ("missing", line.missing),
    )  # fmt: skip
    return [(view.reader.say(f"audit.column.{name}"), words) for name, words in shown if words]


def _pairs(title: str, pairs: list[tuple[str, str]]) -> Section:
    return Section(title, pairs=tuple(pairs))


def _group(view: View, side: str, lines: list[Line]) -> Section:
    say = view.reader.say
    rows = tuple(Row(_cells(line)) for line in lines)
    head = tuple(say(f"audit.column.{name}") for name in _COLUMNS)
    dots = tuple((line.name, _limits(line)) for line in lines)
    return Section(
        say(f"audit.by.{side}"), note=say("audit.no_rank"), table=Table(head, rows),
        dots=Dots(
            dots, view.tolerance_deg, say("audit.plot.dots_axis"), say("choices.row.point")
        ),
    )  # fmt: skip


def _limits(line: Line) -> tuple[float, float, float] | None:
    limit = line.spread.against_record
    return None if limit is None else (limit.interval.low, limit.deg, limit.interval.high)


def _cells(line: Line) -> tuple[str, ...]:
    if line.missing:
        return (line.name, line.count, line.missing, "", "", "", "", "")
    return (
        line.name, line.count, line.inside, line.mean, line.spread_words, line.against, line.between,
        line.verdict,
    )  # fmt: skip


def _agreement(reader: Reader, lines: list[CellLine]) -> Section:
    names = ("couple", "raw", "kappa", "ac1")
    head = tuple(reader.say(f"audit.gauges.column.{name}") for name in names)
    rows = tuple(Row((one.name, one.raw, one.kappa or one.missing, one.ac1)) for one in lines)
    return Section(reader.say("audit.gauges.title"), table=Table(head, rows))


def _signals(view: View) -> Section:
    reader = view.reader
    notes = [_noted(one, view) for one in view.signals]
    return Section(
        reader.say("audit.signals.title"), notes=tuple(notes) or (reader.say("audit.signals.none"),)
    )


def _noted(one: Signalled, view: View) -> str:
    signal, seen = one.signal, one.acknowledged
    words = signal_in_words(signal, view.reader)
    if seen is None:
        return words
    said = view.reader.say(
        "audit.signals.seen", person=seen.person, day=telling.day(seen.at), reason=seen.reason
    )
    return f"{words} {said}"
