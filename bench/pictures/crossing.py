"""The middle of a mark: where its two strokes cross, or half way along its only one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Floats = NDArray[np.float64]

_TURNS = np.radians(np.arange(0, 180, 5))
_LEAST_SECOND = 0.35
_LEAST_BETWEEN = np.radians(30)


@dataclass(frozen=True)
class Crossing:
    """The middle of a mark in pixels of the patch, and whether two strokes cross there."""

    x_px: float
    y_px: float
    crossed: bool


@dataclass(frozen=True)
class _Ink:
    """Where ink lies and how much."""

    x: Floats
    y: Floats
    share: Floats


def middle_of(share: Floats, about_px: tuple[float, float], reach_px: float) -> Crossing | None:
    """Return the middle of the stroke in a patch of ink shares, within a reach of a place."""
    ink = _ink(share, about_px, reach_px)
    if len(ink.x) < 5:
        return None
    first = _line(ink, _TURNS)
    rest = np.abs(_off(ink, first)) > max(0.14 * reach_px, 1.5)
    left = _Ink(ink.x[rest], ink.y[rest], ink.share[rest])
    between = np.abs((_TURNS - first[0] + np.pi / 2) % np.pi - np.pi / 2)
    second = _line(left, _TURNS[between > _LEAST_BETWEEN]) if rest.any() else None
    if second is None or second[2] < _LEAST_SECOND * first[2]:
        return _half_way(ink, first, reach_px)
    return _crossed(ink, first, second, reach_px) or _half_way(ink, first, reach_px)


def _ink(share: Floats, about_px: tuple[float, float], reach_px: float) -> _Ink:
    y, x = np.mgrid[0 : share.shape[0], 0 : share.shape[1]] + 0.5
    near = np.hypot(x - about_px[0], y - about_px[1]) < reach_px
    floor = 0.25 * float(np.percentile(share[near], 97)) if near.any() else 1.0
    keep = near & (share > max(floor, 0.02))
    return _Ink(x[keep] - about_px[0], y[keep] - about_px[1], share[keep] - floor * 0.5)


Line = tuple[float, float, float]


def _line(ink: _Ink, turns: Floats) -> Line:
    """Return the turn, the offset and the weight of the line that most ink lies along."""
    best: Line = (0.0, 0.0, -1.0)
    reach = float(np.hypot(ink.x, ink.y).max()) + 2
    edges = np.arange(-reach, reach + 0.5, 0.5)
    for turn in turns:
        off = ink.y * np.cos(turn) - ink.x * np.sin(turn)
        heap = np.histogram(off, edges, weights=ink.share)[0]
        soft = ndimage.gaussian_filter1d(heap, 1.6, mode="constant")
        top = int(soft.argmax())
        if soft[top] > best[2]:
            best = (float(turn), float(edges[top] + 0.25), float(soft[top]))
    return best


def _off(ink: _Ink, line: Line) -> Floats:
    return np.asarray(ink.y * np.cos(line[0]) - ink.x * np.sin(line[0]) - line[1])


def _meeting(first: Line, second: Line) -> Floats:
    rows = np.array([[-np.sin(line[0]), np.cos(line[0])] for line in (first, second)])
    return np.asarray(np.linalg.solve(rows, np.array([first[1], second[1]])))


def _crossed(ink: _Ink, first: Line, second: Line, reach_px: float) -> Crossing | None:
    """Fit both strokes, each slightly bent, around where they meet; again from where that is."""
    lines = [first, second]
    place = _meeting(first, second)
    for _ in range(6):
        if np.hypot(*place) > reach_px:
            return None
        lines = [
            _bent(ink, line, other, place, reach_px)
            for line, other in ((lines[0], lines[1]), (lines[1], lines[0]))
        ]
        place = _meeting(lines[0], lines[1])
    return Crossing(float(place[0]), float(place[1]), True)


def _bent(ink: _Ink, line: Line, other: Line, place: Floats, reach_px: float) -> Line:
    """Fit a stroke as a parabola over its own direction; return the tangent at the place."""
    ahead, aside = np.array([np.cos(line[0]), np.sin(line[0])]), None
    aside = np.array([-ahead[1], ahead[0]])
    x, y = ink.x - place[0], ink.y - place[1]
    along, off = x * ahead[0] + y * ahead[1], x * aside[0] + y * aside[1]
    band = max(0.16 * reach_px, 1.8)
    at = np.array([place @ aside])
    start = float(line[1] - at[0])
    clear = np.abs(_off(ink, other)) > 0.5 * band
    keep = (np.abs(off - start) < band) & clear
    if keep.sum() < 5 or np.ptp(along[keep]) < 3:
        return line
    t, weight = along[keep] / reach_px, np.sqrt(ink.share[keep]) * np.exp(-(along[keep] / reach_px) ** 2)
    rows = np.column_stack([np.ones_like(t), t, t * t]) * weight[:, None]
    level, slope, _ = np.linalg.lstsq(rows, off[keep] * weight, rcond=None)[0]
    turn = line[0] + float(np.arctan(slope / reach_px))
    origin = place + level * aside
    return (turn, float(origin @ np.array([-np.sin(turn), np.cos(turn)])), line[2])


def _half_way(ink: _Ink, line: Line, reach_px: float) -> Crossing:
    """Return the point half way along a single stroke, or the middle of a dot."""
    near = np.abs(_off(ink, line)) < max(0.2 * reach_px, 2.0)
    x, y, share = ink.x[near], ink.y[near], ink.share[near]
    ahead = np.array([np.cos(line[0]), np.sin(line[0])])
    along = x * ahead[0] + y * ahead[1]
    off = y * ahead[0] - x * ahead[1]
    edges = np.arange(along.min() - 2, along.max() + 2.5, 0.5)
    heap = ndimage.gaussian_filter1d(np.histogram(along, edges, weights=share)[0], 1.5)
    held = np.flatnonzero(heap > 0.5 * np.percentile(heap[heap > 0], 70))
    half = float(edges[held[0]] + edges[held[-1]] + 0.5) / 2
    level = float((off * share).sum() / share.sum())
    return Crossing(
        half * ahead[0] - level * ahead[1], half * ahead[1] + level * ahead[0], False
    )
