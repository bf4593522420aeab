"""A bench that dies in the middle of a push loses nothing it gave a receipt for, and repeats nothing."""

from __future__ import annotations

import random

from bench.core.wire import digest_of
from bench.store.integrity import check
from bench.store.log import Log
from bench.store.open import open_store
from tests.sync.killing import Bench, paired_client, pushed_through

KILLS, ENTRIES = 2, 400


def test_a_push_cut_off_by_a_kill_is_taken_up_where_the_bench_stands(tmp_path):
    client = paired_client(tmp_path / "data", ENTRIES)
    bench = Bench(tmp_path / "data", client.port)
    receipted, kills = pushed_through(client, bench, KILLS, random.Random(4))

    store = open_store(tmp_path / "data")
    held = [stored.decode() for stored in Log(store).after(client.own.device, 0, 5000)]
    report = check(store)
    store.close()
    assert held == client.own.sealed
    assert receipted <= {digest_of(text.encode()) for text in held}
    assert report.clean
    assert kills == KILLS
