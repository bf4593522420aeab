"""What an entry may hold: small demands that refuse a value with the field, the reason and the remedy."""

from __future__ import annotations

import base64
import binascii
import math
import re
from collections.abc import Iterable
from datetime import date

from bench.core.ids import is_entry_id
from bench.core.surfaces import site_from
from bench.core.teeth import is_tooth

_P256_START = bytes.fromhex("3059301306072a8648ce3d020106082a8648ce3d03010703420004")
_P256_BYTES = len(_P256_START) + 64
# Control characters but for tab and new line, and halves of a surrogate pair.
_NOT_TEXT = re.compile("[\x00-\x08\x0b-\x1f\ud800-\udfff]")


class BadEntry(ValueError):
    """A statement that cannot be recorded: the field at fault, a stable code, and the figures for its words."""

    def __init__(self, field: str, code: str, **params: object) -> None:
        super().__init__(f"{field}: {code} {params}" if params else f"{field}: {code}")
        self.field, self.code, self.params = field, code, params


def one_of(field: str, value: object, allowed: Iterable[object]) -> None:
    """Refuse a value that is not among those allowed."""
    choices = tuple(allowed)
    if value not in choices:
        raise BadEntry(field, "not_a_choice", value=value, choices=", ".join(map(str, choices)))


def text(field: str, value: str, *, least: int = 0, most: int = 500) -> None:
    """Refuse text that is blank where it must not be, too long, or holds control characters."""
    if len(value.strip()) < least:
        raise BadEntry(field, "missing")
    if len(value) > most:
        raise BadEntry(field, "too_long", most=most)
    if _NOT_TEXT.search(value):
        raise BadEntry(field, "control_characters")


def within(field: str, value: float | None, low: float, high: float, unit: str) -> None:
    """Refuse a number outside its range; None passes (the field is optional)."""
    if value is None:
        return
    if isinstance(value, bool) or not math.isfinite(value) or not low <= value <= high:
        raise BadEntry(field, "out_of_range", value=value, low=low, high=high, unit=unit)


def tooth(field: str, value: int) -> None:
    """Refuse a number that is no permanent tooth in ISO 3950."""
    if not is_tooth(value):
        raise BadEntry(field, "no_such_tooth", value=value)


def teeth(field: str, values: Iterable[int]) -> None:
    """Refuse a list of teeth with a stranger or a repeat in it."""
    seen: set[int] = set()
    for value in values:
        tooth(field, value)
        if value in seen:
            raise BadEntry(field, "named_twice", value=value)
        seen.add(value)


def sites(field: str, values: Iterable[str], *, least: int = 1) -> None:
    """Refuse a list of sites such as `34B` with a stranger or a repeat in it, or too short."""
    seen: set[str] = set()
    for value in values:
        try:
            site_from(value)
        except ValueError:
            raise BadEntry(field, "no_such_site", value=value) from None
        if value in seen:
            raise BadEntry(field, "named_twice", value=value)
        seen.add(value)
    if len(seen) < least:
        raise BadEntry(field, "missing")


def entry_id(field: str, value: str) -> None:
    """Refuse text that is no entry's id (UUID version 7, RFC 9562)."""
    if not is_entry_id(value):
        raise BadEntry(field, "no_entry_id", value=value)


def day(field: str, value: str) -> None:
    """Refuse text that is no calendar day written YYYY-MM-DD (ISO 8601)."""
    try:
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", value, re.ASCII):
            raise ValueError
        date.fromisoformat(value)
    except ValueError:
        raise BadEntry(field, "no_such_day", value=value) from None


def pattern(field: str, value: str, shape: str, code: str) -> None:
    """Refuse text that does not match a regular expression as a whole."""
    if not re.fullmatch(shape, value, re.ASCII):
        raise BadEntry(field, code, value=value)


def p256_key(field: str, value: str) -> None:
    """Refuse text that is no base64 of a P-256 public key (SubjectPublicKeyInfo, RFC 5480).

    Whether its point lies on the curve is found by whoever checks a signature with it.
    """
    try:
        key = base64.b64decode(value, validate=True)
    except (ValueError, binascii.Error):
        raise BadEntry(field, "bad_key") from None
    plain = base64.b64encode(key).decode() == value
    if not plain or len(key) != _P256_BYTES or not key.startswith(_P256_START):
        raise BadEntry(field, "bad_key")
