"""A remark: something worth telling, as a code and its figures; the catalogue puts it in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

Figure = str | int | float | bool | None | tuple[str, ...]


class Remark(NamedTuple):
    """What is told: a stable code, and the figures for its words (units in their names)."""

    code: str
    params: Mapping[str, Figure]
