"""When a device was last heard of, and how much it said it still holds. No part of the log."""

from __future__ import annotations

from dataclasses import dataclass

from bench.store.open import Store

_SEEN = (
    "INSERT INTO device_contacts (device, at_ms, unsent) VALUES (?, ?, ?) ON CONFLICT (device) "
    "DO UPDATE SET at_ms = excluded.at_ms, unsent = coalesce(excluded.unsent, unsent)"
)


@dataclass(frozen=True, slots=True)
class Contact:
    """The last word of a device: when (Unix ms), and how many entries it held unsent then, if it said."""

    at_ms: int
    unsent: int | None


def note_contact(store: Store, device: str, at_ms: int, unsent: int | None = None) -> None:
    """Keep that a device was heard of; `unsent` None leaves what it said before."""
    with store.writing() as conn:
        conn.execute(_SEEN, (device, at_ms, unsent))


def contacts(store: Store) -> dict[str, Contact]:
    """Return the last contact of every device that was ever heard of."""
    rows = store.db.conn.execute("SELECT device, at_ms, unsent FROM device_contacts")
    return {device: Contact(at_ms, unsent) for device, at_ms, unsent in rows}


def kept_aside(store: Store) -> dict[str, int]:
    """Return for each device how many of its entries are kept aside because they fight others."""
    rows = store.db.conn.execute("SELECT device, count(*) FROM quarantine GROUP BY device")
    return dict(rows.fetchall())
