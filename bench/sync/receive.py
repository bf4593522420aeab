"""The one intake for what devices send: every entry is judged, then goes to the log or gets its reason.

What contradicts other entries is not refused here: it is shown on the case. What only the bench may
decide, such as a release, is never taken from a tablet.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from threading import Lock
from typing import Literal

from bench.core.bounds import BadEntry
from bench.core.entries import (
    BY_A_SUPERVISOR,
    ONLY_AT_THE_BENCH,
    CaseOpened,
    DevicePaired,
    DrillReading,
    Entry,
    Unknown,
)
from bench.core.ids import time_of_entry_id_ms
from bench.core.lab import Device, Lab
from bench.core.wire import digest_of
from bench.store.decode import header_of
from bench.store.intake import Receipt, accept
from bench.store.log import Log
from bench.store.refused import Refused, keep_refused, refused_before

MOST_ENTRIES = 500
A_DAY_MS = 86_400_000
AHEAD_MS = 2 * A_DAY_MS
FAR_AHEAD_MS = 7 * A_DAY_MS
FAR_BEHIND_MS = 3653 * A_DAY_MS
NOT_FOR_GOOD = frozenset({"gap"})

Verdict = Literal["stored", "already", "refused", "waits"]
Note = Literal["", "clock_off", "unknown_kind"]


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of one entry sent in.

    'waits' is stored no more than 'refused' is, yet may be sent again as it is once the lab knows its
    person. `params` are figures for the words of a refusal.
    """

    id: str
    digest: str
    verdict: Verdict
    code: str = ""
    field: str = ""
    held_seq: int | None = None
    note: Note = ""
    params: dict[str, object] = dataclasses.field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Known:
    """What a batch is judged by: who sends it, the lab, the time, and what was decided before."""

    signer: Device
    lab: Lab
    now_ms: int
    refused: dict[str, Refused]
    held: dict[str, str]


class Intake:
    """Takes in what devices send. One batch at a time: a refusal must be kept before the next is judged."""

    def __init__(self, log: Log, clock_ms: Callable[[], int]) -> None:
        self.log = log
        self._clock_ms = clock_ms
        self._turn = Lock()

    def clock_is_behind(self) -> bool:
        """Say whether this PC's clock lies so far behind the newest entry that it cannot judge others."""
        newest = self.log.newest_received_at()
        return bool(newest) and _ms(newest) - self._clock_ms() > AHEAD_MS

    def receive(self, signer: Device, batch: Sequence[bytes]) -> list[Answer]:
        """Take in at most 500 sealed entries of a device and answer each in its place.

        The caller has checked the signature over the batch. Sending it again, in any pieces, changes
        nothing. Raises BatchTooLarge and LogbookBusy.
        """
        with self._turn:
            return self._receive(signer, batch)

    def _receive(self, signer: Device, batch: Sequence[bytes]) -> list[Answer]:
        examined = [_examined(stored) for stored in batch]
        known = self._known(signer, examined)
        judged = [one if isinstance(one, Answer) else _judged(one, known) for one in examined]
        fit = [
            (n, one) for n, one in enumerate(examined)
            if isinstance(one, Entry) and judged[n].verdict == "stored"
        ]  # fmt: skip
        # Examined once: the log takes what was found sound here as it is.
        receipts = self.log.take([(one, batch[n]) for n, one in fit])
        for (n, _), receipt in zip(fit, receipts, strict=True):
            judged[n] = _answer(receipt, judged[n].note)
        self._remember(signer, judged, known.now_ms)
        return judged

    def _known(self, signer: Device, examined: Sequence[Entry | Answer]) -> _Known:
        digests, ids = [one.digest for one in examined], [one.id for one in examined]
        refused = refused_before(self.log.store, digests)
        lab = _with_pairings(self.log.lab(), signer, examined)
        return _Known(signer, lab, self._clock_ms(), refused, self.log.held_digests(ids))

    def _remember(self, signer: Device, answers: Iterable[Answer], now_ms: int) -> None:
        rows = [
            (one.digest, signer.device, one.code, one.field)
            for one in answers
            if one.verdict == "refused" and one.code not in NOT_FOR_GOOD
        ]
        keep_refused(self.log.store, rows, now_ms)


def is_bench(device: str) -> bool:
    """Say whether a device is another bench, which has judged what it hands on."""
    return device.startswith("bench-")


def _examined(stored: bytes) -> Entry | Answer:
    try:
        return accept(stored)
    except BadEntry as bad:
        key = _id_in(stored)
        return Answer(
            key, digest_of(stored), "refused", bad.code, bad.field, params=dict(bad.params)
        )


def _id_in(stored: bytes) -> str:
    try:
        return header_of(stored).id[:64]
    except BadEntry:
        return ""


