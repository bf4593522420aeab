"""Make the environment in .venv that Tiltbook runs and is tested in.

Standard library only, and the same on Linux, Windows and macOS.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import os
import shutil
import signal
import subprocess
import sys
from typing import Any

import browser_code

ROOT = browser_code.ROOT
VENV = ROOT / ".venv"
STAMP = VENV / "tiltbook-setup.json"
CONSTRAINTS = ROOT / "scripts" / "constraints.txt"
DECIDING_FILES = (
    ROOT / "pyproject.toml",
    CONSTRAINTS,
    *sorted((ROOT / "scripts").glob("package*.json")),
    ROOT / "scripts" / "vendor.toml",
)


def prepare(extra: str = "") -> None:
    """Make or renew .venv with the project in it, and the ``extra`` set of requirements.

    Exits with what is missing and what to do about it.
    """
    if sys.version_info < (3, 11):  # noqa: UP036
        sys.exit(f"Tiltbook needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    _make_venv()
    if not _is_current(extra):
        print("Installing what Tiltbook needs (a minute or so) ...", flush=True)
        _install(extra)


def venv_program(name: str) -> str:
    """Return the path of a program in .venv, such as ``python``."""
    folder, ending = ("Scripts", ".exe") if os.name == "nt" else ("bin", "")
    return str(VENV / folder / (name + ending))


def run(command: list[str], **options: Any) -> int:
    """Run a command until it ends and return its exit code; a stop asked of us is passed on."""
    with subprocess.Popen(command, **options) as process:
        signal.signal(signal.SIGTERM, lambda *_: process.terminate())
        while True:
            try:
                return process.wait()
            except KeyboardInterrupt:
                continue  # the terminal has told the command too: let it finish by itself


def install_debian_package(package: str, reason: str) -> None:
    """Install a Debian package when we may; otherwise exit saying which one and why."""
    may = shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0
    if not may:
        sys.exit(f"{reason} On Debian, install it with: sudo apt-get install {package}")
    print(f"{reason} Installing Debian's {package} ...", flush=True)
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for words in (["update", "-q"], ["install", "-qy", "--no-install-recommends", package]):
        if subprocess.run(["apt-get", *words], env=quiet, stdout=subprocess.DEVNULL).returncode:
            sys.exit(f"apt-get {' '.join(words)} failed: see above.")


def _make_venv() -> None:
    if _works(venv_program("python")):
        return
    if not (importlib.util.find_spec("venv") and importlib.util.find_spec("ensurepip")):
        package = f"python{sys.version_info.major}.{sys.version_info.minor}-venv"
        install_debian_package(package, "This Python cannot make virtual environments.")
    _do([sys.executable, "-m", "venv", "--clear", str(VENV)])


def _works(python: str) -> bool:
    try:
        return (
            subprocess.run([python, "-m", "pip", "--version"], capture_output=True).returncode == 0
        )
    except OSError:
        return False


def _install(extra: str) -> None:
    project = f".[{extra}]" if extra else "."
    pip = [venv_program("python"), "-m", "pip", "install", "-q", "--disable-pip-version-check"]
    _do([*pip, "-c", str(CONSTRAINTS), "-e", project])
    STAMP.write_text(json.dumps({**_stamps(), extra: _digest()}), encoding="utf-8")


def _do(command: list[str]) -> None:
    if subprocess.run(command, cwd=ROOT).returncode:
        sys.exit(f"This step failed, see above: {' '.join(command)}")


def _is_current(extra: str) -> bool:
    return _stamps().get(extra) == _digest() and not browser_code.missing_files()


def _stamps() -> dict[str, str]:
    return json.loads(STAMP.read_text(encoding="utf-8")) if STAMP.exists() else {}


def _digest() -> str:
    # The checkout's own path counts: an editable install points at it.
    digest = hashlib.sha256(str(ROOT).encode())
    for path in DECIDING_FILES:
        digest.update(path.read_bytes())
    return digest.hexdigest()
