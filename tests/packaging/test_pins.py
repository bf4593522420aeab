"""What is installed is pinned, and no committed file holds a package registry's address."""

from __future__ import annotations

import json
import re
import subprocess
import tomllib
from itertools import chain
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
# Put together here, so that this file does not hold them either.
REGISTRIES = [
    ".".join(parts)
    for parts in (
        ("registry", "npmjs"),
        ("registry", "yarnpkg"),
        ("pypi", "org"),
        ("pypi", "python", "org"),
        ("pythonhosted", "org"),
        ("deb", "debian", "org"),
        ("security", "debian", "org"),
        ("crates", "io"),
        ("proxy", "golang", "org"),
    )
]


def committed_files() -> list[Path]:
    """Return every file that is committed or would be by ``git add``."""
    ask = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    said = subprocess.run(ask, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    return [path for name in said.split("\0") if name and (path := ROOT / name).is_file()]


def plain_name(requirement: str) -> str:
    """Return the name in a requirement, written the one way that all spellings share."""
    name = re.match(r"[A-Za-z0-9._-]+", requirement)
    assert name is not None, requirement
    return re.sub(r"[-_.]+", "-", name.group()).lower()


def test_no_committed_file_holds_the_address_of_a_package_registry() -> None:
    holding = {
        (path.relative_to(ROOT).as_posix(), address)
        for path in committed_files()
        for address in REGISTRIES
        if address.encode() in path.read_bytes()
    }

    assert holding == set()


def test_every_npm_package_is_locked_by_a_digest_and_without_an_address() -> None:
    lock = json.loads((ROOT / "scripts" / "package-lock.json").read_text(encoding="utf-8"))
    packages = {name: entry for name, entry in lock["packages"].items() if name}

    loose = [name for name, entry in packages.items() if "integrity" not in entry]
    addressed = [name for name, entry in packages.items() if "resolved" in entry]

    assert {"node_modules/htmx.org", "node_modules/qr"} <= set(packages)
    assert (loose, addressed) == ([], [])


def test_every_requirement_has_an_exact_version() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"].values()
    required = {plain_name(r) for r in chain(project["dependencies"], *extras)}
    lines = (ROOT / "scripts" / "constraints.txt").read_text(encoding="utf-8").splitlines()

    pinned = {plain_name(line) for line in lines if re.fullmatch(r"[\w.-]+==[\w.]+", line)}

    assert required - pinned == set()


def test_the_constraints_hold_nothing_but_exact_versions() -> None:
    lines = (ROOT / "scripts" / "constraints.txt").read_text(encoding="utf-8").splitlines()

    others = [line for line in lines[1:] if not re.fullmatch(r"[\w.-]+==[\w.]+", line)]

    assert others == []
