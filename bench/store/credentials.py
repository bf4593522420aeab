"""PINs: hashed with argon2id, wrong ones slowed down and at last locked out.

Hashes are no part of the log: they change, are never sent to another machine, and say nothing of a case.
"""

from __future__ import annotations

import re
import sqlite3
from dataclasses import dataclass

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from bench.store.open import Store
from bench.store.refusals import Locked, PinRefused, Throttled

LEAST_DIGITS = 4
MOST_DIGITS = 8
_RUNS = ("01234567890123456789", "98765432109876543210")
_YEAR = re.compile(r"(?:19|20)\d\d", re.ASCII)

_PUT = (
    "INSERT INTO credentials (initials, pin_hash) VALUES (?, ?) ON CONFLICT (initials) DO UPDATE "
    "SET pin_hash = excluded.pin_hash, failures = 0, last_failure_at_ms = NULL, locked = 0"
)
_GET = "SELECT pin_hash, failures, last_failure_at_ms, locked FROM credentials WHERE initials = ?"
_COUNT = (
    "UPDATE credentials SET failures = failures + 1, last_failure_at_ms = ?, "
    "locked = (failures + 1 >= ?) WHERE initials = ?"
)
_CLEAR = (
    "UPDATE credentials SET failures = 0, last_failure_at_ms = NULL, locked = 0 WHERE initials = ?"
)
_RESTART = "UPDATE credentials SET last_failure_at_ms = ? WHERE initials = ?"
_REHASH = "UPDATE credentials SET pin_hash = ? WHERE initials = ? AND pin_hash = ?"


@dataclass(frozen=True, slots=True)
class Patience:
    """How wrong PINs are met: some free tries, then waits that double, then a lock."""

    free_tries: int = 3
    first_wait_s: int = 2
    longest_wait_s: int = 60
    tries_until_locked: int = 10

    def wait_s(self, failures: int) -> int:
        """Return how long the next try has to wait after so many failures in a row."""
        if failures < self.free_tries:
            return 0
        doublings = min(failures - self.free_tries, 20)
        return min(self.longest_wait_s, self.first_wait_s << doublings)


def weakness_of(pin: str) -> str | None:
    """Return why a PIN cannot be used, or None: 'not_digits', 'length', 'same_digit', 'run', 'repeat', 'year'.

    A run goes up or down by one, also over 9 and 0; a repeat is one group of digits said over again;
    a year is 19xx or 20xx.
    """
    if not (pin.isascii() and pin.isdigit()):
        return "not_digits"
    if not LEAST_DIGITS <= len(pin) <= MOST_DIGITS:
        return "length"
    if len(set(pin)) == 1:
        return "same_digit"
    if any(pin in run for run in _RUNS):
        return "run"
    if pin in (pin + pin)[1:-1]:
        return "repeat"
    return "year" if _YEAR.fullmatch(pin) else None


class Credentials:
    """The PINs of the lab's people."""

    def __init__(
        self, store: Store, patience: Patience | None = None, hasher: PasswordHasher | None = None
    ) -> None:
        self._store = store
        self._patience = patience or Patience()
        self._hasher = hasher or PasswordHasher()
        self._nobody = self._hasher.hash("nobody has this PIN")

    def has_pin(self, initials: str) -> bool:
        """Say whether somebody has a PIN."""
        return self._row(self._store.db.conn, initials) is not None

    def is_locked(self, initials: str) -> bool:
        """Say whether somebody is locked out."""
        row = self._row(self._store.db.conn, initials)
        return row is not None and bool(row[3])

    def set_pin(self, initials: str, pin: str) -> None:
        """Set or replace a PIN; a lock is lifted. Raises PinRefused with the reason."""
        reason = weakness_of(pin)
        if reason:
            raise PinRefused(reason=reason, least=LEAST_DIGITS, most=MOST_DIGITS)
        hashed = self._hasher.hash(pin)
        with self._store.writing() as conn:
            conn.execute(_PUT, (initials, hashed))

    def unlock(self, initials: str) -> None:
        """Lift a lock and forget the failures; the caller sees to it that a supervisor asks."""
        with self._store.writing() as conn:
            conn.execute(_CLEAR, (initials,))

    def verify(self, initials: str, pin: str, now_ms: int) -> bool:
        """Say whether a PIN is right; unknown initials take as long as known ones.

        `now_ms` is Unix time in milliseconds. Raises Throttled with the seconds to wait, or Locked.
        """
        held = self._counted(initials, now_ms)
        right = self._matches(held or self._nobody, pin)
        if held is None or not right:
            return False
        self._welcome(initials, pin, held)
        return True

    def _counted(self, initials: str, now_ms: int) -> str | None:
        """Count the try as a failure before it is looked at, so that tries side by side all count."""
        with self._store.writing() as conn:
            row = self._row(conn, initials)
            if row is None:
                return None
            pin_hash, failures, last_at_ms, locked = row
            if last_at_ms is not None and now_ms < last_at_ms:
                # A clock that was set back must not keep anybody out for longer than the wait itself.
                conn.execute(_RESTART, (now_ms, initials))
                last_at_ms = now_ms
            wait_s = self._wait_s(failures, last_at_ms, now_ms)
            if not locked and not wait_s:
                conn.execute(_COUNT, (now_ms, self._patience.tries_until_locked, initials))
        if locked:
            raise Locked(initials=initials)
        if wait_s:
            raise Throttled(seconds=wait_s)
        return pin_hash

    def _wait_s(self, failures: int, last_at_ms: int | None, now_ms: int) -> int:
        wait_ms = self._patience.wait_s(failures) * 1000
        if last_at_ms is None or not wait_ms:
            return 0
        return max(0, -(-(wait_ms - (now_ms - last_at_ms)) // 1000))

    def _matches(self, pin_hash: str, pin: str) -> bool:
        try:
            return self._hasher.verify(pin_hash, pin)
        except (VerificationError, InvalidHashError):
            return False

    def _welcome(self, initials: str, pin: str, held: str) -> None:
        renewed = self._hasher.hash(pin) if self._hasher.check_needs_rehash(held) else None
        with self._store.writing() as conn:
            conn.execute(_CLEAR, (initials,))
            if renewed:
                conn.execute(_REHASH, (renewed, initials, held))

    def _row(
        self, conn: sqlite3.Connection, initials: str
    ) -> tuple[str, int, int | None, int] | None:
        row: tuple[str, int, int | None, int] | None = conn.execute(_GET, (initials,)).fetchone()
        return row
