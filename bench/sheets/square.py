"""The square of a label as plain dots, for a page or a sheet of any scale."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

from qrcode.constants import ERROR_CORRECT_M
from qrcode.main import QRCode

Run = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Square:
    """A square `count` dots wide; each run is its first dot's column and row, and how many dark dots follow."""

    count: int
    runs: tuple[Run, ...]

    @property
    def path(self) -> str:
        """The dark dots as an SVG path, one unit a dot."""
        return "".join(f"M{x} {y}h{length}v1h-{length}z" for x, y, length in self.runs)


@lru_cache(maxsize=64)
def square_dots(address: str) -> Square:
    """Return the square that holds an upper-case address (ISO/IEC 18004, level M)."""
    code = QRCode(error_correction=ERROR_CORRECT_M, box_size=1, border=0)
    code.add_data(address, optimize=0)
    code.make(fit=True)
    return Square(code.modules_count, tuple(
        run for y, row in enumerate(code.modules) for run in _runs(y, row)
    ))  # fmt: skip


def _runs(y: int, row: list[bool | None]) -> list[Run]:
    found, x = [], 0
    for dark, dots in groupby(row, key=bool):
        length = len(list(dots))
        if dark:
            found.append((x, y, length))
        x += length
    return found
