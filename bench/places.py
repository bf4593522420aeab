"""Where the folders that pages are made of lie."""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent


class FolderMissing(FileNotFoundError):
    """Tiltbook was installed without a folder that it needs."""


def templates(package: Path = PACKAGE) -> Path:
    """Return the folder of the page templates, in wheel, checkout and editable install alike.

    Raises FolderMissing.
    """
    return _find("templates", package)


def static(package: Path = PACKAGE) -> Path:
    """Return the folder of the files served as they are: style, scripts, browser code.

    Raises FolderMissing.
    """
    return _find("static", package)


def _find(name: str, package: Path) -> Path:
    # A wheel carries the folder inside the package; a checkout has it beside the package.
    for home in (package, package.parent):
        if (home / name).is_dir():
            return home / name
    raise FolderMissing(
        f"Tiltbook's folder {name} is neither in {package} nor beside it. Install Tiltbook again."
    )
