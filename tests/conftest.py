from __future__ import annotations

import pytest


# First, because pytest-xdist reads the groups in the same hook.
@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Keep the browser tests in one process, so that they never compete with each other."""
    for item in items:
        if "browser" in item.path.parts:
            item.add_marker(pytest.mark.xdist_group("browser"))
