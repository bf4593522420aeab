"""An invented camera: photos of ringed marks on stone beside a label, with the truth known.

Space is in millimetres around the middle of the label's square: X right and Y down on the label,
Z away from the camera, so that a mark `dh_mm` above the label's plane has Z = -dh_mm. A pinhole
camera looks at it. Every photo comes from its seed alone.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field, replace
from functools import cache

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from bench.core.ids import case_code
from bench.pictures.label import LabelFacts, label_image, label_size_mm
from bench.pictures.seen import MarkColours
from bench.words import Words
from tests.pictures import strokes
from tests.pictures.gloss import gloss
from tests.pictures.pinhole import Camera, bent

STONES = {
    "white": (232, 229, 222),
    "buff": (222, 201, 160),
    "pink": (224, 180, 170),
    "green": (165, 196, 160),
    "blue": (160, 182, 205),
}
BENCHES = ((120, 85, 60), (70, 72, 76), (190, 190, 188), (45, 60, 80), (205, 180, 140))
RED, BLUE, GREEN = (188, 42, 48), (44, 72, 158), (38, 122, 72)
PAIRS = ((RED, BLUE), (RED, BLUE), (RED, BLUE), (BLUE, RED), (BLUE, RED), (RED, GREEN))
LABEL_DPI, LABEL_PX_PER_MM = 1016, 40
FILM_DIAGONAL_MM = 43.27


@dataclass(frozen=True)
class Conditions:
    """What a photo is taken under; pairs are the least and the most of what chance picks.

    `film_mm` is the lens as on 35 mm film, None for one of chance's; `middle_off` moves its axis off the
    picture's middle, in shares of the diagonal; `bent` is what it bends a straight line by at the corner.
    """

    marks: int = 3
    label: bool = True
    label_mm: int = 20
    distance_mm: tuple[float, float] = (200, 400)
    tilt_deg: tuple[float, float] = (0, 20)
    label_tilt_deg: float = 0.0
    dh_mm: tuple[float, float] = (0, 0)
    unlevel_mm: float = 0.0
    slant_deg: float = 25.0
    dashes: float = 0.1
    blur_px: tuple[float, float] = (0.4, 0.9)
    noise: tuple[float, float] = (1.5, 4.5)
    quality: tuple[int, int] = (82, 95)
    shadows: int = 2
    strokes: int = 4
    loose_rings: int = 0
    gap_share: tuple[float, float] = (0, 0.06)
    pencil: tuple[float, float] = (0.6, 0.95)
    stone: str | None = None
    megapixels: int = 3
    film_mm: float | None = None
    middle_off: tuple[float, float] = (0.0, 0.0)
    bent: float = 0.0
    gloss: int = 0


ORDINARY = Conditions(label_tilt_deg=2.0, unlevel_mm=0.5, dh_mm=(-2, 2))
LEVEL = Conditions()
KNOWN_HEIGHT = Conditions(dh_mm=(-8, 8))
EVERYDAY = Conditions(
    distance_mm=(250, 400), tilt_deg=(0, 10), label_tilt_deg=1.0, dh_mm=(-2, 2), unlevel_mm=0.3
)
BROKEN = replace(ORDINARY, gap_share=(0.33, 0.45))
FAINT = replace(ORDINARY, pencil=(0.18, 0.35))
BLURRED = replace(ORDINARY, blur_px=(1.6, 2.6))
CLUTTERED = replace(ORDINARY, strokes=14, loose_rings=1, shadows=5, noise=(4, 8))
GLOSSY = replace(ORDINARY, gloss=25)
BENT = replace(EVERYDAY, bent=-0.005)
BARE = replace(ORDINARY, marks=0, strokes=10, loose_rings=1)


@dataclass(frozen=True)
class Truth:
    """What is so in a photo; places in pixels as the detector gives them."""

    code: str
    label_mm: int
    dh_mm: float
    corners_px: np.ndarray
    marks_px: np.ndarray
    marks_mm: np.ndarray
    px_per_mm: float
    focal_px: float
    stone: str
    colours: MarkColours


@dataclass
class Scene:
    """A photo in the making: the colour of things, the light on them, and who decides."""

    chance: np.random.Generator
    conditions: Conditions
    camera: Camera
    colour: np.ndarray
    shade: np.ndarray
    stone: np.ndarray
    mark_ink: np.ndarray
    ring_ink: np.ndarray
    kept_clear: list[tuple[np.ndarray, float]] = field(default_factory=list)
    gloss: np.ndarray | None = None


def photo(seed: int, conditions: Conditions = ORDINARY) -> tuple[bytes, Truth]:
    """Return a photo as JPEG, with its focal length stated, and what is so in it."""
    chance = np.random.default_rng(seed)
    cast_mm = _cast_place(chance, conditions.label_mm)
    camera = _camera(chance, conditions, cast_mm)
    name = conditions.stone or str(chance.choice(list(STONES)))
    pair = PAIRS[chance.integers(len(PAIRS))]
    inks = [np.clip(np.array(ink) + chance.uniform(-12, 12, 3), 0, 255) for ink in pair]
    scene = _ground(chance, conditions, camera, np.array(STONES[name], float), inks)
    dh_mm = float(chance.uniform(*conditions.dh_mm))
    _cast(scene, cast_mm, dh_mm)
    marks_mm = _mark_places(chance, conditions, cast_mm, dh_mm)
    _distract(scene, cast_mm, dh_mm, marks_mm)
    for mark in marks_mm:
        _draw_mark(scene, mark)
    if conditions.gloss:
        middle_mm = np.append(cast_mm, -dh_mm)
        scene.gloss = gloss(chance, camera, middle_mm, conditions.gloss)
    code = case_code(1_000_003 * int(chance.integers(1, 13)))
    corners = _draw_label(scene, code) if conditions.label else np.zeros((0, 2))
    middle = camera.seen(np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]]))
    along = middle[1:] - middle[0]
    truth = Truth(
        code=code,
        label_mm=conditions.label_mm,
        dh_mm=dh_mm,
        corners_px=camera.bending(corners),
        marks_px=camera.bending(camera.seen(marks_mm)) if len(marks_mm) else np.zeros((0, 2)),
        marks_mm=marks_mm,
        px_per_mm=float(np.sqrt(abs(np.linalg.det(along)))),
        focal_px=camera.focal_px,
        stone=name,
        colours=MarkColours(pair[0], pair[1]),
    )
    return _developed(scene), truth


def _cast_place(chance: np.random.Generator, label_mm: int) -> np.ndarray:
    """Put the cast beside the label: below, above or to the left of it."""
    gap = label_mm / 2 + 5 + chance.uniform(30, 35)
    side = chance.integers(3)
    if side == 2:
        return np.array([-gap - 4, chance.uniform(-6, 6)])
    return np.array([chance.uniform(-5, 20), gap if side else -gap])


def _camera(chance: np.random.Generator, conditions: Conditions, cast_mm: np.ndarray) -> Camera:
    scale = 2 if conditions.megapixels == 12 else 1
    size_px = (2000 * scale, 1500 * scale)
    film_mm = int(chance.integers(26, 32)) if conditions.film_mm is None else conditions.film_mm
    diagonal_px = float(np.hypot(*size_px))
    focal_px = film_mm / FILM_DIAGONAL_MM * diagonal_px
    looked_at = np.append(cast_mm * chance.uniform(0.35, 0.65) + chance.uniform(-6, 6, 2), 0.0)
    tilt = np.radians(chance.uniform(*conditions.tilt_deg))
    away = chance.uniform(0, 2 * np.pi)
    ahead = np.array([np.sin(tilt) * np.cos(away), np.sin(tilt) * np.sin(away), np.cos(tilt)])
    roll = np.radians(chance.uniform(-25, 25) + 90 * chance.integers(4))
    right = np.array([np.cos(roll), np.sin(roll), 0.0])
    right = right - ahead * (right @ ahead)
    right /= np.linalg.norm(right)
    turn = np.vstack([right, np.cross(ahead, right), ahead])
    distance_mm = chance.uniform(*conditions.distance_mm)
    middle_px = np.array(size_px) / 2 + np.array(conditions.middle_off) * diagonal_px
    place_mm = looked_at - distance_mm * ahead
    return Camera(place_mm, turn, focal_px, size_px, middle_px, conditions.bent)


@cache
def _grain(layers: int) -> np.ndarray:
    tile = np.random.default_rng(layers).standard_normal((1111, 1333, layers))
    return tile.astype(np.float32)


def _roughen(chance: np.random.Generator, level: np.ndarray, by: float) -> None:
    """Add grain to a picture: a tile set off by chance, which is faster than fresh numbers."""
    tile = _grain(level.shape[2])
    down, across = (int(chance.integers(side)) for side in tile.shape[:2])
    tile = np.roll(tile, (down, across), (0, 1)) * np.float32(by)
    for top in range(0, level.shape[0], tile.shape[0]):
        for left in range(0, level.shape[1], tile.shape[1]):
            piece = level[top : top + tile.shape[0], left : left + tile.shape[1]]
            piece += tile[: piece.shape[0], : piece.shape[1]]


def _clouds(chance: np.random.Generator, size_px: tuple[int, int], cells: int) -> np.ndarray:
    """Return smooth unevenness of about unit spread, `cells` of it across the picture."""
    few = chance.standard_normal((cells * 3 // 4 + 2, cells + 2)).astype(np.float32)
    return np.asarray(Image.fromarray(few).resize(size_px, Image.Resampling.BICUBIC))


def _textured(
    chance: np.random.Generator, size_px: tuple[int, int], cells: int, smooth: float, rough: float
) -> np.ndarray:
    level = (1 + np.float32(smooth) * _clouds(chance, size_px, cells))[:, :, None]
    _roughen(chance, level, rough)
    return level


def _ground(
    chance: np.random.Generator,
    conditions: Conditions,
    camera: Camera,
    stone: np.ndarray,
    inks: list[np.ndarray],
) -> Scene:
    size_px = camera.size_px
    board = np.array(BENCHES[chance.integers(len(BENCHES))], np.float32)
    colour = _textured(chance, size_px, 9, 0.05, 0.03) * board
    shade = 1 + 0.08 * _clouds(chance, size_px, 2)
    shade = np.clip(shade, 0.6, 1.15).astype(np.float32) * chance.uniform(0.8, 1.02)
    for _ in range(conditions.shadows):
        shade *= _shadow(chance, size_px)
    return Scene(chance, conditions, camera, colour, shade, stone, *inks)


def _shadow(chance: np.random.Generator, size_px: tuple[int, int]) -> np.ndarray:
    """Return a soft-edged shadow such as a hand or a lamp's arm throws."""
    small = (size_px[0] // 8, size_px[1] // 8)
    dark = Image.new("L", small, 255)
    middle = chance.uniform(0, 1, 2) * small
    corners = middle + chance.uniform(-0.35, 0.35, (4, 2)) * small
    depth = int(255 * chance.uniform(0.6, 0.9))
    ImageDraw.Draw(dark).polygon([tuple(c) for c in corners], fill=depth)
    soft = dark.filter(ImageFilter.GaussianBlur(chance.uniform(1, 8)))
    return np.asarray(soft.resize(size_px, Image.Resampling.BILINEAR), np.float32) / 255


def _at_height(places: np.ndarray, dh_mm: float) -> np.ndarray:
    return np.column_stack([places, np.full(len(places), -dh_mm)])


def _cast(scene: Scene, cast_mm: np.ndarray, dh_mm: float) -> None:
    """Lay the stone on the board: an uneven round outline, relief, and teeth around its edge."""
    chance, size_px = scene.chance, scene.camera.size_px
    turns = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    reach = 36 * (1 + 0.05 * np.sin(2 * turns + chance.uniform(0, 6)))
    outline = cast_mm + reach[:, None] * np.column_stack([np.cos(turns), 0.9 * np.sin(turns)])
    shape = Image.new("L", size_px, 0)
    edge = scene.camera.seen(_at_height(outline, dh_mm))
    ImageDraw.Draw(shape).polygon([tuple(p) for p in edge], fill=255)
    inside = np.asarray(shape.filter(ImageFilter.BoxBlur(1)), np.float32)[:, :, None] / 255
    stone = _textured(chance, size_px, 24, 0.05, 0.025) * scene.stone.astype(np.float32)
    stone -= scene.colour
    stone *= inside
    scene.colour += stone
    teeth = Image.new("L", size_px, 0)
    draw = ImageDraw.Draw(teeth)
    for at in np.linspace(0.3, np.pi - 0.3, 12) + chance.choice([0, np.pi]):
        middle = cast_mm + 31 * np.array([np.cos(at), 0.9 * np.sin(at)])
        around = middle + 3.6 * np.column_stack([np.cos(turns), np.sin(turns)])
        draw.polygon([tuple(p) for p in scene.camera.seen(_at_height(around, dh_mm))], fill=60)
    soft = np.asarray(teeth.filter(ImageFilter.BoxBlur(4)), np.float32) / 255
    scene.shade *= 1 + soft * chance.uniform(-1.2, 0.5)


def _mark_places(
    chance: np.random.Generator, conditions: Conditions, cast_mm: np.ndarray, dh_mm: float
) -> np.ndarray:
    """Put the marks far apart on the cast, all at one height but for `unlevel_mm`."""
    turns = chance.uniform(0, 2 * np.pi) + np.arange(3) * 2 * np.pi / 3
    turns = turns + chance.uniform(-0.35, 0.35, 3)
    reach = chance.uniform(15, 24, 3)
    places = cast_mm + reach[:, None] * np.column_stack([np.cos(turns), 0.9 * np.sin(turns)])
    marks = _at_height(places, dh_mm)
    marks[:, 2] += chance.uniform(-1, 1, 3) * conditions.unlevel_mm
    return marks[: conditions.marks]


def _distract(scene: Scene, cast_mm: np.ndarray, dh_mm: float, marks_mm: np.ndarray) -> None:
    """Draw what is no mark: lead lines, strokes of both colours, and rings around nothing."""
    chance = scene.chance
    drawn = [np.full((1, 2), 1e6)]
    lead = np.full(3, 70.0)
    for _ in range(3):
        line = strokes.wandering(chance, cast_mm + chance.uniform(-20, 20, 2), 25, 8.0)
        _draw_far(scene, line, dh_mm, marks_mm, lead, 0.4)
    for n in range(scene.conditions.strokes):
        ink = (scene.mark_ink, scene.ring_ink)[n % 2]
        start = cast_mm + chance.uniform(-26, 26, 2)
        line = strokes.wandering(chance, start, chance.uniform(3, 18), 4.0)
        _draw_far(scene, line, dh_mm, marks_mm, ink, chance.uniform(0.4, 0.9))
        drawn.append(line)
    for _ in range(scene.conditions.loose_rings):
        start = cast_mm + chance.uniform(-18, 18, 2)
        if np.hypot(*(np.vstack(drawn) - start).T).min() < 6:
            continue  # a ring around a stroke would be a mark
        ring = start + strokes.ring(chance, chance.uniform(2.5, 4.5), 0.0)[0]
        _draw_far(scene, ring, dh_mm, marks_mm, scene.ring_ink, 0.7)


def _draw_far(
    scene: Scene,
    line: np.ndarray,
    dh_mm: float,
    marks_mm: np.ndarray,
    ink: np.ndarray,
    width_mm: float,
) -> None:
    """Draw a line unless it comes near a mark."""
    for mark in marks_mm:
        if np.hypot(*(line - mark[:2]).T).min() < 7.5:
            return
    origin = np.array([0.0, 0, -dh_mm])
    plane = scene.camera.plane(origin, np.array([1.0, 0, 0]), np.array([0, 1.0, 0]))
    strength = scene.chance.uniform(0.5, 0.95)
    strokes.lay(scene.colour, plane, [(line, np.ones(len(line)))], ink, width_mm, strength)


def _draw_mark(scene: Scene, mark_mm: np.ndarray) -> None:
    """Draw a cross or a dash and, not quite around its middle, a ring of the other colour."""
    chance = scene.chance
    right, down = strokes.slanted(chance, scene.conditions.slant_deg)
    plane = scene.camera.plane(mark_mm, right, down)
    radius_mm = chance.uniform(2.6, 4.2)
    gap = chance.uniform(*scene.conditions.gap_share)
    ring, pressure = strokes.ring(chance, radius_mm, gap)
    ring = ring + chance.normal(0, 0.3, 2)
    width_mm = chance.uniform(0.55, 0.95)
    strokes.lay(scene.colour, plane, [(ring, pressure)], scene.ring_ink, width_mm, 0.85)
    draw = strokes.dash if chance.random() < scene.conditions.dashes else strokes.cross
    lines = draw(chance, radius_mm * chance.uniform(0.4, 0.62))
    strength = chance.uniform(*scene.conditions.pencil)
    strokes.lay(scene.colour, plane, lines, scene.mark_ink, chance.uniform(0.35, 0.6), strength)


@cache
def printed_label(code: str, label_mm: int) -> np.ndarray:
    """Return the case's label as it is printed, cut out."""
    facts = LabelFacts(code, "2417", "upper", "http://192.168.7.20:8480")
    png = label_image(facts, Words("en").say, code_mm=label_mm, dpi=LABEL_DPI)
    edge = 3 * LABEL_PX_PER_MM  # the cut marks are cut off
    with Image.open(io.BytesIO(png)) as page:
        cut = page.convert("L").crop((edge, edge, page.width - edge, page.height - edge))
        return np.asarray(cut, np.float32)


def _draw_label(scene: Scene, code: str) -> np.ndarray:
    """Lay the label into its plane and return where the corners of its square are seen."""
    label_mm = scene.conditions.label_mm
    right, down = strokes.slanted(scene.chance, scene.conditions.label_tilt_deg)
    plane = scene.camera.plane(np.zeros(3), right, down)
    half = label_mm / 2
    sheet = printed_label(code, label_mm)
    strokes.paste(scene.colour, plane, sheet, label_size_mm(label_mm), half + 5, LABEL_PX_PER_MM)
    return strokes.moved(plane, np.array([[-1, -1], [1, -1], [1, 1], [-1, 1.0]]) * half)


def _developed(scene: Scene) -> bytes:
    """Return the scene as the camera's JPEG: light, blur, white balance, noise, compression."""
    chance, conditions = scene.chance, scene.conditions
    scale = scene.camera.size_px[0] / 2000
    balance = scene.chance.uniform(0.95, 1.05, 3).astype(np.float32)
    scene.colour *= scene.shade[:, :, None]
    scene.colour *= balance
    if scene.gloss is not None:
        scene.colour += 255 * scene.gloss[:, :, None]
    sharp = Image.fromarray(np.clip(scene.colour, 0, 255, out=scene.colour).astype(np.uint8))
    if conditions.bent:
        sharp = bent(sharp, scene.camera)
    blur = ImageFilter.GaussianBlur(chance.uniform(*conditions.blur_px) * scale)
    level = np.asarray(sharp.filter(blur)).astype(np.float32)
    _roughen(chance, level, chance.uniform(*conditions.noise))
    noisy = Image.fromarray(np.clip(level + 0.5, 0, 255, out=level).astype(np.uint8))
    out = io.BytesIO()
    film_mm = round(scene.camera.focal_px * FILM_DIAGONAL_MM / np.hypot(*scene.camera.size_px))
    stated = Image.Exif()
    stated.get_ifd(0x8769)[0xA405] = film_mm
    noisy.save(out, "JPEG", quality=int(chance.integers(*conditions.quality)), exif=stated)
    return out.getvalue()
