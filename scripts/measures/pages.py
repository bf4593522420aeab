"""Pages over loopback with the invented lab: the undercut page, recording on it, the board."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import cycle

from measures.row import Row, percentile, timed_ms
from measures.served import Bench

TIMES = 300


def rows(bench: Bench) -> Iterator[Row]:
    """Measure pages one after another over one kept connection."""
    bench.sign_in()
    beside = f"{len(bench.codes):,} cases, one connection"
    yield from _row(bench, "undercut page", [f"/case/{c}/undercuts" for c in _mounted(bench)], beside)
    yield from _row(bench, "board", ["/"], beside)
    yield from _row(bench, "board, searched", ["/?q=26", "/?state=ready", "/?q=34"], beside)


def _mounted(bench: Bench) -> list[str]:
    return [code for code in bench.codes[:200] if bench.survey(code).case.now is not None]


def _row(bench: Bench, name: str, paths: list[str], beside: str) -> Iterator[Row]:
    turn = cycle(paths)

    def ask() -> None:
        status, body, _ = bench.ask(next(turn))
        if status != 200:
            raise SystemExit(f"{name} was answered {status}: {body[:200]!r}")

    timed_ms(ask, 20)
    taken = timed_ms(ask, TIMES)
    yield Row(f"{name} (p50)", percentile(taken, 0.5), "ms")
    yield Row(f"{name} (p95)", percentile(taken, 0.95), "ms", "", beside)
