"""Tilts in words: which edge goes down, as seen from behind, and which side of the patient that is."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from bench.core.teeth import Arch
from bench.core.tilt import EdgeDown, Tilt, edges_down, patients_side
from bench.words.reader import Reader

_SHOWN_FROM_DEG = 0.005


class Tilted(Protocol):
    """Whatever carries the two angles of a tilt: a setting, or the entry that took it."""

    @property
    def ap_deg(self) -> float | None: ...
    @property
    def lat_deg(self) -> float | None: ...


def tilt_in_words(setting: Tilted, reader: Reader, arch: Arch | None = None) -> str:
    """Return a tilt by the edges it lowers: `front 4.0° down, right of view 1.5° down`.

    With the arch, the patient's side follows in brackets, as it is crossed on an upper cast. A level
    table and a table without a scale say so.
    """
    if setting.ap_deg is None or setting.lat_deg is None:
        return reader.say("choices.tilt.no_scale")
    return _edges(edges_down(Tilt(setting.ap_deg, setting.lat_deg)), reader, arch, "down")


def to_lower_in_words(edges: Iterable[EdgeDown], reader: Reader, arch: Arch | None = None) -> str:
    """Return which edges to lower, and by how much: `lower the front by 0.6°`."""
    return _edges(edges, reader, arch, "lower")


def _edges(edges: Iterable[EdgeDown], reader: Reader, arch: Arch | None, verb: str) -> str:
    shown = [_edge(one, reader, arch, verb) for one in edges if one.by_deg >= _SHOWN_FROM_DEG]
    return reader.say("choices.row.between").join(shown) or reader.say(f"choices.tilt.level_{verb}")


def _edge(down: EdgeDown, reader: Reader, arch: Arch | None, verb: str) -> str:
    said = reader.say(
        f"choices.tilt.{verb}", edge=reader.choice("edge", down.edge), by=reader.angle(down.by_deg)
    )
    if arch is None or down.edge not in ("right", "left"):
        return said
    side = patients_side(arch, "right" if down.edge == "right" else "left")
    return reader.say("choices.tilt.with_side", said=said, side=reader.choice("side", side))
