"""What a push says, and what can be read of the log by cursors."""

from __future__ import annotations

import msgspec

from bench.core.bounds import BadEntry
from bench.store.log import Log
from bench.sync.receive import MOST_ENTRIES

PUSH_BYTES = 1_000_000
_MOST_UNSENT = 10_000_000


class Push(msgspec.Struct, frozen=True):
    """A push as it came: whose, of which epoch, how much still waits behind it, and the sealed texts."""

    device: str
    epoch: str
    entries: tuple[str, ...]
    unsent: int = 0


_read = msgspec.json.Decoder(Push).decode


def push_in(body: bytes) -> Push:
    """Return the push in a body; raise BadEntry 'bad_request', or 'oversize' for too many entries."""
    try:
        push = _read(body)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError):
        raise BadEntry("push", "bad_request") from None
    if len(push.entries) > MOST_ENTRIES:
        raise BadEntry("entries", "oversize", most=MOST_ENTRIES)
    if not 0 <= push.unsent <= _MOST_UNSENT:
        raise BadEntry("unsent", "bad_request")
    return push


def cursors(log: Log) -> dict[str, dict[str, object]]:
    """Return for each device how far its chain is held: sequence number and digest."""
    return {device: {"seq": at.seq, "digest": at.digest} for device, at in log.cursors().items()}


def after(log: Log, device: str, seq: int, limit: int) -> list[str]:
    """Return the canonical texts of a device's entries after a sequence number, at most a push's worth."""
    texts: list[str] = []
    room = PUSH_BYTES
    for stored in log.after(device, max(0, seq), min(max(1, limit), MOST_ENTRIES)):
        room -= len(stored)
        if room < 0 and texts:
            break
        texts.append(stored.decode("utf-8"))
    return texts
