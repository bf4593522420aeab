"""The browser code is brought in by digest, once, and says what is wrong when it cannot be."""

from __future__ import annotations

import importlib.util
import shutil
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def browser_code() -> ModuleType:
    """The script that brings the browser code, loaded from its file."""
    spec = importlib.util.spec_from_file_location(
        "browser_code", ROOT / "scripts" / "browser_code.py"
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["browser_code"] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """A checkout that holds the scripts and the browser code that this one holds."""
    for name in ("package.json", "package-lock.json", "vendor.toml"):
        (tmp_path / "scripts").mkdir(exist_ok=True)
        shutil.copy(ROOT / "scripts" / name, tmp_path / "scripts")
    shutil.copytree(ROOT / "static" / "vendor", tmp_path / "static" / "vendor")
    return tmp_path


@pytest.fixture
def no_npm(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine with neither npm nor the wheel that carries it."""
    monkeypatch.setattr("shutil.which", lambda _name: None)
    monkeypatch.setattr("importlib.util.find_spec", lambda _name: None)


@pytest.mark.usefixtures("no_npm")
def test_files_that_lie_there_already_need_no_npm(browser_code: ModuleType, checkout: Path) -> None:
    browser_code.bring(checkout)

    assert browser_code.build_requirements(checkout) == []


@pytest.mark.usefixtures("no_npm")
def test_a_changed_file_counts_as_missing(browser_code: ModuleType, checkout: Path) -> None:
    (checkout / "static" / "vendor" / "qr" / "decode.js").write_text("changed")

    (missing,) = browser_code.missing_files(checkout)

    assert missing.target == "qr/decode.js"
    assert browser_code.build_requirements(checkout) == [browser_code.NPM_WHEEL]


@pytest.mark.usefixtures("no_npm")
def test_without_npm_the_error_says_what_to_install(
    browser_code: ModuleType, checkout: Path
) -> None:
    shutil.rmtree(checkout / "static")

    with pytest.raises(browser_code.BrowserCodeMissing, match=r"Install Node\.js with npm, or run"):
        browser_code.bring(checkout)


def test_a_file_with_another_digest_is_refused(
    browser_code: ModuleType, checkout: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def bring_other_contents(_scripts: Path, folder: Path) -> None:
        shutil.copytree(checkout / "static" / "vendor" / "qr", folder / "node_modules" / "qr")
        (folder / "node_modules" / "htmx.org" / "dist").mkdir(parents=True)
        (folder / "node_modules" / "htmx.org" / "dist" / "htmx.min.js").write_text("other")

    monkeypatch.setattr(browser_code, "_install", bring_other_contents)
    (checkout / "static" / "vendor" / "htmx" / "htmx.min.js").unlink()

    with pytest.raises(browser_code.BrowserCodeMissing, match=r"htmx\.min\.js is not the file"):
        browser_code.bring(checkout)
    assert not (checkout / "static" / "vendor" / "htmx" / "htmx.min.js").exists()
