"""Browser tests share one process when the whole suite runs in several."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PAGE_TEST = """
import os
import pytest

@pytest.mark.parametrize("page", range(4))
def test_page(page):
    with open(os.environ["PYTEST_XDIST_WORKER"], "a") as seen:
        seen.write("page")
"""


def test_all_browser_tests_run_in_one_process(tmp_path: Path) -> None:
    browser = tmp_path / "pages" / "browser"
    browser.mkdir(parents=True)
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    for name in ("test_cases.py", "test_labels.py", "test_people.py"):
        (browser / name).write_text(PAGE_TEST, encoding="utf-8")

    run = [sys.executable, "-m", "pytest", "-n", "2", "--dist", "loadgroup"]
    here = {**os.environ, "PYTHONPATH": str(ROOT)}
    ask = [*run, "-p", "tests.conftest", "pages"]
    done = subprocess.run(ask, cwd=tmp_path, env=here, capture_output=True, text=True)
    seen = [path.read_text(encoding="utf-8") for path in tmp_path.glob("gw*")]

    assert done.returncode == 0, done.stdout + done.stderr
    assert seen == ["page" * 12]
