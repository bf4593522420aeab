"""The release check a case, and the rebuild of the read models."""

from __future__ import annotations

import time
from collections.abc import Iterator

from bench.core.release import judge
from measures.row import Row, percentile
from measures.served import Bench


def rows(bench: Bench) -> Iterator[Row]:
    """Measure every case's release check, then one rebuild of all read models."""
    taken, sizes = [], []
    for code in bench.codes:
        survey = bench.survey(code)
        begun = time.perf_counter()
        judge(survey)
        taken.append((time.perf_counter() - begun) * 1000)
        sizes.append(len(survey.case.entries))
    yield Row("release check, one case (p50)", percentile(taken, 0.5), "ms")
    yield Row("release check, one case (p95)", percentile(taken, 0.95), "ms", "<= 2 ms",
              f"{len(taken):,} cases of {sum(sizes) / len(sizes):.0f} entries at the mean")  # fmt: skip
    entries = bench.store.db.conn.execute("SELECT count(*) FROM entries").fetchone()[0]
    begun = time.perf_counter()
    bench.log.models.rebuild()
    rate = entries / (time.perf_counter() - begun)
    yield Row(
        "rebuild of the read models", rate, "entries/s", ">= 50,000/s", f"{entries:,} entries"
    )
