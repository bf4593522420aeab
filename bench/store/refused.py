"""What was refused for good: a digest refused once is never stored later.

A device seals its entries anew behind a refused one. A delayed copy of the first sealing that came in
after all would then fork its chain, so the refusal has to outlast the request that got it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from bench.store.open import Store

_PUT = (
    "INSERT INTO refused (digest, device, code, field, at_ms) VALUES (?, ?, ?, ?, ?) "
    "ON CONFLICT (digest) DO NOTHING"
)
_AT_ONCE = 500

Refused = tuple[str, str]


def refused_before(store: Store, digests: Sequence[str]) -> dict[str, Refused]:
    """Return code and field of those digests that were refused before."""
    found: dict[str, Refused] = {}
    for start in range(0, len(digests), _AT_ONCE):
        part = digests[start : start + _AT_ONCE]
        marks = ", ".join("?" * len(part))
        sql = f"SELECT digest, code, field FROM refused WHERE digest IN ({marks})"
        found |= {row[0]: (row[1], row[2]) for row in store.db.conn.execute(sql, part)}
    return found


def keep_refused(store: Store, rows: Iterable[tuple[str, str, str, str]], at_ms: int) -> None:
    """Keep refusals, each as digest, device, code and field, on disk when this returns."""
    fresh = [(*row, at_ms) for row in rows]
    if fresh:
        with store.writing() as conn:
            conn.executemany(_PUT, fresh)
