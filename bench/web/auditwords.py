"""The signals of the audit in words: what was found, by how much, and how much is behind it."""

from __future__ import annotations

from bench.core.audit.signals import AuditSignal
from bench.web.auditlines import fine
from bench.words.reader import Reader


def signal_in_words(signal: AuditSignal, reader: Reader) -> str:
    """Return a signal as a sentence."""
    figures = {name: _shown(name, value, reader) for name, value in signal.figures.items()}
    who = whose(signal, reader)
    key = f"audit.signal.{signal.kind}"
    if signal.kind == "due":
        return reader.say(f"{key}.{signal.figures['state']}", of=who, **figures)
    return reader.say(key, of=who, **figures)


def whose(signal: AuditSignal, reader: Reader) -> str:
    """Return whom or what a signal speaks of."""
    name = reader.choice("method", signal.of) if signal.by == "method" else signal.of
    if signal.by == "surveyor" and not signal.of:
        name = reader.say("audit.unnamed_surveyor")
    if signal.by == "instrument":
        sort = reader.choice("sort", signal.figures["sort"])
        return reader.say("audit.signal.by.instrument", of=name, sort=sort)
    return reader.say(f"audit.signal.by.{signal.by}", of=name)


def _shown(name: str, value: float | int | str, reader: Reader) -> str:
    if name.endswith("_deg"):
        return fine(float(value), reader)
    return reader.say(f"audit.axis.{value}") if name == "axis" else str(value)
