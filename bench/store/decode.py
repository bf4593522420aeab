"""Stored bytes back into entries: the header first, then the body by its kind.

What this version cannot read stays in the entry to the letter as `Unknown`.
"""

from __future__ import annotations

import json
from functools import cache

import msgspec

from bench.core.bounds import BadEntry
from bench.core.entries import KINDS, Body, Entry, Unknown
from bench.core.wire import WIRE_VERSION, digest_of


class Header(msgspec.Struct, frozen=True):
    """The fields of a stored entry in the order of its canonical bytes; the body still as JSON."""

    at: str
    body: msgspec.Raw
    case: str | None
    device: str
    id: str
    kind: str
    person: str
    prev: str
    reason: str
    seq: int
    setting: str | None
    supersedes: tuple[str, ...]
    v: int


_read_header = msgspec.json.Decoder(Header).decode


def header_of(stored: bytes) -> Header:
    """Read the header of stored bytes; BadEntry('entry', 'unreadable') when they hold none."""
    try:
        return _read_header(stored)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        raise BadEntry("entry", "unreadable") from error


@cache
def _body_reader(kind: str) -> msgspec.json.Decoder[Body] | None:
    return msgspec.json.Decoder(KINDS[kind]) if kind in KINDS else None


def is_known(header: Header) -> bool:
    """Say whether this version knows the kind and the wire version of an entry."""
    return header.v == WIRE_VERSION and header.kind in KINDS


def body_of(header: Header) -> Body:
    """Read the body of an entry of a known kind.

    Raises BadEntry: the one of the body's own bounds where it breaks them, else 'bad_body'.
    """
    reader = _body_reader(header.kind)
    if reader is None:
        raise BadEntry("kind", "bad_body", value=header.kind)
    try:
        return reader.decode(header.body)
    except (ValueError, TypeError, RecursionError) as error:
        if isinstance(error.__cause__, BadEntry):
            raise error.__cause__ from error
        raise BadEntry("body", "bad_body", value=header.kind) from error


def decode(stored: bytes, digest: str | None = None) -> Entry:
    """Return the entry that stored bytes hold.

    `digest` is the one stored beside the bytes; without it, it is taken of the bytes. A body of an
    unknown kind, or one that breaks the bounds of its kind, becomes `Unknown`. Raises
    BadEntry('entry', 'unreadable') when not even the header can be read.
    """
    header = header_of(stored)
    return _entry(header, _lenient_body(header), digest or digest_of(stored))


def _lenient_body(header: Header) -> Body:
    if header.v == WIRE_VERSION:
        reader = _body_reader(header.kind)
        if reader is not None:
            try:
                return reader.decode(header.body)
            except (ValueError, TypeError, RecursionError):
                pass
    return Unknown(bytes(header.body).decode("utf-8", errors="replace"))


def with_body(header: Header, body: Body, digest: str) -> Entry:
    """Return the entry of a header and its body."""
    return _entry(header, body, digest)


def _entry(h: Header, body: Body, digest: str) -> Entry:
    return Entry(
        h.id, h.kind, body, h.person, h.device, h.at, h.seq, h.prev,
        h.case, h.setting, h.supersedes, h.reason, digest,
    )  # fmt: skip


def unreadable(
    stored: bytes, *, entry_id: str, kind: str, person: str, device: str, at: str, seq: int,
    prev: str, case: str | None, digest: str,
) -> Entry:  # fmt: skip
    """Return an entry for bytes whose header is damaged, from the columns beside them."""
    text = json.dumps(stored.decode("utf-8", errors="replace"))
    return Entry(entry_id, kind, Unknown(text), person, device, at, seq, prev, case, digest=digest)
