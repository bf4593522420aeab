"""What the photos of a device told of its lens. No part of the log: a new look at a photo finds it again."""

from __future__ import annotations

from bench.core.lens import Lens
from bench.store.open import Store

# Pictures of one camera whose sides are in another proportion were cut to it, so their diagonals differ.
SAME_PROPORTION = 0.01

_IS_KEPT = "SELECT 1 FROM photo_lenses WHERE sha256 = ?"
_KEEP = (
    "INSERT INTO photo_lenses (sha256, device, photo, proportion, focal, sd) "
    "VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (sha256) DO NOTHING"
)
_NEWEST = (
    "SELECT focal, sd FROM photo_lenses WHERE device = ? AND proportion BETWEEN ? AND ? "
    "ORDER BY photo DESC LIMIT ?"
)


def keep_lens(
    store: Store, device: str, photo: str, sha: str, size_px: tuple[int, int], lens: Lens
) -> None:
    """Keep what a photo told of a device's lens; once is enough, the bytes never change.

    `photo` is the entry that kept it. Raises LogbookBusy, FolderNotWritable.
    """
    if store.db.conn.execute(_IS_KEPT, (sha,)).fetchone():
        return
    with store.writing() as conn:
        row = (sha, device, photo, _proportion(size_px), lens.focal, lens.sd)
        conn.execute(_KEEP, row)


def lenses_of(store: Store, device: str, size_px: tuple[int, int], most: int) -> tuple[Lens, ...]:
    """Return what the newest photos of a device in these proportions told, the newest first."""
    proportion = _proportion(size_px)
    low, high = proportion * (1 - SAME_PROPORTION), proportion * (1 + SAME_PROPORTION)
    rows = store.db.conn.execute(_NEWEST, (device, low, high, most))
    return tuple(Lens(focal, sd, 1) for focal, sd in rows)


def _proportion(size_px: tuple[int, int]) -> float:
    return max(size_px) / min(size_px)
