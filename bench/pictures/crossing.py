"""The middle of a mark: where its two strokes cross, or half way along its only one.

A rough answer comes from the lines along which most ink lies. It is then refined by a fit of the
drawing itself: two slightly bent strokes of one width, soft at their edges and ends, laid over
each other (Gauss-Newton with damping).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Floats = NDArray[np.float64]

_TURNS = np.radians(np.arange(0, 180, 6))
_LEAST_SECOND = 0.15
# How much less two strokes have to miss than one to be believed.
_BETTER = 0.8
_LEAST_BETWEEN = np.radians(35)
_ROUNDS = 25


@dataclass(frozen=True)
class Crossing:
    """The middle of a mark in pixels of its patch, and whether two strokes cross there."""

    x_px: float
    y_px: float
    crossed: bool


@dataclass(frozen=True)
class _Ink:
    """Where ink was looked for, as pixels from the middle looked around, and how much is there."""

    x: Floats
    y: Floats
    share: Floats


@dataclass(frozen=True)
class _Line:
    turn: float
    off_px: float
    weight: float

    def off(self, x: Floats, y: Floats) -> Floats:
        """Return how far places lie beside the line."""
        return np.asarray(y * np.cos(self.turn) - x * np.sin(self.turn) - self.off_px)


def middle_of(
    share: Floats, looked: NDArray[np.bool_], about_px: tuple[float, float]
) -> Crossing | None:
    """Return the middle of the stroke in a patch of ink shares, where it was looked for."""
    rows, columns = np.nonzero(looked)
    if len(rows) < 12:
        return None
    x, y = np.asarray(columns + 0.5, float), np.asarray(rows + 0.5, float)
    ink = _Ink(x - about_px[0], y - about_px[1], share[rows, columns])
    core = _core(ink)
    if len(core.x) < 4:
        return None
    first = _line(core, _TURNS)
    width = max(2.0, 0.12 * float(np.hypot(ink.x, ink.y).max()))
    rest = np.abs(first.off(core.x, core.y)) > width
    left = _Ink(core.x[rest], core.y[rest], core.share[rest])
    between = np.abs((_TURNS - first.turn + np.pi / 2) % np.pi - np.pi / 2)
    second = _line(left, _TURNS[between > _LEAST_BETWEEN]) if rest.sum() > 3 else None
    one = _Drawing(ink, core, [first])
    two = None
    if second is not None and second.weight > _LEAST_SECOND * first.weight:
        two = _Drawing(ink, core, [first, second])
    best = two if two is not None and two.missed < _BETTER * one.missed else one
    place = best.middle()
    if place is None:
        return None
    return Crossing(place[0] + about_px[0], place[1] + about_px[1], best is two)


def _core(ink: _Ink) -> _Ink:
    """Keep what is clearly inked."""
    floor = 0.3 * float(np.percentile(ink.share, 98))
    keep = ink.share > max(floor, 0.01)
    return _Ink(ink.x[keep], ink.y[keep], ink.share[keep])


def _line(ink: _Ink, turns: Floats) -> _Line:
    """Return the line that most ink lies along."""
    best = _Line(0.0, 0.0, -1.0)
    reach = float(np.hypot(ink.x, ink.y).max()) + 2
    edges = np.arange(-reach, reach + 0.5, 0.5)
    for turn in turns:
        off = _Line(turn, 0.0, 0.0).off(ink.x, ink.y)
        heap = np.histogram(off, edges, weights=ink.share)[0]
        soft = ndimage.gaussian_filter1d(heap, 1.6, mode="constant")
        top = int(soft.argmax())
        if soft[top] > best.weight:
            best = _Line(float(turn), float(edges[top] + 0.25), float(soft[top]))
    return best


class _Drawing:
    """One or two strokes fitted to ink.

    The figures of a drawing: x and y of its middle; width and softness; then for each stroke its
    turn, bend, strength, and how far it goes either way.
    """

    def __init__(self, ink: _Ink, core: _Ink, lines: list[_Line]) -> None:
        self.ink = ink
        self.count = len(lines)
        self.reach_px = float(np.hypot(ink.x, ink.y).max())
        x, y = _meeting(*lines) if self.count == 2 else _half_way(core, lines[0])
        figures = [x, y, 2.0, 0.8]
        for line in lines:
            figures += [line.turn, 0.0, 1.0, *_ends(core, line, x, y)]
        self.start = np.array(figures)
        self.usual = self.start.copy()
        # How far a figure may stray before the drawing is an unlikely one.
        stray = [9.0, 9.0, 1.5, 0.6] + [1.0, 0.6 / self.reach_px, 1.0, 5.0, 5.0] * self.count
        self.hold = 0.15 / np.array(stray)

        self.figures, self.missed = self._fitted()

    def _fitted(self) -> tuple[Floats, float]:
        figures, damping = self.start, 1e-3
        miss = self._miss(figures[None])[0]
        worst = float(miss @ miss)
        for _ in range(_ROUNDS):
            slope = self._slope(figures, miss)
            square = slope @ slope.T
            square[np.diag_indices_from(square)] *= 1 + damping
            step = np.linalg.lstsq(square, -slope @ miss, rcond=None)[0]
            tried = self._sane(figures + step)
            again = self._miss(tried[None])[0]
            now = float(again @ again)
            if now >= worst:
                damping *= 8
                continue
            settled = worst - now < 1e-4 * worst
            figures, miss, worst, damping = tried, again, now, damping / 5
            if settled:
                break
        return figures, worst

    def middle(self) -> tuple[float, float] | None:
        """Return where the strokes cross, or the middle of the only one."""
        x, y = self.figures[:2]
        if self.count == 1:
            turn, bend, _, back, ahead = self.figures[4:9]
            along = (ahead - back) / 2
            off = bend * along**2
            x += along * np.cos(turn) - off * np.sin(turn)
            y += along * np.sin(turn) + off * np.cos(turn)
        if not np.hypot(x, y) < self.reach_px:
            return None
        return float(x), float(y)

    def _sane(self, figures: Floats) -> Floats:
        """Keep widths, strengths and lengths above nothing."""
        figures = figures.copy()
        figures[2] = np.clip(figures[2], 0.6, 0.6 * self.reach_px)
        figures[3] = np.clip(figures[3], 0.3, 3.0)
        for at in range(4, len(figures), 5):
            figures[at + 2] = np.clip(figures[at + 2], 0.05, 2)
            figures[at + 3 : at + 5] = np.clip(figures[at + 3 : at + 5], 0.5, 1.3 * self.reach_px)
        return figures

    def _slope(self, figures: Floats, miss: Floats) -> Floats:
        steps = 1e-4 * np.maximum(np.abs(figures), 0.05)
        return (self._miss(figures + np.diag(steps)) - miss) / steps[:, None]

    def _miss(self, figures: Floats) -> Floats:
        """Return what each of several drawings (rows) misses at each pixel, and its strangeness."""
        clear = 1.0
        x, y = self.ink.x - figures[:, :1], self.ink.y - figures[:, 1:2]
        half, soft = figures[:, 2:3] / 2, figures[:, 3:4]
        for at in range(4, figures.shape[1], 5):
            turn, bend, strength, back, ahead = (figures[:, n : n + 1] for n in range(at, at + 5))
            along = x * np.cos(turn) + y * np.sin(turn)
            off = y * np.cos(turn) - x * np.sin(turn) - bend * along**2
            across = np.tanh((off + half) / soft) - np.tanh((off - half) / soft)
            length = np.tanh((along + back) / soft) - np.tanh((along - ahead) / soft)
            clear = clear * (1 - strength * across * length / 4)
        strange = (figures - self.usual) * self.hold
        return np.hstack([1 - clear - self.ink.share, strange])


def _meeting(first: _Line, second: _Line) -> tuple[float, float]:
    rows = np.array([[-np.sin(line.turn), np.cos(line.turn)] for line in (first, second)])
    x, y = np.linalg.solve(rows, np.array([first.off_px, second.off_px]))
    return float(x), float(y)


def _half_way(core: _Ink, line: _Line) -> tuple[float, float]:
    near = np.abs(line.off(core.x, core.y)) < 3
    along = (core.x * np.cos(line.turn) + core.y * np.sin(line.turn))[near]
    half = float(along.min() + along.max()) / 2 if len(along) else 0.0
    return (
        half * np.cos(line.turn) - line.off_px * np.sin(line.turn),
        half * np.sin(line.turn) + line.off_px * np.cos(line.turn),
    )


def _ends(core: _Ink, line: _Line, x: float, y: float) -> tuple[float, float]:
    """Return how far a line is inked backwards and ahead of a place."""
    near = np.abs(line.off(core.x, core.y)) < 2.5
    along = ((core.x - x) * np.cos(line.turn) + (core.y - y) * np.sin(line.turn))[near]
    if len(along) == 0:
        return 2.0, 2.0
    return max(1.0, -float(along.min())), max(1.0, float(along.max()))
