"""The one-time code that lets a device in: kept hashed, one at a time, for ten minutes and one device."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass

from bench.store.credentials import Patience
from bench.store.open import Store
from bench.store.refusals import CodeRefused, Throttled

DIGITS = 8
LIFE_MS = 600_000
_SALT_BYTES = 16
_PATIENCE = Patience()
_PUT = (
    "INSERT OR REPLACE INTO pairing_code (only_row, salt, code_hash, supervisor, made_at_ms) "
    "VALUES (1, ?, ?, ?, ?)"
)
_GET = "SELECT salt, code_hash, supervisor, made_at_ms, tries, last_try_at_ms, used_by FROM pairing_code"
_COUNT = "UPDATE pairing_code SET tries = tries + 1, last_try_at_ms = ?"
_USE = "UPDATE pairing_code SET used_by = ?, tries = tries - 1"


@dataclass(frozen=True, slots=True)
class _Row:
    salt: bytes
    code_hash: bytes
    supervisor: str
    made_at_ms: int
    tries: int
    last_try_at_ms: int | None
    used_by: str


def new_code(
    store: Store,
    supervisor: str,
    now_ms: int,
    random_digits: Callable[[int], int] = secrets.randbelow,
) -> str:
    """Return a fresh code of eight digits; the one before it is worth nothing from now on."""
    code, salt = f"{random_digits(10**DIGITS):0{DIGITS}d}", secrets.token_bytes(_SALT_BYTES)
    with store.writing() as conn:
        conn.execute(_PUT, (salt, _hashed(code, salt), supervisor, now_ms))
    return code


def redeem(store: Store, code: str, device: str, now_ms: int) -> str:
    """Return the initials of who made the code, and bind it to the device for good.

    The same device may show it again, for it may not have got the answer. Raises CodeRefused without
    saying why, or Throttled with the seconds to wait after wrong ones.
    """
    with store.writing() as conn:
        held = _counted(conn, now_ms)
    fits = held is not None and hmac.compare_digest(_hashed(code, held.salt), held.code_hash)
    if held is None or not fits or held.used_by not in ("", device):
        raise CodeRefused()
    with store.writing() as conn:
        _bind(conn, held, device)
    return held.supervisor


def forget_code(store: Store) -> None:
    """Make the code there may be worth nothing."""
    with store.writing() as conn:
        conn.execute("DELETE FROM pairing_code")


def _row(conn: sqlite3.Connection) -> _Row | None:
    row = conn.execute(_GET).fetchone()
    return _Row(*row) if row else None


def _counted(conn: sqlite3.Connection, now_ms: int) -> _Row | None:
    """Count the try before it is looked at, so that tries side by side all count."""
    held = _row(conn)
    if held is None or not 0 <= now_ms - held.made_at_ms <= LIFE_MS:
        return None
    if held.tries >= _PATIENCE.tries_until_locked:
        return None
    wait_ms = _PATIENCE.wait_s(held.tries) * 1000 - (now_ms - (held.last_try_at_ms or 0))
    if held.last_try_at_ms is not None and wait_ms > 0:
        raise Throttled(seconds=-(-wait_ms // 1000))
    conn.execute(_COUNT, (now_ms,))
    return held


def _bind(conn: sqlite3.Connection, held: _Row, device: str) -> None:
    now = _row(conn)
    if now is None or now.code_hash != held.code_hash or now.used_by not in ("", device):
        raise CodeRefused()
    conn.execute(_USE, (device,))


def _hashed(code: str, salt: bytes) -> bytes:
    """Return the slow hash of a code: eight digits alone would be guessed from a quick one."""
    return hashlib.scrypt(code.encode(), salt=salt, n=2**14, r=8, p=1)
