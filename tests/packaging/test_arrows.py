"""Imports in bench/ point downward only, and core knows nobody."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

BENCH = Path(__file__).resolve().parents[2] / "bench"

# Who may import whom. A room or module that is not named here (app, cli and the like) stands on
# top: it may import everything, and none of those named here may import it.
MAY_IMPORT = {
    "core": {"core"},
    "places": {"bench"},
    "settings": {"bench", "core", "places"},
    "words": {"bench", "core", "places"},
    "pictures": {"bench", "core", "places"},
    "store": {"bench", "core", "places"},
    "sheets": {"bench", "core", "pictures", "places", "words"},
    "sync": {"bench", "core", "places", "store"},
    "web": {
        *("bench", "core", "pictures", "places", "settings", "sheets", "store", "sync", "words"),
    },
}
NOT_PURE = {
    *("asyncio", "glob", "http", "io", "logging", "multiprocessing", "os", "pathlib", "random"),
    *("secrets", "shutil", "socket", "sqlite3", "ssl", "subprocess", "tempfile", "threading"),
    *("time", "urllib"),
}


def room_of(parts: tuple[str, ...]) -> str:
    """Name the room of a module given by its dotted parts, ``bench`` for the package itself."""
    return parts[1] if len(parts) > 1 else "bench"


def imported_names(tree: ast.Module, package: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Yield every imported name as dotted parts, relative imports resolved in ``package``."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (tuple(alias.name.split(".")) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else ()
            origin = above + tuple((node.module or "").split(".") if node.module else ())
            yield from ((*origin, alias.name) for alias in node.names)


def rooms_imported(path: Path, bench: Path) -> Iterator[tuple[str, str]]:
    """Yield (room, name) for every import of ``bench`` in a file, (``""``, name) for others."""
    package = ("bench", *path.relative_to(bench).parent.parts)
    for parts in imported_names(ast.parse(path.read_text(encoding="utf-8")), package):
        if parts[0] != "bench":
            yield "", ".".join(parts)
        elif (
            parts[1:]
            and not (bench / parts[1]).is_dir()
            and not (bench / f"{parts[1]}.py").exists()
        ):
            yield "bench", ".".join(parts)
        else:
            yield room_of(parts), ".".join(parts)


def broken_arrows(bench: Path) -> list[str]:
    """Return a sentence for every import that points where it may not."""
    broken = []
    for path in sorted(bench.rglob("*.py")):
        room = path.relative_to(bench).with_suffix("").parts[0]
        for target, name in rooms_imported(path, bench):
            inside = target in {"", room} or target in MAY_IMPORT.get(room, {target})
            pure = target or name.split(".")[0] in sys.stdlib_module_names - NOT_PURE
            if not inside or (room == "core" and not pure):
                arrow = f"{room} -> {target or 'the world outside'}"
                broken.append(f"{path.relative_to(bench.parent).as_posix()}: {arrow} ({name})")
    return broken


def test_every_import_points_downward() -> None:
    broken = broken_arrows(BENCH)

    assert broken == []


@pytest.mark.parametrize(
    ("file", "line", "arrow"),
    [
        ("core/lines.py", "import numpy", "core -> the world outside (numpy)"),
        ("core/lines.py", "import time", "core -> the world outside (time)"),
        ("core/lines.py", "from bench.store import log", "core -> store (bench.store.log)"),
        ("core/lines.py", "from ..store import log", "core -> store (bench.store.log)"),
        ("core/lines.py", "from bench import __version__", "core -> bench (bench.__version__)"),
        ("store/log.py", "from bench.sync import push", "store -> sync (bench.sync.push)"),
        ("pictures/label.py", "import bench.web.cases", "pictures -> web (bench.web.cases)"),
        ("sheets/survey.py", "from bench import store", "sheets -> store (bench.store)"),
        ("sync/push.py", "from bench.pictures import label", "sync -> pictures"),
        ("web/cases.py", "from bench.app import create_app", "web -> app (bench.app.create_app)"),
    ],
)
def test_an_arrow_that_points_upward_is_named(
    tmp_path: Path, file: str, line: str, arrow: str
) -> None:
    bench = tmp_path / "bench"
    for room in ("core", "store", "sync", "pictures", "sheets", "web"):
        (bench / room).mkdir(parents=True)
    (bench / "app.py").touch()
    (bench / file).write_text(f"def later():\n    {line}\n", encoding="utf-8")

    (broken,) = broken_arrows(bench)

    assert broken.startswith(f"bench/{file}: {arrow}")


def test_arrows_that_point_downward_are_let_through(tmp_path: Path) -> None:
    bench = tmp_path / "bench"
    for room in ("core", "store", "web"):
        (bench / room).mkdir(parents=True)
    (bench / "core" / "case.py").write_text("import hashlib\nfrom bench.core import ids\n")
    (bench / "store" / "log.py").write_text("import sqlite3\nfrom bench.core.case import fold\n")
    (bench / "web" / "cases.py").write_text("import flask\nfrom bench.store import log\n")
    (bench / "app.py").write_text("from bench.web import cases\nfrom bench import __version__\n")

    assert broken_arrows(bench) == []
