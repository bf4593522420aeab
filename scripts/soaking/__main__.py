"""Run the soaks named, or all, and exit 1 when one of them found something."""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from soaking import fuzz, kill, sync, walk

SOAKS = ("fuzz", "kill", "sync", "walk")


def main() -> int:
    """Run, print what was counted, and return the exit code."""
    parser = argparse.ArgumentParser(prog="scripts/soak")
    parser.add_argument("soaks", nargs="*", help=f"{', '.join(SOAKS)}; all when none is named")
    parser.add_argument("--requests", type=int, default=10_000, help="hostile requests to send")
    parser.add_argument("--rounds", type=int, default=20, help="times the server is killed")
    parser.add_argument("--steps", type=int, default=10_000, help="steps of two tablets to walk")
    parser.add_argument("--seed", type=int, default=1, help="the same seed, the same requests")
    asked = parser.parse_args()
    for name in asked.soaks:
        if name not in SOAKS:
            parser.error(f"no such soak: {name}")
    wanted = asked.soaks or SOAKS
    found: list[str] = []
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        if "fuzz" in wanted:
            found += fuzz.run(Path(folder) / "fuzz", asked.requests, asked.seed)
        if "kill" in wanted:
            found += kill.run(Path(folder) / "kill", asked.rounds)
        if "sync" in wanted:
            found += sync.run(Path(folder) / "sync", asked.rounds, asked.seed)
        if "walk" in wanted:
            found += walk.run(asked.steps, asked.seed)
    for trouble in found[:50]:
        print(trouble, flush=True)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
