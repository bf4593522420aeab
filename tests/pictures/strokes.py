"""Strokes as a hand draws them, and how ink and paper come to lie on a plane seen by a camera."""

from __future__ import annotations

import numpy as np
from scipy import ndimage


def moved(plane: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Return places (n x 2) as a homography moves them."""
    held = places @ plane[:, :2].T + plane[:, 2]
    return held[:, :2] / held[:, 2:]


def slanted(chance: np.random.Generator, most_deg: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the two axes of a plane that leans by up to an angle towards any side."""
    lean = np.radians(chance.uniform(0, most_deg))
    side = chance.uniform(0, 2 * np.pi)
    about = np.array([np.cos(side), np.sin(side), 0.0])
    return turned(np.array([1.0, 0, 0]), about, lean), turned(np.array([0, 1.0, 0]), about, lean)


def turned(arrow: np.ndarray, about: np.ndarray, by: float) -> np.ndarray:
    """Turn an arrow about an axis of unit length."""
    kept = about * (about @ arrow) * (1 - np.cos(by))
    return arrow * np.cos(by) + np.cross(about, arrow) * np.sin(by) + kept


def wandering(
    chance: np.random.Generator, start: np.ndarray, length_mm: float, bend_mm: float
) -> np.ndarray:
    """Return a stroke that bends once or twice on its way."""
    along = np.linspace(0, 1, 40)
    ahead = chance.uniform(0, 2 * np.pi)
    aside = bend_mm * chance.uniform(-1, 1) * np.sin(along * chance.uniform(2, 6))
    right, down = (
        np.array([np.cos(ahead), np.sin(ahead)]),
        np.array([-np.sin(ahead), np.cos(ahead)]),
    )
    return start + length_mm * along[:, None] * right + aside[:, None] * down


def ring(
    chance: np.random.Generator, radius_mm: float, gap_share: float
) -> tuple[np.ndarray, np.ndarray]:
    """Return a ring drawn by hand and the pressure along it, which is none in its gaps."""
    turns = np.linspace(0, 2 * np.pi, 121)
    reach = 1 + sum(
        chance.uniform(-0.045, 0.045) * np.sin(n * turns + chance.uniform(0, 6)) for n in (1, 2, 3)
    )
    around = radius_mm * reach[:, None] * np.column_stack([np.cos(turns), np.sin(turns)])
    squeeze = 1 + chance.uniform(-0.1, 0.1)
    pressure = 1 + 0.15 * np.sin(3 * turns + chance.uniform(0, 6))
    gaps = 1 if gap_share < 0.1 else int(chance.integers(1, 4))
    for n in range(gaps):
        at = (n + chance.uniform(0, 0.5)) * 2 * np.pi / gaps
        off = np.abs((turns - at + np.pi) % (2 * np.pi) - np.pi)
        pressure = pressure * (off > gap_share * np.pi / gaps)
    return around * np.array([squeeze, 1 / squeeze]), pressure


def cross(chance: np.random.Generator, arm_mm: float) -> list[tuple[np.ndarray, np.ndarray]]:
    """Return two strokes that cross at the origin, neither quite straight nor quite even."""
    first = chance.uniform(0, np.pi)
    second = first + np.pi / 2 + chance.normal(0, 0.14)
    return [
        _arm_pair(chance, turn, arm_mm * chance.uniform(0.85, 1.15)) for turn in (first, second)
    ]


def dash(chance: np.random.Generator, arm_mm: float) -> list[tuple[np.ndarray, np.ndarray]]:
    """Return one stroke whose middle is the origin."""
    return [_arm_pair(chance, chance.uniform(0, np.pi), arm_mm, ends=(1.0, 1.0))]


def _arm_pair(
    chance: np.random.Generator,
    turn: float,
    arm_mm: float,
    ends: tuple[float, float] | None = None,
) -> tuple[np.ndarray, np.ndarray]:
    back, ahead = ends or chance.uniform(0.75, 1, 2)
    along = np.linspace(-back, ahead, 25)
    bend, twist = chance.normal(0, 0.05, 2) * arm_mm
    aside = bend * along**2 + twist * along**3
    right, down = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    line = arm_mm * along[:, None] * right + aside[:, None] * down
    return line, 1 - 0.2 * np.abs(along) * chance.uniform(0, 1)


def lay(
    colour: np.ndarray,
    plane: np.ndarray,
    lines: list[tuple[np.ndarray, np.ndarray]],
    ink: np.ndarray,
    width_mm: float,
    strength: float,
) -> None:
    """Lay ink along lines of a plane into a picture; edges are soft by less than a pixel."""
    reach_mm = width_mm
    box = np.vstack([line for line, _ in lines])
    rim = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1.0]]) * reach_mm
    outer = moved(plane, np.vstack([box + corner for corner in rim]))
    low = np.maximum(np.floor(outer.min(axis=0)).astype(int), 0)
    high = np.minimum(np.ceil(outer.max(axis=0)).astype(int) + 1, colour.shape[1::-1])
    if (high <= low).any():
        return
    y, x = np.mgrid[low[1] : high[1], low[0] : high[0]] + 0.5
    places = moved(np.linalg.inv(plane), np.column_stack([x.ravel(), y.ravel()]))
    middle = moved(plane, np.vstack([box.mean(axis=0), box.mean(axis=0) + np.array([0.1, 0])]))
    px_mm = 0.1 / float(np.hypot(*(middle[1] - middle[0])))
    cover = np.zeros(len(places))
    for line, pressure in lines:
        near = _cover(places, line, pressure, width_mm, px_mm)
        cover = 1 - (1 - cover) * (1 - near)
    grain = 0.8 + 0.2 * np.sin(91.7 * places[:, 0] + 40 * np.sin(57.3 * places[:, 1]))
    share = np.clip(cover * strength * grain, 0, 1).reshape(x.shape)[:, :, None]
    patch = colour[low[1] : high[1], low[0] : high[0]]
    patch += (share * (ink - patch)).astype(np.float32)


