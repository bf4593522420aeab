"""Measure all rows, or the modules named, and print one table."""

from __future__ import annotations

import argparse
import json
import platform
import tempfile
from importlib import import_module
from pathlib import Path

from measures.row import Row
from measures.served import Bench

MODULES = (
    "intake",
    "core",
    "finder",
    "pages",
    "audit",
    "tablet",
    "weight",
    "memory",
    "slips",
    "photos",
)
ASKED_FOR = ("scale",)


def main() -> None:
    """Measure, print, and write JSON where asked to."""
    parser = argparse.ArgumentParser(prog="scripts/measure")
    parser.add_argument("rows", nargs="*", help=f"which of {', '.join(MODULES)}; all when none")
    parser.add_argument("--cases", type=int, default=1000)
    parser.add_argument(
        "--photos", type=int, default=3, help="photos a condition; 45 for the full set"
    )
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    for name in asked.rows:
        if name not in (*MODULES, *ASKED_FOR):
            parser.error(f"no such row: {name}")
    found = measured(asked.rows or list(MODULES), asked.cases, asked.photos)
    if asked.json:
        asked.json.write_text(json.dumps([row.as_json() for row in found], indent=1) + "\n")


def measured(names: list[str], cases: int, photos: int) -> list[Row]:
    """Run the named modules against one invented lab and print their rows as they come."""
    print(
        f"Python {platform.python_version()}, {platform.system()} {platform.machine()}\n",
        flush=True,
    )
    print(f"{'what':<52}{'figure':>12}  {'goal':<18}beside", flush=True)
    found: list[Row] = []
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        bench = Bench(Path(folder) / "lab", cases, photos)
        try:
            for name in names:
                for row in import_module(f"measures.{name}").rows(bench):
                    found.append(row)
                    figure = f"{row.figure:,.0f}" if row.figure >= 1000 else f"{row.figure:.3g}"
                    print(
                        f"{row.name:<52}{figure:>12} {row.unit:<10}{row.goal:<18}{row.beside}",
                        flush=True,
                    )
        finally:
            bench.stop()
    return found


if __name__ == "__main__":
    main()