def _with_pairings(lab: Lab, signer: Device, examined: Sequence[Entry | Answer]) -> Lab:
    """Count the devices that another bench's batch itself pairs among those known."""
    if not is_bench(signer.device):
        return lab
    paired = {
        one.body.device: Device(one.body.device, one.body.name, one.body.public_key, one.at, one.person)
        for one in examined
        if isinstance(one, Entry) and isinstance(one.body, DevicePaired)
    }  # fmt: skip
    return Lab(lab.people, lab.policy, lab.instruments, {**paired, **lab.devices}, lab.history)


def _judged(entry: Entry, known: _Known) -> Answer:
    """Return 'stored' for an entry that may go to the log; what is held already is not judged again."""
    if known.held.get(entry.id) == entry.digest:
        return Answer(entry.id, entry.digest, "stored")
    before = known.refused.get(entry.digest)
    if before is not None:
        return Answer(entry.id, entry.digest, "refused", *before)
    for demand in _OF_A_BENCH if is_bench(known.signer.device) else _OF_A_TABLET:
        refused = demand(entry, known)
        if refused is not None:
            return refused
    return Answer(entry.id, entry.digest, "stored", note=_note(entry, known.now_ms))


def _its_own(entry: Entry, known: _Known) -> Answer | None:
    return None if entry.device == known.signer.device else _refused(entry, "not_the_signer")


def _of_a_known_device(entry: Entry, known: _Known) -> Answer | None:
    ours = entry.device == known.signer.device or entry.device in known.lab.devices
    return None if ours else _refused(entry, "not_the_signer")


def _not_for_the_bench(entry: Entry, known: _Known) -> Answer | None:
    return (
        _refused(entry, "only_at_the_bench", "kind")
        if type(entry.body) in ONLY_AT_THE_BENCH
        else None
    )


def _corrects_no_other(entry: Entry, known: _Known) -> Answer | None:
    """What is said of the lab is changed by saying it anew; a reading of a drill alone is taken anew."""
    alone = entry.case is None and not isinstance(entry.body, (DrillReading, Unknown))
    return (
        _refused(entry, "only_at_the_bench", "supersedes") if alone and entry.supersedes else None
    )


def _of_its_own_label(entry: Entry, known: _Known) -> Answer | None:
    body = entry.body
    fits = not isinstance(body, CaseOpened) or body.code == entry.case
    return None if fits else _refused(entry, "bad_code", "code")


def _by_its_person(entry: Entry, known: _Known) -> Answer | None:
    person = known.lab.stood(entry.person, entry.at)
    if person is None:
        return _refused(entry, "unknown_person", "person", "waits")
    alone = type(entry.body) in BY_A_SUPERVISOR and person.role != "supervisor"
    if not person.active or person.role == "reader" or alone:
        return _refused(entry, "not_allowed", "person")
    return None


def _by_a_clock(entry: Entry, known: _Known) -> Answer | None:
    try:
        ahead_ms = _ahead_ms(entry, known.now_ms)
    except ValueError:
        return _refused(entry, "bad_at", "at")
    behind_ms = known.now_ms - min(_ms(entry.at), time_of_entry_id_ms(entry.id))
    if ahead_ms > FAR_AHEAD_MS or behind_ms > FAR_BEHIND_MS:
        return _refused(entry, "far_clock", "at")
    return None


def _note(entry: Entry, now_ms: int) -> Note:
    if _ahead_ms(entry, now_ms) > AHEAD_MS:
        return "clock_off"
    return "unknown_kind" if isinstance(entry.body, Unknown) else ""


def _ahead_ms(entry: Entry, now_ms: int) -> int:
    return max(_ms(entry.at), time_of_entry_id_ms(entry.id)) - now_ms


def _ms(at: str) -> int:
    return round(datetime.fromisoformat(at).timestamp() * 1000)


def _refused(entry: Entry, code: str, of: str = "device", verdict: Verdict = "refused") -> Answer:
    params: dict[str, object] = {"person": entry.person, "kind": entry.kind, "at": entry.at}
    return Answer(entry.id, entry.digest, verdict, code, of, params=params)


def _answer(receipt: Receipt, note: Note) -> Answer:
    return Answer(
        receipt.id, receipt.digest, receipt.verdict, receipt.code, receipt.field, receipt.held_seq,
        note if receipt.verdict == "stored" else "", {"held_seq": receipt.held_seq},
    )  # fmt: skip


Demand = Callable[[Entry, _Known], Answer | None]
_OF_A_TABLET: tuple[Demand, ...] = (
    _its_own, _not_for_the_bench, _corrects_no_other, _of_its_own_label, _by_its_person,
    _by_a_clock,
)  # fmt: skip
_OF_A_BENCH: tuple[Demand, ...] = (_of_a_known_device, _by_a_clock)
