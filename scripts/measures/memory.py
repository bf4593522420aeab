"""How much memory the server holds after it has shown every case once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from measures.row import Row
from measures.served import Bench


def rows(bench: Bench) -> Iterator[Row]:
    """Show every case's undercut page and the board, then read the server's resident memory (Linux)."""
    for code in bench.codes:
        bench.ask(f"/case/{code}/undercuts")
    bench.ask("/")
    assert bench.process is not None
    status = Path(f"/proc/{bench.process.pid}/status")
    if not status.exists():
        return
    held = {k: v for k, _, v in (line.partition(":") for line in status.read_text().splitlines())}
    peak = int(held["VmHWM"].split()[0]) / 1000
    yield Row(f"server memory, {len(bench.codes):,} cases shown", int(held["VmRSS"].split()[0]) / 1000, "MB",
              "<= 150 MB", f"peak {peak:.0f} MB")  # fmt: skip
