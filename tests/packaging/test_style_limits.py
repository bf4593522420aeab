"""Files and functions stay short enough to be read at one go."""

from __future__ import annotations

import ast
import math
import statistics
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
MOST_LINES = {".py": 400, ".js": 250, ".mjs": 250}
FOLDERS = ("bench", "scripts", "static", "tests")
BROUGHT_IN = {"node_modules", "vendor", "__pycache__"}


def own_files() -> Iterator[Path]:
    """Yield every Python and JavaScript file of the project's own."""
    for folder in FOLDERS:
        for path in sorted((ROOT / folder).rglob("*")):
            own = BROUGHT_IN.isdisjoint(path.relative_to(ROOT).parts)
            if own and (path.suffix in MOST_LINES or path.name in {"serve", "test"}):
                yield path


def body_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Count the lines of a function's body, its docstring left out."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def functions_of(source: str) -> dict[str, int]:
    """Return the length of each function in a file by its name and line."""
    return {
        f"{node.name}:{node.lineno}": body_lines(node)
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    }


@pytest.fixture(scope="module")
def functions() -> dict[str, int]:
    """Lines per function over bench/, by file and function."""
    return {
        f"{path.relative_to(ROOT).as_posix()}:{name}": lines
        for path in sorted((ROOT / "bench").rglob("*.py"))
        for name, lines in functions_of(path.read_text(encoding="utf-8")).items()
    }


def test_no_file_is_too_long() -> None:
    lengths = {
        path.relative_to(ROOT).as_posix(): len(path.read_text(encoding="utf-8").splitlines())
        for path in own_files()
        if path.is_file()
    }

    too_long = {
        name: lines
        for name, lines in lengths.items()
        if lines > MOST_LINES.get(Path(name).suffix, 400)
    }

    assert len(lengths) > 10
    assert too_long == {}


def test_no_function_is_longer_than_fifty_lines(functions: dict[str, int]) -> None:
    too_long = {name: lines for name, lines in functions.items() if lines > 50}

    assert too_long == {}


def test_half_of_the_functions_have_six_lines_or_fewer(functions: dict[str, int]) -> None:
    median = statistics.median(functions.values())

    assert median <= 6


def test_nine_in_ten_functions_have_twenty_lines_or_fewer(functions: dict[str, int]) -> None:
    nine_tenths = sorted(functions.values())[math.ceil(0.9 * len(functions)) - 1]

    assert nine_tenths <= 20


def test_a_docstring_does_not_count_as_body() -> None:
    source = 'def drop_mm():\n    """One.\n\n    Two.\n    """\n    a = 1\n\n    return a\n'

    assert functions_of(source) == {"drop_mm:1": 3}
