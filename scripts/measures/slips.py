"""How many slips of the caliper a photo of the tripod tells, and how many right ones it doubts."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from bench.core.photocheck import Check, checked
from measures.row import Row, percentile
from measures.served import Bench

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.core.everyday_photos import InventedPhoto, invented, wrong_by
from tests.pictures.photomaker import EVERYDAY
from tests.pictures.slipfigures import slips

PHOTOS = 10_000
FIRST_SEED = 730_000
TIMES = 7  # photos drawn and looked at for each of `--photos`


def rows(bench: Bench) -> Iterator[Row]:
    """Yield the shares told of invented photos with everyday care, and how far their distances are off.

    First of distances drawn by chance, then of photos that are drawn and looked at.
    """
    photos = invented(PHOTOS, seed=20_260_309)
    off = [abs(p - t) for one in photos for p, t in zip(one.photo_mm, one.true_mm, strict=True)]
    yield Row("photo distances, everyday care, median", percentile(off, 0.5), "mm", "0.25 mm")
    yield Row("photo distances, everyday care, p95", percentile(off, 0.95), "mm", "0.7 mm")
    for wrong_mm, goal in ((2.0, "99 %"), (1.5, "90 %")):
        told = [not wrong_by(one, wrong_mm).fits for one in photos]
        yield Row(f"a side wrong by {wrong_mm:g} mm, told", _share(told), "%", goal)
    swapped = [_swapped(one) for one in photos if abs(one.caliper_mm[0] - one.caliper_mm[1]) >= 2]
    yield Row("two sides 2 mm apart swapped, told", _share(swapped), "%", "99 %")
    found = [checked(one.caliper_mm, one.sense, one.photo_mm, one.sense) for one in photos]
    doubted = [not check.fits for check in found]
    alike = sum(check.why in ("all_longer", "all_shorter") for check in found)
    yield Row("right distances doubted", _share(doubted), "%", "below 1 %",
              f"{sum(doubted)} of {PHOTOS}, {alike} because all three are longer or shorter")  # fmt: skip
    yield from _looked_at(range(FIRST_SEED, FIRST_SEED + bench.photos * TIMES))


def _looked_at(seeds: range) -> Iterator[Row]:
    found = slips(EVERYDAY, seeds)
    beside = f"{found.measured} of {found.photos} photos measured, {len(found.right)} calipers"
    yield Row("photos looked at: distances, median", percentile(found.off_mm, 0.5), "mm", "0.25 mm",
              f"p95 {percentile(found.off_mm, 0.95):.2f}")  # fmt: skip
    yield Row("photos looked at: right distances doubted", found.doubted, "", "none", beside)
    for (wrong_mm, checks), goal in zip(found.wrong.items(), ("99 %", "90 %"), strict=True):
        yield _told(f"a side wrong by {wrong_mm:g} mm", checks, goal)
    yield _told("the same by 2 mm, named as that record proposes", found.proposed, "")
    told = _share([not check.fits for check in found.swapped])
    yield Row("photos looked at: two sides 2 mm apart swapped, told", told, "%", "99 %",
              f"{len(found.swapped)} swaps")  # fmt: skip


def _swapped(one: InventedPhoto) -> bool:
    ab, ac, bc = one.caliper_mm
    return not checked((ac, ab, bc), one.sense, one.photo_mm, one.sense).fits


def _share(told: Sequence[bool]) -> float:
    return 100 * sum(told) / len(told)


def _told(name: str, checks: Sequence[Check], goal: str) -> Row:
    untold = [check for check in checks if check.fits]
    named = sum(check.why == "uneven" for check in untold)
    beside = f"{named} of the other {len(untold)} name a side to look at"
    return Row(
        f"photos looked at: {name}, told", _share([not c.fits for c in checks]), "%", goal, beside
    )
