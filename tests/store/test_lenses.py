"""What photos told of a device's lens: kept once, found by device and proportions, newest first."""

from __future__ import annotations

import pytest

from bench.core.lens import Lens
from bench.store.lenses import keep_lens, lenses_of
from bench.store.open import Store

WIDE = (4000, 3000)


def kept(store: Store, n: int, *, device: str = "tablet-1", size: tuple[int, int] = WIDE) -> Lens:
    lens = Lens(0.6 + n / 100, 0.05, 1)
    keep_lens(store, device, f"0195a1b2-0000-7000-8000-{n:012d}", f"{n:064x}", size, lens)
    return lens


def test_the_newest_photos_come_first_and_no_more_than_asked_for(store: Store) -> None:
    lenses = [kept(store, n) for n in (2, 5, 1, 4, 3)]

    assert (lenses[1], lenses[3], lenses[4]) == lenses_of(store, "tablet-1", WIDE, 3)


def test_a_photo_counts_once_however_often_it_is_looked_at(store: Store) -> None:
    first = kept(store, 7)
    again = Lens(0.9, 0.01, 1)

    keep_lens(store, "tablet-2", "later", f"{7:064x}", WIDE, again)

    assert (first,) == lenses_of(store, "tablet-1", WIDE, 20)
    assert () == lenses_of(store, "tablet-2", WIDE, 20)


@pytest.mark.parametrize("size", [(4000, 3000), (3000, 4000), (2000, 1500), (1999, 1500)])
def test_the_same_picture_shrunk_or_turned_is_of_the_same_lens(
    store: Store, size: tuple[int, int]
) -> None:
    lens = kept(store, 1)

    assert (lens,) == lenses_of(store, "tablet-1", size, 20)


@pytest.mark.parametrize("size", [(4000, 2250), (3000, 3000)])
def test_a_picture_cut_to_other_proportions_is_of_another(
    store: Store, size: tuple[int, int]
) -> None:
    kept(store, 1)

    assert () == lenses_of(store, "tablet-1", size, 20)
