"""How many slips of the caliper a photo of the tripod tells, and how many right ones it doubts."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from bench.core.photocheck import checked
from measures.row import Row, percentile
from measures.served import Bench

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.core.everyday_photos import InventedPhoto, invented, wrong_by

PHOTOS = 10_000


def rows(bench: Bench) -> Iterator[Row]:
    """Yield the shares told of invented photos with everyday care, and how far their distances are off."""
    photos = invented(PHOTOS, seed=20_260_309)
    off = [abs(p - t) for one in photos for p, t in zip(one.photo_mm, one.true_mm, strict=True)]
    yield Row("photo distances, everyday care, median", percentile(off, 0.5), "mm", "0.25 mm")
    yield Row("photo distances, everyday care, p95", percentile(off, 0.95), "mm", "0.7 mm")
    for wrong_mm, goal in ((2.0, "99 %"), (1.5, "90 %")):
        told = [not wrong_by(one, wrong_mm).fits for one in photos]
        yield Row(f"a side wrong by {wrong_mm:g} mm, told", _share(told), "%", goal)
    swapped = [_swapped(one) for one in photos if abs(one.caliper_mm[0] - one.caliper_mm[1]) >= 2]
    yield Row("two sides 2 mm apart swapped, told", _share(swapped), "%", "99 %")
    doubted = [
        not checked(one.caliper_mm, one.sense, one.photo_mm, one.sense).fits for one in photos
    ]
    yield Row("right distances doubted", _share(doubted), "%", "below 1 %")


def _swapped(one: InventedPhoto) -> bool:
    ab, ac, bc = one.caliper_mm
    return not checked((ac, ab, bc), one.sense, one.photo_mm, one.sense).fits


def _share(told: Sequence[bool]) -> float:
    return 100 * sum(told) / len(told)
