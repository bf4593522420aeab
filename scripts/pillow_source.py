"""Fetch the source archive of the pinned Pillow, whose broken and hostile images the tests take in.

Standard library only. The archive lies in the environment and is fetched once a version.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from pathlib import Path

import setup_env

FOLDER = setup_env.VENV / "sources"


def prepare() -> None:
    """Have the archive in the environment; exit saying what to do where it cannot be got."""
    if archive().is_file():
        return
    print(f"Fetching the source of Pillow {version()} for its images (50 MB) ...", flush=True)
    FOLDER.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=FOLDER) as folder:
        failed = subprocess.run(command(folder), cwd=setup_env.ROOT).returncode
        fetched = Path(folder) / archive().name
        if failed or not fetched.is_file():
            sys.exit(trouble())
        fetched.replace(archive())


def archive() -> Path:
    """Return where the archive lies once it is here."""
    return FOLDER / f"pillow-{version()}.tar.gz"


def version() -> str:
    """Return the pinned version."""
    pins = setup_env.CONSTRAINTS.read_text(encoding="utf-8")
    found = re.search(r"^pillow==(\S+)$", pins, re.MULTILINE | re.IGNORECASE)
    if found is None:
        sys.exit(f"{setup_env.CONSTRAINTS} pins no version of Pillow: add a line pillow==...")
    return found[1]


def command(folder: str) -> list[str]:
    """Return the command that fetches the archive, from where pip is set up to fetch from."""
    pip = [setup_env.venv_program("python"), "-m", "pip", "download", "-q"]
    only = ["--disable-pip-version-check", "--no-deps", "--no-binary", "pillow"]
    return [*pip, *only, "-d", folder, f"pillow=={version()}"]


def trouble() -> str:
    """Say what is missing and what to do about it."""
    return (
        f"The source archive of Pillow {version()} could not be fetched, see above. Let pip reach its "
        f"package index, or put {archive().name} into {FOLDER} by hand, and start again."
    )
