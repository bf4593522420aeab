"""The one place that pages take time and chance from."""

from __future__ import annotations

import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from flask import current_app

from bench.core.ids import RANDOM_BITS, entry_id


@dataclass(frozen=True, slots=True)
class Clock:
    """A source of Unix time in milliseconds and of random bits."""

    now_ms: Callable[[], int]
    random_bits: Callable[[int], int]


SYSTEM = Clock(now_ms=lambda: time.time_ns() // 1_000_000, random_bits=secrets.randbits)


def _clock() -> Clock:
    clock: Clock = current_app.extensions["clock"]
    return clock


def now_ms() -> int:
    """Return the Unix time in milliseconds by the app's clock."""
    return _clock().now_ms()


def random_bits(count: int = RANDOM_BITS) -> int:
    """Return an integer of so many random bits by the app's clock."""
    return _clock().random_bits(count)


def new_entry_id() -> str:
    """Return a fresh id for the next statement; a page puts one into each of its forms."""
    return entry_id(now_ms(), random_bits())


def age_ms(at: str) -> int:
    """Return how long ago a time of the log (ISO 8601, UTC) was, in milliseconds by the app's clock."""
    return now_ms() - round(datetime.fromisoformat(at).timestamp() * 1000)
