"""What the first load of a step page weighs, as sent and compressed."""

from __future__ import annotations

import gzip
import re
from collections.abc import Iterator

from measures.row import Row
from measures.served import Bench

LINKED = re.compile(r"""(?:src|href)="(/static/[^"]+)\"""")
IMPORTED = re.compile(r"""(?:from|import)\s*["'](\./[^"']+|/static/[^"']+)["']""")


def rows(bench: Bench) -> Iterator[Row]:
    """Fetch a page and everything it loads at once, and weigh it."""
    page = bench.ask(f"/case/{bench.codes[0]}/receive")[1]
    sent = compressed = 0
    for path, body in {"": page, **_loaded(bench, page.decode())}.items():
        squeezed = len(gzip.compress(body, 6))
        over_the_wire = bench.ask(path or "/", **{"Accept-Encoding": "gzip"})
        sent += len(over_the_wire[1]) if path else squeezed
        compressed += squeezed
    yield Row("first load of a step page, compressed", compressed / 1000, "kB", "<= 120 kB",
              f"as sent {sent / 1000:.0f} kB")  # fmt: skip


def _loaded(bench: Bench, page: str) -> dict[str, bytes]:
    found: dict[str, bytes] = {}
    waiting = list(LINKED.findall(page))
    while waiting:
        path = waiting.pop()
        if path in found:
            continue
        found[path] = bench.ask(path)[1]
        if path.split("?")[0].endswith(".js"):
            base = path.rsplit("/", 1)[0]
            names = IMPORTED.findall(found[path].decode())
            waiting += [n if n.startswith("/") else base + n[1:] for n in names]
    return found
