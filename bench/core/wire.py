"""Canonical bytes of an entry: RFC 8785 JSON, so that every reader hashes the same text.

Fractions are kept to four decimals and below 10^9, whole numbers stay below 2^53, names are ASCII: there
sorted `json.dumps` and RFC 8785 write alike.
"""

from __future__ import annotations

import hashlib
import json
import math
from dataclasses import fields

from bench.core.bounds import BadEntry
from bench.core.entries import Body, Entry, Unknown, with_digest

WIRE_VERSION = 1
DECIMALS = 4
_LARGEST = 1e9
_in_order = json.JSONEncoder(
    sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
).encode

Plain = str | int | float | bool | None | list["Plain"] | dict[str, "Plain"]


def plain(value: object) -> Plain:
    """Return a value as JSON knows it; floats rounded to four decimals, whole ones as integers."""
    if isinstance(value, float):
        return _number(value)
    if isinstance(value, (tuple, list)):
        return [plain(item) for item in value]
    if value is None or isinstance(value, (str, bool, int)):
        return value
    raise TypeError(f"{type(value).__name__} has no canonical form")


def _number(value: float) -> int | float:
    if not math.isfinite(value) or abs(value) >= _LARGEST:
        raise BadEntry("number", "out_of_range", value=value, low=-_LARGEST, high=_LARGEST, unit="")
    rounded = round(value, DECIMALS)
    return int(rounded) if rounded.is_integer() else rounded


def body_document(body: Body) -> Plain:
    """Return the body as plain JSON values; an unknown kind's body as it was received."""
    if isinstance(body, Unknown):
        unknown: Plain = json.loads(body.text)
        return unknown
    return {field.name: plain(getattr(body, field.name)) for field in fields(body)}


def document(entry: Entry) -> dict[str, Plain]:
    """Return the entry as plain JSON values, without its digest."""
    return {
        "v": WIRE_VERSION, "id": entry.id, "kind": entry.kind, "case": entry.case,
        "setting": entry.setting, "body": body_document(entry.body), "person": entry.person,
        "device": entry.device, "at": entry.at, "seq": entry.seq, "prev": entry.prev,
        "supersedes": list(entry.supersedes), "reason": entry.reason,
    }  # fmt: skip


def canonical(value: Plain) -> bytes:
    """Return the RFC 8785 bytes of plain JSON values within the limits of `plain`."""
    return _in_order(value).encode("utf-8")


def digest_of(stored: bytes) -> str:
    """Return the SHA-256 of stored bytes in lower-case hexadecimal."""
    return hashlib.sha256(stored).hexdigest()


def seal(entry: Entry) -> tuple[Entry, bytes]:
    """Return the entry with its digest, and the canonical bytes that the digest is over."""
    stored = canonical(document(entry))
    return with_digest(entry, digest_of(stored)), stored
