"""The audit's pages over loopback with 100,000 re-mounts, and what a re-mount recorded costs them."""

from __future__ import annotations

import random
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from bench.core.entries import Body, CaseOpened, Draft, Mounted, Remounted, sealed
from bench.core.ids import case_code, entry_id
from bench.core.tilt import Tilt, total_deg
from bench.core.wire import seal
from bench.store.audit import Audit
from bench.store.log import Log, iso
from bench.store.open import Store
from measures.row import Row, percentile, timed_ms
from measures.served import AS_BROWSERS, Bench, hidden_fields

REMOUNTS, CASTS, BATCH, TIMES = 100_000, 2_000, 500, 100
PEOPLE = tuple(f"T{letter}" for letter in "ABCDEFGHIJKL")
SURVEYORS = ("S1", "S2", "S3", "S4")
METHODS = ("scored_lines", "inclinometer")
START_MS, EVERY_MS, DEVICE = 1_640_000_000_000, 20 * 60_000, "tablet-00000000beef"
GOAL = "< 300"
NARROWED = "/audit?surveyor=S2&from=2024-01-01&to=2024-12-31"
# No two re-mounts recorded here fall on the same moment.
_AFTER = iter(range(10_000))


@dataclass
class AuditedBench(Bench):
    """A bench with the invented lab and 100,000 re-mounts in its log besides."""

    @cached_property
    def store(self) -> Store:
        """The filled store, opened in this process."""
        opened = super().store
        _put_back(Log(opened))
        return opened


def rows(bench: Bench) -> Iterator[Row]:
    """Measure the pages on a bench of their own; the one given is left as it is."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        audited = AuditedBench(Path(folder) / "lab", 8)
        try:
            yield from _pages(audited)
        finally:
            audited.stop()


def _pages(bench: AuditedBench) -> Iterator[Row]:
    _ = bench.store  # filled first: it tells who may sign in
    bench.sign_in("supervisor")
    beside = f"{REMOUNTS:,} re-mounts, {CASTS:,} casts, one connection"
    yield from _row(bench, "audit overview, pooled", "/audit", beside)
    form = hidden_fields(bench.ask("/audit")[1].decode())
    status = bench.ask("/audit/look", form)[0]
    if status != 303:
        raise SystemExit(f"the look was answered {status}")
    yield from _row(bench, "audit overview, by name", "/audit", "figures of 12 technicians too")
    yield from _row(
        bench,
        "audit overview, one surveyor and a year",
        NARROWED,
        "",
    )
    yield from _row(bench, "entries behind a figure", "/audit/entries?surveyor=S2", "60 of a page")
    yield from _right_after(bench)
    log, audit = bench.log, Audit(bench.log)
    taken = timed_ms(_one_more(log, lambda: audit.version()), 50)
    yield Row(
        "re-mount recorded, with its rows (p95)",
        percentile(taken, 0.95),
        "ms",
        "",
        "cast with 50 re-mounts",
    )


def _row(bench: Bench, name: str, path: str, beside: str) -> Iterator[Row]:
    def ask() -> None:
        status, body, _ = bench.ask(path, **AS_BROWSERS)
        if status != 200:
            raise SystemExit(f"{name} was answered {status}: {body[:200]!r}")

    (cold,) = timed_ms(ask, 1)
    taken = timed_ms(ask, TIMES)
    yield Row(f"{name} (p50)", percentile(taken, 0.5), "ms", "", f"first asked: {cold:.0f} ms")
    yield Row(f"{name} (p95)", percentile(taken, 0.95), "ms", GOAL, beside)


def _right_after(bench: AuditedBench) -> Iterator[Row]:
    """Ask for the overview each time a re-mount has just been recorded: nothing kept fits any more."""
    record, taken = _one_more(bench.log, lambda: None), list[float]()
    for _ in range(TIMES // 2):
        record()
        taken += timed_ms(lambda: bench.ask("/audit", **AS_BROWSERS), 1)
    name = "audit overview, right after a re-mount"
    yield Row(f"{name} (p50)", percentile(taken, 0.5), "ms", "", "by name, as above")
    yield Row(f"{name} (p95)", percentile(taken, 0.95), "ms", GOAL, "")


def _put_back(log: Log) -> None:
    """Record the re-mounts as a tablet's chain, cast by cast."""
    for batch in _batches():
        receipts = log.append(batch)
        assert all(receipt.verdict == "stored" for receipt in receipts)


def _batches() -> Iterator[list[bytes]]:
    dice, prev, seq, batch = random.Random(7), "", 0, list[bytes]()
    for draft in _drafts(dice):
        at_ms, seq = START_MS + seq * EVERY_MS, seq + 1
        entry, stored = seal(
            sealed(
                draft,
                entry_id=entry_id(at_ms, seq),
                device=DEVICE,
                at=iso(at_ms),
                seq=seq,
                prev=prev,
            )
        )
        prev = entry.digest
        batch.append(stored)
        if len(batch) == BATCH:
            yield batch
            batch = []
    yield batch


def _drafts(dice: random.Random) -> Iterator[Draft]:
    for number in range(CASTS):
        code = case_code(10_000 + number)
        yield Draft(CaseOpened(code, f"24-{number:04d}", "lower", "master"), PEOPLE[0], code)
        yield Draft(Mounted(), PEOPLE[0], code)
        for _ in range(REMOUNTS // CASTS):
            yield Draft(_remounted(dice), dice.choice(PEOPLE), code)


def _remounted(dice: random.Random) -> Body:
    ap, lat = round(dice.gauss(0, 0.3), 4), round(dice.gauss(0, 0.3), 4)
    total = round(total_deg(Tilt(ap, lat)), 4)
    return Remounted(dice.choice(METHODS), ap, lat, total, 1.0, surveyor=dice.choice(SURVEYORS))


def _one_more(log: Log, after: Callable[[], object]) -> Callable[[], object]:
    dice, clock = random.Random(8), _AFTER

    def record() -> None:
        draft = Draft(_remounted(dice), PEOPLE[0], case_code(10_000))
        at_ms = START_MS + REMOUNTS * 2 * EVERY_MS + next(clock)
        log.record([draft], now_ms=at_ms, random_bits=lambda: dice.getrandbits(74))
        after()

    return record
