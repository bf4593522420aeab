"""Kill the server while a tablet pushes: what was receipted must be there, once, in its own order."""

from __future__ import annotations

import random
from pathlib import Path

from bench.core.wire import digest_of
from bench.store import integrity
from bench.store.log import Log
from bench.store.open import open_store
from tests.sync.killing import Bench, paired_client, pushed_through

ENTRIES_PER_KILL = 120


def run(folder: Path, kills: int, seed: int) -> list[str]:
    """Kill so many times in the middle of pushes and return what was lost, doubled or damaged."""
    client = paired_client(folder, kills * ENTRIES_PER_KILL)
    receipted, killed = pushed_through(
        client, Bench(folder, client.port), kills, random.Random(seed)
    )
    store = open_store(folder)
    try:
        held = [text.decode() for text in _held(Log(store), client.own.device)]
        lost = receipted - {digest_of(text.encode()) for text in held}
        troubles = [f"lost {digest}" for digest in lost]
        troubles += [] if held == client.own.sealed else ["the chain is not the one that was sent"]
        troubles += [str(one) for one in integrity.check(store).problems]
    finally:
        store.close()
    print(
        f"{killed} kills during sync, {len(receipted)} entries receipted, {len(held)} held, "
        f"{len(troubles)} troubles", flush=True,
    )  # fmt: skip
    return troubles


def _held(log: Log, device: str) -> list[bytes]:
    found: list[bytes] = []
    while more := log.after(device, len(found)):
        found += more
    return found
