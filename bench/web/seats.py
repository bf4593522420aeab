"""Who sits at which tablet: taken with a PIN, locked when idle, gone when the server stops."""

from __future__ import annotations

from dataclasses import dataclass
from threading import Lock

from flask import current_app, g, session

from bench.core.lab import Person
from bench.web import book, clock


@dataclass(slots=True)
class Seat:
    """One signed-in browser: whose it is and when it was last used."""

    initials: str
    seen_ms: int


class Seats:
    """The seats taken, by the random id that only the signed cookie of a browser holds."""

    def __init__(self) -> None:
        self._taken: dict[str, Seat] = {}
        self._lock = Lock()

    def take(self, initials: str, seat_id: str, now_ms: int, idle_ms: int) -> None:
        """Seat a person; seats idle for longer than allowed are cleared away."""
        with self._lock:
            kept = {key: s for key, s in self._taken.items() if now_ms - s.seen_ms <= idle_ms}
            self._taken = {**kept, seat_id: Seat(initials, now_ms)}

    def leave(self, seat_id: str) -> None:
        """Free a seat."""
        with self._lock:
            self._taken.pop(seat_id, None)

    def leave_all(self, initials: str) -> None:
        """Free every seat of a person: their PIN or role changed."""
        with self._lock:
            self._taken = {k: s for k, s in self._taken.items() if s.initials != initials}

    def whose(self, seat_id: str, now_ms: int, idle_ms: int, *, used: bool) -> str | None:
        """Return whose seat it is unless it is idle for too long; `used` counts as being there."""
        with self._lock:
            seat = self._taken.get(seat_id)
            # Of two requests at once the one that looked at the clock first may come here second.
            if seat is None or abs(now_ms - seat.seen_ms) > idle_ms:
                self._taken.pop(seat_id, None)
                return None
            seat.seen_ms = now_ms if used else seat.seen_ms
            return seat.initials


def seats() -> Seats:
    """Return the seats of this bench."""
    taken: Seats = current_app.extensions["seats"]
    return taken


def idle_ms() -> int:
    """Return how long a seat may stay unused, by the lab's policy."""
    return int(book.lab().policy.number("idle_lock_s") * 1000)


def sit_down(initials: str) -> None:
    """Seat a person at this browser under a fresh id, so that an id known before is worth nothing."""
    stand_up()
    session["seat"] = f"{clock.random_bits(256):064x}"
    session["last"] = initials
    seats().take(initials, session["seat"], clock.now_ms(), idle_ms())
    recognise(used=True)


def stand_up() -> None:
    """Free this browser's seat."""
    seats().leave(session.pop("seat", ""))
    g.person = None


def recognise(*, used: bool) -> Person | None:
    """Find out who sits at this browser and keep it for the request; None for a stranger."""
    g.person = _seated(used)
    return person()


def person() -> Person | None:
    """Return who makes this request, or None for a stranger."""
    found: Person | None = g.get("person")
    return found


def _seated(used: bool) -> Person | None:
    seat_id = session.get("seat", "")
    if not seat_id:
        return None
    initials = seats().whose(seat_id, clock.now_ms(), idle_ms(), used=used)
    found = book.lab().people.get(initials or "")
    return found if found and found.active else None
