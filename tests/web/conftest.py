from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask

from bench.core.entries import Entry
from tests.web.surveyedcases import OnBench


@pytest.fixture
def bench(app: Flask, technician: Any, code: str, state: Callable[..., Entry]) -> OnBench:
    """A case at the bench with a technician at the tablet; nothing is recorded of it yet."""
    return OnBench(app, technician, code, state)
