from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from bench.store.log import Log
from bench.store.open import Store, open_store


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "bench")
    yield opened
    opened.close()


@pytest.fixture
def log(store: Store) -> Log:
    return Log(store, clock_ms=lambda: 1_700_000_000_000)
