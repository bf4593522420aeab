"""How the pages tell figures and times: in the words of the reader who asks, on the clock of the bench."""

from __future__ import annotations

from datetime import datetime

from bench.store.log import iso
from bench.web import clock, display, speech
from bench.words.reader import Reader

_HOUR_MS, _DAY_MS = 3_600_000, 86_400_000


def reader() -> Reader:
    """Return whoever makes this request as the catalogue knows them: language, numbering, unit."""
    chosen = display.display()
    return Reader(speech.words(), chosen.numbering, chosen.unit)


def now() -> str:
    """Return the time by the app's clock as the log writes it."""
    return iso(clock.now_ms())


def local(at: str) -> datetime:
    """Return a time of the log (ISO 8601, UTC) on the clock of the bench PC."""
    return datetime.fromisoformat(at).astimezone()


def day(at: str) -> str:
    """Return the day of a time of the log, written YYYY-MM-DD (ISO 8601)."""
    return local(at).date().isoformat()


def minute(at: str) -> str:
    """Return the hour and minute of a time of the log, written HH:MM."""
    return local(at).strftime("%H:%M")


def moment(at: str) -> str:
    """Return day and time of a time of the log, written YYYY-MM-DD HH:MM."""
    return f"{day(at)} {minute(at)}"


def lately(at: str) -> str:
    """Return the hour and minute of a time of the log that lies on today's day, else day and time."""
    return minute(at) if day(at) == day(now()) else moment(at)


def moment_of(at_ms: int) -> str:
    """Return day and time of Unix time in milliseconds, written YYYY-MM-DD HH:MM."""
    return datetime.fromtimestamp(at_ms / 1000).strftime("%Y-%m-%d %H:%M")


def age(at: str) -> str:
    """Return in words how long ago a time of the log lies: hours on the same day, else days."""
    passed_ms = max(0, clock.now_ms() - round(datetime.fromisoformat(at).timestamp() * 1000))
    if passed_ms < _HOUR_MS:
        return speech.say("board.age.now")
    if passed_ms < _DAY_MS:
        return reader().counted("board.age.hours", passed_ms // _HOUR_MS)
    return reader().counted("board.age.days", passed_ms // _DAY_MS)
