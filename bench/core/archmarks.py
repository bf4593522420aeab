"""What a case says to its arch map: marks on teeth and surfaces, lines and arrows over them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bench.core.arch import Vector

State = Literal["done", "part", "stale", "todo", "stopped", "plain"]


@dataclass(frozen=True)
class ToothMark:
    """What the map shows of a tooth: its state, the word for it, a short badge, planned or not."""

    state: State
    word: str
    badge: str | None = None
    planned: bool = False


@dataclass(frozen=True)
class SurfaceMark:
    """What the map shows of a surface; `push` draws the arrow of a retentive tip."""

    state: State
    word: str
    badge: str | None = None
    push: bool = False


@dataclass(frozen=True)
class LineOverlay:
    """A straight line over the map, ends in mm, such as the fulcrum line."""

    kind: Literal["fulcrum", "space", "other"]
    start: Vector
    end: Vector
    label: str = ""


@dataclass(frozen=True)
class ArrowOverlay:
    """An arrow over the map, ends in mm: a push or the resultant of all pushes; whether it stops."""

    kind: Literal["push", "resultant"]
    start: Vector
    end: Vector
    label: str = ""
    stops: bool = False


Overlay = LineOverlay | ArrowOverlay
