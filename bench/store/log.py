"""The log, and the only way to write to it: a bench's own statements, and chains sent in by devices."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from hashlib import sha256

from bench.core.bounds import BadEntry
from bench.core.entries import KINDS, Draft, Entry, Unknown, sealed
from bench.core.ids import entry_id, is_entry_id, time_of_entry_id_ms
from bench.core.instruments import named_by
from bench.core.wire import body_document, canonical, digest_of, seal
from bench.store.decode import header_of
from bench.store.intake import LARGEST_BATCH, Receipt, accept
from bench.store.open import Store
from bench.store.reading import NOTHING_HELD, Cursor, Reading
from bench.store.readmodels import ReadModels
from bench.store.refusals import AlreadyRecorded, BatchTooLarge

Check = Callable[[tuple[Entry, ...]], None]
Accepted = tuple[Entry, bytes]

KEPT_ASIDE = frozenset({"other_digest", "chain_forked", "wrong_prev"})
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_A_DAY_MS = 86_400_000
_PUT = (
    "INSERT INTO entries (position, id, device, device_seq, kind, case_code, setting_id, person, at, "
    "prev, digest, bytes, received_at, arrival) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)
_PUT_ASIDE = (
    "INSERT INTO quarantine (id, device, device_seq, digest, code, bytes, received_at, arrival) "
    "VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (digest) DO NOTHING"
)
_PUT_USE = "INSERT INTO instrument_uses (tag, at, position) VALUES (?, ?, ?)"
_HEAD = (
    "SELECT device_seq, digest, id FROM entries WHERE device = ? ORDER BY device_seq DESC LIMIT 1"
)
_LAST = "SELECT position, arrival FROM entries ORDER BY position DESC LIMIT 1"


def iso(at_ms: int) -> str:
    """Return Unix time in milliseconds as the log writes it: UTC, ISO 8601, three decimals."""
    moment = _EPOCH + timedelta(milliseconds=at_ms)
    return moment.strftime("%Y-%m-%dT%H:%M:%S.") + f"{at_ms % 1000:03d}Z"


def arrival_digest(before: str, position: int, digest: str, received_at: str) -> str:
    """Return the digest that chains what arrived in its order, over all devices.

    For an entry kept aside `before` is the code of its refusal and `position` its sequence number.
    """
    return sha256(f"{before} {position} {digest} {received_at}".encode()).hexdigest()


def _now_ms() -> int:
    return time.time_ns() // 1_000_000


class Log(Reading):
    """Everything recorded, and the only writer. Safe to share between threads."""

    def __init__(self, store: Store, clock_ms: Callable[[], int] = _now_ms) -> None:
        super().__init__(store)
        self.models = ReadModels(self)
        self._clock_ms = clock_ms

    def record(
        self,
        drafts: Sequence[Draft],
        *,
        check: Check | None = None,
        now_ms: int,
        random_bits: Callable[[], int],
    ) -> tuple[Entry, ...]:
        """Seal statements of one case, or of the lab, as this bench's own; all are kept or none.

        `check` is called with the entries the case has at that very moment and raises to refuse: no
        other writer can come between it and the write. A statement whose id is recorded already is
        answered with that entry, and when all are, `check` is not asked. Raises AlreadyRecorded,
        BadEntry, LogbookBusy and whatever `check` raises.
        """
        case = _one_case(drafts)
        with self.store.writing() as conn:
            known = [self._recorded(draft) for draft in drafts]
            fresh = [draft for draft, entry in zip(drafts, known, strict=True) if entry is None]
            if fresh and check is not None:
                check(self.lab_entries() if case is None else self.entries_of(case))
            made = iter(self._sealed(conn, fresh, now_ms, random_bits))
            return tuple(entry or next(made) for entry in known)

    def _recorded(self, draft: Draft) -> Entry | None:
        if draft.entry_id is None:
            return None
        entry = self.find(draft.entry_id)
        if entry is not None and _said(draft) != _said(entry):
            raise AlreadyRecorded(entry=entry.id)
        return entry

    def _sealed(
        self,
        conn: sqlite3.Connection,
        drafts: list[Draft],
        now_ms: int,
        random_bits: Callable[[], int],
    ) -> list[Entry]:
        device = self.store.device
        head = _head(conn, device)
        ids = _new_ids(drafts, head, now_ms, random_bits)
        accepted: list[Accepted] = []
        for draft, key in zip(drafts, ids, strict=True):
            entry = sealed(
                draft,
                entry_id=key,
                device=device,
                at=iso(now_ms),
                seq=head.seq + 1,
                prev=head.digest,
            )
            stored = seal(entry)[1]
            accepted.append((accept(stored), stored))
            head = Cursor(entry.seq, accepted[-1][0].digest, key)
        self._insert(conn, accepted, iso(now_ms))
        return [entry for entry, _ in accepted]

    def append(self, batch: Sequence[bytes]) -> list[Receipt]:
        """Take in sealed entries of any device and answer each in its place.

        Repeats are answered 'already'; of what is refused nothing is stored, though an entry that
        fights one held (`other_digest`, `chain_forked`, `wrong_prev`) is kept aside. Any splitting,
        repeating and reordering of batches ends in the same log. Raises BatchTooLarge, LogbookBusy.
        """
        _no_more_than_one_batch(batch)
        examined = [_examined(stored) for stored in batch]
        sound = [(one, batch[n]) for n, one in enumerate(examined) if isinstance(one, Entry)]
        taken = iter(self.take(sound))
        return [one if isinstance(one, Receipt) else next(taken) for one in examined]

    def take(self, sound: Sequence[Accepted]) -> list[Receipt]:
        """Take in entries that `intake.accept` let through, each with its bytes, and answer as `append`."""
        _no_more_than_one_batch(sound)
        if not sound:
            return []
        received_at = iso(self._clock_ms())
        with self.store.writing() as conn:
            receipts = self._taken(conn, sound, received_at)
        return [receipts[n] for n in range(len(sound))]

    def _taken(
        self, conn: sqlite3.Connection, sound: Sequence[Accepted], received_at: str
    ) -> dict[int, Receipt]:
        heads: dict[str, Cursor] = {}
        held = self.held_digests([entry.id for entry, _ in sound])
        new: dict[str, Accepted] = {}
        receipts: dict[int, Receipt] = {}
        order = sorted(range(len(sound)), key=lambda n: (sound[n][0].device, sound[n][0].seq))
        for n in order:
            entry, stored = sound[n]
            head = heads.get(entry.device) or _head(conn, entry.device)
            receipt = _answer(entry, head, held.get(entry.id))
            if receipt.verdict == "stored":
                new[entry.id] = (entry, stored)
                held[entry.id] = entry.digest
                head = Cursor(entry.seq, entry.digest, entry.id)
            elif receipt.code in KEPT_ASIDE:
                _keep_aside(conn, entry, stored, receipt.code, received_at)
            heads[entry.device], receipts[n] = head, receipt
        self._insert(conn, list(new.values()), received_at)
        return receipts

    def _insert(self, conn: sqlite3.Connection, accepted: list[Accepted], received_at: str) -> None:
        position, arrival = conn.execute(_LAST).fetchone() or (0, "")
        rows = []
        for e, stored in accepted:
            position += 1
            arrival = arrival_digest(arrival, position, e.digest, received_at)
            rows.append((
                position, e.id, e.device, e.seq, e.kind, e.case, e.setting, e.person, e.at, e.prev,
                e.digest, stored, received_at, arrival,
            ))  # fmt: skip
        conn.executemany(_PUT, rows)
        first = position - len(accepted) + 1
        conn.executemany(_PUT_USE, [
            (tag, entry.at, place)
            for place, (entry, _) in enumerate(accepted, start=first) for tag in named_by(entry.body)
        ])  # fmt: skip
        for code in dict.fromkeys(entry.case for entry, _ in accepted):
            if code is not None:
                self.models.renew(conn, code)


def _no_more_than_one_batch(batch: Sequence[object]) -> None:
    if len(batch) > LARGEST_BATCH:
        raise BatchTooLarge(count=len(batch), most=LARGEST_BATCH)


def _one_case(drafts: Sequence[Draft]) -> str | None:
    cases = {draft.case for draft in drafts}
    if len(cases) > 1:
        raise BadEntry("case", "two_cases")
    named = [draft.entry_id for draft in drafts if draft.entry_id is not None]
    if len(named) > len(set(named)):
        raise BadEntry("id", "named_twice", value=named[0])
    for draft in drafts:
        if isinstance(draft.body, Unknown):
            raise BadEntry("kind", "bad_body", value="")
        if draft.entry_id is not None and not is_entry_id(draft.entry_id):
            raise BadEntry("id", "no_entry_id", value=draft.entry_id[:60])
    return next(iter(cases), None)


def _said(one: Draft | Entry) -> tuple[object, ...]:
    """Return what is stated, by whom and of what: equal for a tap and its repeat."""
    kind = one.kind if isinstance(one, Entry) else type(one.body)
    body = canonical(body_document(one.body))
    known = KINDS.get(kind) if isinstance(kind, str) else kind
    return known, body, one.person, one.case, one.setting, tuple(one.supersedes), one.reason


def _new_ids(
    drafts: list[Draft], head: Cursor, now_ms: int, random_bits: Callable[[], int]
) -> list[str]:
    """Return the drafts' ids; those made here sort in the order of the drafts and after the head.

    So the order of one bench's statements survives a clock that was set back.
    """
    unnamed = sum(draft.entry_id is None for draft in drafts)
    bits = iter(sorted(random_bits() for _ in range(unnamed)))
    at_ms = _not_before(head, now_ms)
    return [draft.entry_id or entry_id(at_ms, next(bits)) for draft in drafts]


def _not_before(head: Cursor, now_ms: int) -> int:
    head_ms = time_of_entry_id_ms(head.id) if is_entry_id(head.id) else 0
    # An id that lies further ahead came from a clock gone wrong and is not followed.
    return head_ms + 1 if now_ms <= head_ms < now_ms + _A_DAY_MS else now_ms


def _examined(stored: bytes) -> Entry | Receipt:
    try:
        return accept(stored)
    except BadEntry as bad:
        return Receipt(_id_in(stored), digest_of(stored), "refused", bad.code, bad.field)


def _id_in(stored: bytes) -> str:
    try:
        found = header_of(stored).id
    except BadEntry:
        return ""
    return found if is_entry_id(found) else ""


def _head(conn: sqlite3.Connection, device: str) -> Cursor:
    row = conn.execute(_HEAD, (device,)).fetchone()
    return Cursor(*row) if row else NOTHING_HELD


def _answer(entry: Entry, head: Cursor, held: str | None) -> Receipt:
    receipt = Receipt(entry.id, entry.digest, "refused", held_seq=head.seq)
    if held is not None:
        if held == entry.digest:
            return Receipt(entry.id, entry.digest, "already")
        return replace(receipt, code="other_digest", field="id")
    if entry.seq > head.seq + 1:
        return replace(receipt, code="gap", field="seq")
    if entry.seq <= head.seq:
        return replace(receipt, code="chain_forked", field="seq")
    if entry.prev != head.digest:
        return replace(receipt, code="wrong_prev", field="prev")
    return Receipt(entry.id, entry.digest, "stored")


def _keep_aside(
    conn: sqlite3.Connection, entry: Entry, stored: bytes, code: str, received_at: str
) -> None:
    arrival = arrival_digest(code, entry.seq, entry.digest, received_at)
    row = (entry.id, entry.device, entry.seq, entry.digest, code, stored, received_at, arrival)
    conn.execute(_PUT_ASIDE, row)
