"""Case page, board and search in a logbook of many cases, beside the same pages with a hundred.

Not among the rows measured when none is named: filling takes some minutes and gigabytes. Each case
of the invented lab is copied under other codes and ids through the one intake, one tablet a round.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import cycle
from pathlib import Path

from bench.core.ids import case_code, number_of_code
from bench.core.wire import canonical, digest_of
from bench.store.log import Log
from measures.row import Row, percentile, timed_ms
from measures.served import AS_BROWSERS, Bench

FEW, TIMES, BATCH = 100, 200, 500
FIRST_COPY, ID_STEP, ID_SPAN = 1_000_000, 0x9E37_79B1, 1 << 48
SOME = "SELECT code, number FROM case_summaries WHERE number <> '' ORDER BY code LIMIT ?"
PAGES = {
    "case page": "/case/{code}/undercuts",
    "board": "/",
    "board, searched": "/?q={number}",
}


def rows(bench: Bench) -> Iterator[Row]:
    """Fill a logbook up to `--cases`, then measure its pages and its memory beside one of a hundred."""
    few = Bench(bench.folder.parent / "few", FEW)
    many = Bench(bench.folder.parent / "many", FEW)
    try:
        entries = fill_up(many, bench.cases)
        for name, path in PAGES.items():
            small, large = _p95_ms(few, path), _p95_ms(many, path)
            yield Row(f"{name} (p95)", large, "ms", "<= 1.3 x few",
                      f"{bench.cases:,} cases, {entries:,} entries; {FEW} cases {small:.3g} ms, "
                      f"ratio {large / small:.2f}")  # fmt: skip
        yield Row("server memory then", _held_mb(many), "MB", "<= 150 MB")
    finally:
        few.stop()
        many.stop()


def fill_up(bench: Bench, cases: int) -> int:
    """Copy the cases of a bench until it has so many, and return how many entries it then holds."""
    log = bench.log
    templates = [[json.loads(stored) for stored in _stored(bench, code)] for code in bench.codes]
    for round_number in range(cases // len(templates) - 1):
        _copy(log, templates, round_number)
    return int(bench.store.db.conn.execute("SELECT count(*) FROM entries").fetchone()[0])


def _stored(bench: Bench, code: str) -> list[bytes]:
    sql = "SELECT bytes FROM entries WHERE case_code = ? ORDER BY position"
    return [row[0] for row in bench.store.db.conn.execute(sql, (code,))]


def _copy(log: Log, templates: list[list[dict[str, object]]], round_number: int) -> None:
    device, prev, batch, seq = f"tablet-{round_number:06d}", "", [], 0
    for place, entries in enumerate(templates):
        code = case_code(FIRST_COPY + round_number * len(templates) + place)
        for entry in _renamed(entries, code, round_number):
            seq += 1
            stored = canonical({**entry, "device": device, "seq": seq, "prev": prev})
            prev = digest_of(stored)
            batch.append(stored)
    for start in range(0, len(batch), BATCH):
        receipts = log.append(batch[start : start + BATCH])
        assert all(receipt.verdict == "stored" for receipt in receipts), receipts


def _renamed(
    entries: list[dict[str, object]], code: str, round_number: int
) -> list[dict[str, object]]:
    """Return a case's entries under another code and number and under ids of their own."""
    text = json.dumps(entries).replace(str(entries[0]["case"]), code)
    for entry in entries:
        old = str(entry["id"])
        tail = (int(old[-12:], 16) + (round_number + 1) * ID_STEP) % ID_SPAN
        text = text.replace(old, f"{old[:-12]}{tail:012x}")
    renamed: list[dict[str, object]] = json.loads(text)
    for entry in renamed:
        if entry["kind"] == "case_opened":
            entry["body"] = {**entry["body"], "number": _number_of(code)}  # type: ignore[dict-item]
    return renamed


def _number_of(code: str) -> str:
    year, number = divmod(number_of_code(code) - FIRST_COPY, 10_000)
    return f"{10 + year % 16}-{number:04d}"


def _p95_ms(bench: Bench, path: str) -> float:
    places = cycle(bench.store.db.conn.execute(SOME, (TIMES,)).fetchall())
    bench.line.close()  # the server lets go of a line that nothing was asked on for a while
    if not bench.cookies:
        bench.sign_in()

    def ask() -> None:
        code, number = next(places)
        status, body, _ = bench.ask(path.format(code=code, number=number), **AS_BROWSERS)
        if status != 200:
            raise SystemExit(f"{path} was answered {status}: {body[:200]!r}")

    timed_ms(ask, 20)
    return percentile(timed_ms(ask, TIMES), 0.95)


def _held_mb(bench: Bench) -> float:
    assert bench.process is not None
    status = Path(f"/proc/{bench.process.pid}/status").read_text()
    return int(status.partition("VmRSS:")[2].split()[0]) / 1000
