"""The lens a photo was taken with: as the camera stated it, as photos of the tablet told it, or a usual one."""

from __future__ import annotations

from dataclasses import replace

from bench.core.casephotos import CasePhoto
from bench.core.lens import NEWEST_PHOTOS, Lens, pooled, stated
from bench.pictures.seen import Seen
from bench.store.lenses import keep_lens, lenses_of
from bench.store.refusals import FolderNotWritable, LogbookBusy
from bench.web import book


def lens_of(photo: CasePhoto, seen: Seen | None) -> Lens:
    """Return the best that is known of a photo's lens, with what was seen in it where somebody looked.

    What the label in it tells is kept for the other photos of its tablet.
    """
    size_px = (photo.body.width_px, photo.body.height_px)
    focal_px = photo.body.focal_px or (seen.focal_px if seen else None)
    if focal_px is not None:
        return stated(focal_px, *size_px)
    own = _told(seen, size_px)
    if not of_a_tablet(photo):
        return pooled([own] if own else [])
    store, device = book.store(), photo.entry.device
    if own is not None and own.told:
        try:
            keep_lens(store, device, photo.entry.id, photo.sha, size_px, own)
        except (LogbookBusy, FolderNotWritable):
            return pooled([own])  # looking goes on; the next look keeps it
    return pooled(lenses_of(store, device, size_px, NEWEST_PHOTOS))


def of_a_tablet(photo: CasePhoto) -> bool:
    """Say whether a tablet of the lab took it: what came in at the bench PC may be of any camera."""
    return photo.entry.device in book.lab().devices


def _told(seen: Seen | None, size_px: tuple[int, int]) -> Lens | None:
    if seen is None or seen.told_focal_px is None or seen.told_focal_sd_px is None:
        return None
    lens = stated(seen.told_focal_px, *size_px)
    return replace(lens, sd=seen.told_focal_sd_px / seen.told_focal_px, photos=1)
