"""What is read from photos of the tripod, how fast, and in how much memory."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from PIL import Image

from bench.core.lens import USUAL
from bench.pictures import apart
from bench.pictures.ingest import DISPLAY_PX, THUMB_PX
from bench.store.photos import PhotoShelf
from measures.row import Row, percentile, timed_ms
from measures.served import Bench

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.pictures import lensfigures, photomaker
from tests.pictures.figures import Figures, figures, middle
from tests.pictures.photomaker import Conditions, Truth

FIRST_SEED = 500_000
ORDINARY_TIMES = 5  # ordinary photos a photo of each other condition
HARD = {
    "cluttered": photomaker.CLUTTERED,
    "broken rings": photomaker.BROKEN,
    "faint pencil": photomaker.FAINT,
    "blurred": photomaker.BLURRED,
    "glossy": photomaker.GLOSSY,
}
CARE = {
    f"everyday care, {size} mm label": replace(photomaker.EVERYDAY, label_mm=size)
    for size in (20, 25, 30)
}
CARE["everyday care, a lens that bends by 0.5 %"] = photomaker.BENT
TIMES = 5
TILTS_DEG = ((0, 5), (5, 10), (10, 20))
PEAK = (
    "import sys; from pathlib import Path; from bench.pictures import looking;"
    "data = Path(sys.argv[1]).read_bytes();"
    "looking.look(data, looking.MarkColours((188, 42, 48), (44, 72, 158)), code=None, label_mm=20);"
    "print(Path('/proc/self/status').read_text().partition('VmHWM:')[2].split()[0])"
)


def rows(bench: Bench) -> Iterator[Row]:
    """Yield figures by condition over `--photos` invented photos each, then time and memory."""
    seeds = range(FIRST_SEED, FIRST_SEED + bench.photos)
    many = range(FIRST_SEED, FIRST_SEED + bench.photos * ORDINARY_TIMES)
    ordinary = figures(photomaker.ORDINARY, many)
    yield _found("ordinary", ordinary, ">= 99 %")
    yield Row("photos, ordinary: all three marks", 100 * ordinary.whole / ordinary.photos, "%",
              ">= 97 %", f"{ordinary.photos} photos")  # fmt: skip
    yield _off(ordinary)
    hard = {name: figures(conditions, seeds) for name, conditions in HARD.items()}
    for name, found in hard.items():
        yield _found(name, found, ">= 50 %")
    bare = figures(photomaker.BARE, seeds)
    all_of_them = [ordinary, bare, *hard.values()]
    yield Row("photos, false marks", sum(found.false for found in all_of_them), "marks", "none",
              f"{sum(found.photos for found in all_of_them)} photos, {bare.photos} without marks")  # fmt: skip
    yield _sides("marks at label height", figures(photomaker.LEVEL, seeds), 0.05, known=True)
    yield _sides("known height", figures(photomaker.KNOWN_HEIGHT, seeds), 0.05, known=True)
    for name, conditions in CARE.items():
        yield _sides(name, figures(conditions, seeds), 0.25, known=False)
    for tilt_deg in TILTS_DEG:
        for flawed in (False, True):
            yield _lens(tilt_deg, flawed, min(bench.photos, lensfigures.PHOTOS))
    yield from _weighed()


def _found(name: str, found: Figures, goal: str) -> Row:
    off = f"off {middle(found.off_mm):.3f} mm, p95 {middle(found.off_mm, 95):.3f}"
    beside = f"{found.photos} photos, {found.labels} labels, {found.false} false, {off}"
    return Row(f"photos, {name}: marks found", 100 * found.recall, "%", goal, beside)


def _off(found: Figures) -> Row:
    p95, corner_px = middle(found.off_mm, 95), middle(found.corner_px)
    return Row("photos, ordinary: middle of a mark off", middle(found.off_mm), "mm", "0.02, p95 0.1",
               f"p95 {p95:.3f}; label corners off {corner_px:.3f} px")  # fmt: skip


def _sides(name: str, found: Figures, goal_mm: float, *, known: bool) -> Row:
    off = found.sides_known_mm if known else found.sides_mm
    goal = f"{goal_mm:g} mm" if known else f"{goal_mm:g} mm, p95 0.7"
    return Row(f"photos, {name}: distances off", middle(off), "mm", goal,
               f"p95 {middle(off, 95):.2f}; {len(off)} distances")  # fmt: skip


def _lens(tilt_deg: tuple[int, int], flawed: bool, photos: int) -> Row:
    """Measure known heights with the lens that one, five and all photos of each invented tablet tell."""
    rolls = [
        lensfigures.roll(
            FIRST_SEED + 1000 * n,
            replace(lensfigures.under(tilt_deg, flawed=flawed), film_mm=film_mm),
            photos,
        )
        for n, film_mm in enumerate(lensfigures.FILMS_MM)
    ]

    def off(together: int) -> list[float]:
        told = [(shots, lensfigures.lenses(shots, together)) for shots in rolls]
        return [one for shots, used in told for one in lensfigures.sides_off_mm(shots, used)]

    name = f"{tilt_deg[0]} to {tilt_deg[1]} degrees{', lens flawed' if flawed else ''}"
    usual = [
        one for shots in rolls for one in lensfigures.sides_off_mm(shots, [USUAL] * len(shots))
    ]
    beside = (
        f"alone {middle(off(1)):.3f}, of 5 {middle(off(5)):.3f}, usual lens {middle(usual):.3f}"
    )
    return Row(f"photos, lens told by {photos}, {name}: distances off", middle(off(photos)), "mm",
               "0.05 mm", f"p95 {middle(off(photos), 95):.3f}; {beside}; {len(usual)} distances")  # fmt: skip


def _weighed() -> Iterator[Row]:
    """Measure one photo of 12 million pixels from upload to marks, and the peaks of memory."""
    data, truth = photomaker.photo(FIRST_SEED, Conditions(megapixels=12))
    apart.look(data, truth.colours, code=truth.code, label_mm=truth.label_mm)
    with tempfile.TemporaryDirectory() as folder:
        ours = timed_ms(_Upload(Path(folder), data, truth), TIMES)
        bare = timed_ms(lambda: _bare(data), TIMES)
        took, beside = percentile(ours, 0.5), percentile(bare, 0.5)
        yield Row("photo of 12 MP kept, shown and looked at", took, "ms", "<= 2.5 of bare",
                  f"bare Pillow decode and derivatives {beside:.0f} ms: {took / beside:.2f}")  # fmt: skip
        yield from _peaks(Path(folder), data)


class _Upload:
    """What one photo costs: taken in, put on the shelf for good, and looked at apart."""

    def __init__(self, folder: Path, data: bytes, truth: Truth) -> None:
        self.folder, self.data, self.truth, self.times = folder, data, truth, 0

    def __call__(self) -> None:
        self.times += 1
        picture = apart.take_in(self.data)
        PhotoShelf(self.folder / f"shelf-{self.times}").keep(picture)
        truth = self.truth
        seen = apart.look(
            picture.original_bytes, truth.colours, code=truth.code, label_mm=truth.label_mm
        )
        assert len(seen.marks) == 3


def _bare(data: bytes) -> None:
    """Do with Pillow alone what every keeper of photos does: decode, and two derivatives."""
    with Image.open(io.BytesIO(data)) as picture:
        for longest_px, quality in ((DISPLAY_PX, 85), (THUMB_PX, 78)):
            shown = picture.copy()
            shown.thumbnail((longest_px, longest_px), Image.Resampling.LANCZOS)
            shown.save(io.BytesIO(), "JPEG", quality=quality, optimize=True)


def _peaks(folder: Path, photo: bytes) -> Iterator[Row]:
    """Yield the most memory that a process takes which looks at one picture (Linux)."""
    if sys.platform != "linux":
        return
    for name, data in {"JPEG of 12 MP": photo, **_largest()}.items():
        path = folder / "picture"
        path.write_bytes(data)
        command = [sys.executable, "-c", PEAK, str(path)]
        alone = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}  # as the child of the server is
        said = subprocess.run(command, capture_output=True, text=True, check=True, env=alone).stdout
        yield Row(f"memory to look at a {name}, peak", int(said) / 1000, "MB", "<= 400 MB")


def _largest() -> dict[str, bytes]:
    """Return pictures of nearly as many pixels as are taken in, by name."""
    stone = Image.new("RGB", (8000, 6200), (222, 201, 160))
    rough = _rough(stone.size)
    alpha = Image.new("L", stone.size, 200)
    alpha.paste(Image.linear_gradient("L").resize((1000, 775)), (2000, 2000))
    clear = rough.copy()
    clear.putalpha(alpha)
    lossless = {"lossless": True, "quality": 0, "method": 0}
    return {
        "JPEG of 50 MP": _saved(stone, "JPEG"),
        "PNG of 50 MP": _saved(stone, "PNG"),
        "WebP of 50 MP": _saved(rough, "WEBP", method=0),
        "see-through WebP of 50 MP": _saved(clear, "WEBP", method=0),
        "lossless WebP of 50 MP": _saved(rough, "WEBP", **lossless),
        "lossless see-through WebP of 50 MP": _saved(clear, "WEBP", **lossless),
    }


def _rough(size_px: tuple[int, int]) -> Image.Image:
    """Return a picture of so many colours that no palette holds them."""
    few = (size_px[0] // 10, size_px[1] // 10)
    layers = [Image.effect_noise(few, 2).resize(size_px) for _ in range(3)]
    return Image.merge("RGB", layers)


def _saved(picture: Image.Image, kind: str, **options: Any) -> bytes:
    out = io.BytesIO()
    picture.save(out, kind, **options)
    return out.getvalue()
