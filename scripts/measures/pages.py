"""Pages over loopback with the invented lab: the undercut page, recording on it, the board."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import cycle

from bench.core.wishes import wishes_of
from measures.row import Row, percentile, timed_ms
from measures.served import AS_BROWSERS, Bench

TIMES = 300


def rows(bench: Bench) -> Iterator[Row]:
    """Measure pages one after another over one kept connection."""
    bench.sign_in()
    beside = f"{len(bench.codes):,} cases, one connection"
    undercuts = [f"/case/{c}/undercuts" for c in _mounted(bench)]
    yield from _row(bench, "undercut page", undercuts, beside)
    yield _size(bench, "undercut page, as sent", undercuts[:20])
    yield from _live(bench, beside)
    yield from _row(bench, "board", ["/"], beside)
    yield from _row(bench, "board, searched", ["/?q=26", "/?state=ready", "/?q=34"], beside)


def _live(bench: Bench, beside: str) -> Iterator[Row]:
    """Measure what a tilt that is tried on the map costs, at the cases with most wishes."""
    known = {code: wishes_of(bench.survey(code)) for code in _mounted(bench)}
    most = sorted(known, key=lambda code: -len(known[code].sites) - len(known[code].planes))[:20]
    tilts = [(ap / 2, lat / 2) for ap in range(-8, 9, 4) for lat in range(-8, 9, 4)]
    paths = [f"/case/{c}/tilt/tried?ap_deg={ap}&lat_deg={lat}" for c in most for ap, lat in tilts]
    yield from _row(bench, "live update of a tilt tried", paths, beside, "at most 150 ms")
    yield from _row(
        bench, "page of the tilt with its map", [f"/case/{c}/tilt" for c in most], beside
    )


def _mounted(bench: Bench) -> list[str]:
    return [code for code in bench.codes[:200] if bench.survey(code).case.now is not None]


def _size(bench: Bench, name: str, paths: list[str]) -> Row:
    """Return the mean size of pages as browsers are sent them."""
    sent, plain = (
        sum(len(bench.ask(path, **asked)[1]) for path in paths) / len(paths) / 1000
        for asked in (AS_BROWSERS, {})
    )
    return Row(name, sent, "kB", "", f"not compressed {plain:.1f} kB")


def _row(bench: Bench, name: str, paths: list[str], beside: str, goal: str = "") -> Iterator[Row]:
    turn = cycle(paths)

    def ask() -> None:
        status, body, _ = bench.ask(next(turn), **AS_BROWSERS)
        if status != 200:
            raise SystemExit(f"{name} was answered {status}: {body[:200]!r}")

    timed_ms(ask, 20)
    taken = timed_ms(ask, TIMES)
    yield Row(f"{name} (p50)", percentile(taken, 0.5), "ms")
    yield Row(f"{name} (p95)", percentile(taken, 0.95), "ms", goal, beside)
