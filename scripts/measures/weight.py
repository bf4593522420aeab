"""What the first load of a step page weighs, as it is sent to a browser."""

from __future__ import annotations

import re
from collections.abc import Iterator

from measures.row import Row
from measures.served import AS_BROWSERS, Bench

LINKED = re.compile(r"""(?:src|href)="(/static/[^"]+)\"""")
IMPORTED = re.compile(r"""(?:from|import)\s*["'](\./[^"']+|/static/[^"']+)["']""")
ON_A_TABLET = re.compile(r"""import\(["'](\./tablet\.js)["']\)""")


def rows(bench: Bench) -> Iterator[Row]:
    """Fetch a page and everything it loads at once, and weigh it; then the same on a paired tablet."""
    bench.sign_in()
    first = f"/case/{bench.codes[0]}/receive"
    page = bench.ask(first)[1]
    for where, more in (("", ()), (" on a paired tablet", (ON_A_TABLET,))):
        whole = {first: page, **_loaded(bench, page.decode(), (IMPORTED, *more))}
        sent = sum(len(bench.ask(path, **AS_BROWSERS)[1]) for path in whole)
        plain = sum(len(body) for body in whole.values())
        yield Row(f"first load of a step page{where}, as sent", sent / 1000, "kB",
                  "<= 120 kB", f"not compressed {plain / 1000:.0f} kB")  # fmt: skip


def _loaded(bench: Bench, page: str, imported: tuple[re.Pattern[str], ...]) -> dict[str, bytes]:
    found: dict[str, bytes] = {}
    waiting = list(LINKED.findall(page))
    while waiting:
        path = waiting.pop()
        if path in found:
            continue
        found[path] = bench.ask(path)[1]
        if path.split("?")[0].endswith(".js"):
            base = path.rsplit("/", 1)[0]
            text = found[path].decode()
            names = [name for pattern in imported for name in pattern.findall(text)]
            waiting += [n if n.startswith("/") else base + n[1:] for n in names]
    return found