def _cover(
    places: np.ndarray, line: np.ndarray, pressure: np.ndarray, width_mm: float, px_mm: float
) -> np.ndarray:
    """Return how much of each place a line covers, by the distance to its nearest piece."""
    best = np.full(len(places), np.inf)
    felt = np.zeros(len(places))
    pieces = zip(line[:-1], line[1:], pressure[:-1], strict=True)
    for start, end, press in pieces:
        ahead = end - start
        near = np.abs(places - (start + end) / 2).max(axis=1) < np.abs(ahead).max() + 1.5 * width_mm
        off = places[near] - start
        along = np.clip(off @ ahead / max(float(ahead @ ahead), 1e-12), 0, 1)
        away = np.hypot(*(off - along[:, None] * ahead).T)
        at = np.flatnonzero(near)
        closer = away < best[at]
        best[at[closer]], felt[at[closer]] = away[closer], press
    return np.clip((width_mm / 2 - best) / px_mm + 0.5, 0, 1) * felt


def paste(
    colour: np.ndarray,
    plane: np.ndarray,
    sheet: np.ndarray,
    size_mm: tuple[float, float],
    left_mm: float,
    px_per_mm: float,
) -> None:
    """Lay a printed sheet into a plane: its square's middle is the origin, 3 x 3 rays a pixel."""
    top_mm = size_mm[1] / 2
    rim = np.array(
        [[-left_mm, -top_mm], [size_mm[0] - left_mm, -top_mm],
         [size_mm[0] - left_mm, top_mm], [-left_mm, top_mm]]
    )  # fmt: skip
    outer = moved(plane, rim)
    low = np.maximum(np.floor(outer.min(axis=0)).astype(int), 0)
    high = np.minimum(np.ceil(outer.max(axis=0)).astype(int) + 1, colour.shape[1::-1])
    wide, tall = high - low
    y, x = (np.mgrid[0 : 3 * tall, 0 : 3 * wide] + 0.5) / 3
    rays = np.column_stack([(x + low[0]).ravel(), (y + low[1]).ravel()])
    at = (moved(np.linalg.inv(plane), rays) + np.array([left_mm, top_mm])) * px_per_mm - 0.5
    light = ndimage.map_coordinates(sheet, at[:, ::-1].T, order=1, mode="constant", cval=-1e6)
    on = (light > -1).reshape(tall, 3, wide, 3)
    shade = np.where(on, 18 + 0.85 * light.reshape(on.shape), 0).sum(axis=(1, 3))
    patch = colour[low[1] : high[1], low[0] : high[0]]
    share = on.sum(axis=(1, 3))[:, :, None] / 9
    patch *= (1 - share).astype(np.float32)
    patch += (shade[:, :, None] / 9).astype(np.float32)
