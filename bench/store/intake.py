"""What the log accepts: sealed bytes whose form, header and statement all hold."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import msgspec

from bench.core import bounds
from bench.core.bounds import BadEntry
from bench.core.entries import Body, Draft, Entry, Unknown
from bench.core.ids import BadCode, code_from_typed, is_entry_id
from bench.core.wire import body_document, canonical, digest_of
from bench.store.decode import Header, body_of, header_of, is_known, with_body

LARGEST_BYTES = 64 * 1024
LARGEST_BATCH = 500
_MOST_SUPERSEDED = 100
_DEVICE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}", re.ASCII)
_TIME = re.compile(
    r"\d{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12]\d|3[01])T(?:[01]\d|2[0-3]):[0-5]\d:[0-5]\d\.\d{3}Z",
    re.ASCII,
)
_DIGEST = re.compile(r"(?:[0-9a-f]{64})?", re.ASCII)
_KIND = re.compile(r"[a-z][a-z0-9_]{0,63}", re.ASCII)
_LARGEST_SEQ = 2**53 - 1
_AFTER_AT = len('{"at":"2025-01-01T00:00:00.000Z",')

Verdict = Literal["stored", "already", "refused"]


@dataclass(frozen=True, slots=True)
class Receipt:
    """What became of one entry sent in: it names the entry's id and the digest of the bytes received.

    A refusal carries its code, the field at fault and, for a gap or another chain, `held_seq`: the
    last number of that device that is held.
    """

    id: str
    digest: str
    verdict: Verdict
    code: str = ""
    field: str = ""
    held_seq: int | None = None


def accept(stored: bytes) -> Entry:
    """Return the entry of sealed bytes that may be stored; raise BadEntry for all others.

    Codes of the form: 'too_large', 'unreadable', 'not_canonical'; of the header and the body, those
    of core.bounds, and 'bad_body' where the body has not the fields of its kind.
    """
    if len(stored) > LARGEST_BYTES:
        raise BadEntry("entry", "too_large", most=LARGEST_BYTES)
    header = header_of(stored)
    _check_header(header)
    raw = bytes(header.body)
    if _assembled(header, raw) != stored:
        raise BadEntry("entry", "not_canonical")
    return with_body(header, _body(header, raw), digest_of(stored))


def _check_header(header: Header) -> None:
    if not is_entry_id(header.id):
        raise BadEntry("id", "no_entry_id", value=header.id[:60])
    for field, shape in (("device", _DEVICE), ("at", _TIME), ("prev", _DIGEST), ("kind", _KIND)):
        value = getattr(header, field)
        if not shape.fullmatch(value):
            raise BadEntry(field, f"bad_{field}", value=value[:80])
    bounds.within("seq", header.seq, 1, _LARGEST_SEQ, "")
    bounds.within("v", header.v, 1, 1_000_000, "")
    bounds.text("person", header.person, least=1, most=40)
    bounds.text("reason", header.reason, most=2000)
    _check_names(header)


def _check_names(header: Header) -> None:
    if header.case is not None:
        _check_case(header.case)
    if len(header.supersedes) > _MOST_SUPERSEDED:
        raise BadEntry("supersedes", "too_long", most=_MOST_SUPERSEDED)
    for field, key in (
        ("setting", header.setting),
        *(("supersedes", k) for k in header.supersedes),
    ):
        if key is not None:
            bounds.entry_id(field, key)


def _check_case(code: str) -> None:
    try:
        if code_from_typed(code) == code:
            return
    except BadCode:
        pass
    raise BadEntry("case", "bad_code", value=code[:40])


def _assembled(h: Header, raw_body: bytes) -> bytes:
    """Return the canonical bytes around a body; `at` has a fixed length and sorts before `body`."""
    around = canonical(
        {
            "at": h.at, "case": h.case, "device": h.device, "id": h.id, "kind": h.kind,
            "person": h.person, "prev": h.prev, "reason": h.reason, "seq": h.seq,
            "setting": h.setting, "supersedes": list(h.supersedes), "v": h.v,
        }
    )  # fmt: skip
    return around[:_AFTER_AT] + b'"body":' + raw_body + b"," + around[_AFTER_AT:]


def _body(header: Header, raw: bytes) -> Body:
    if not is_known(header):
        if not _is_ordered(raw):
            raise BadEntry("body", "not_canonical")
        return Unknown(raw.decode("utf-8"))
    body = body_of(header)
    if canonical(body_document(body)) != raw and not _is_canonical(raw):
        raise BadEntry("body", "not_canonical")
    Draft(body, header.person, header.case, header.setting, header.supersedes, header.reason)
    return body


def _is_canonical(raw: bytes) -> bool:
    try:
        return canonical(json.loads(raw)) == raw
    except (ValueError, RecursionError):
        return False


def _is_ordered(raw: bytes) -> bool:
    """Say whether JSON holds no spare space and no key twice or out of the order of RFC 8785.

    Numbers are left as they came: a body that this version does not know may hold any.
    """
    try:
        json.loads(raw, object_pairs_hook=_refuse_disorder)
        return msgspec.json.format(raw, indent=-1) == raw
    except (ValueError, RecursionError):
        return False


def _refuse_disorder(pairs: list[tuple[str, object]]) -> None:
    keys = [key.encode("utf-16-be") for key, _ in pairs]
    if any(one >= other for one, other in pairwise(keys)):
        raise ValueError("keys out of order")
