"""The records as plain files anybody can read, and back from them into an empty bench.

`entries.jsonl` holds one entry a line in the order they arrived: the canonical JSON its digest is over.
`photos/` holds the pictures named by their SHA-256; `about.json` says what was written.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from bench.core.entries import PhotoKept
from bench.store.decode import decode
from bench.store.intake import LARGEST_BATCH, Receipt
from bench.store.log import Log
from bench.store.photos import NoSuchPhoto, PhotoShelf
from bench.store.refusals import ExportUnreadable, NotEmpty

ENTRIES, ABOUT, PHOTOS = "entries.jsonl", "about.json", "photos"
VERSION = 1
_ENDING = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}
_ALL = "SELECT bytes FROM entries ORDER BY position"
_OF_CASE = "SELECT bytes FROM entries WHERE case_code = ? ORDER BY position"


@dataclass(frozen=True, slots=True)
class Written:
    """How much was written; `absent` photos are named by entries and not here."""

    entries: int
    photos: int
    absent: int


def export(log: Log, shelf: PhotoShelf, folder: Path, case: str | None = None) -> Written:
    """Write the whole log, or one case, into an empty folder. Raises NotEmpty and OSError."""
    if folder.exists() and any(folder.iterdir()):
        raise NotEmpty(folder=str(folder))
    (folder / PHOTOS).mkdir(parents=True)
    count, kept = 0, dict[str, PhotoKept]()
    with (folder / ENTRIES).open("wb") as out:
        for stored in _stored(log, case):
            out.write(stored + b"\n")
            count += 1
            body = decode(stored).body
            if isinstance(body, PhotoKept):
                kept[body.sha256] = body
    photos = sum(_copy(shelf, folder / PHOTOS, body) for body in kept.values())
    said = {"version": VERSION, "bench": log.store.device, "case": case, "entries": count}
    (folder / ABOUT).write_text(json.dumps(said, indent=2) + "\n", "utf-8")
    return Written(count, photos, len(kept) - photos)


def bring_in(log: Log, folder: Path) -> Iterator[Receipt]:
    """Take a whole export into an empty log and yield the receipts of what was not stored.

    Raises NotEmpty for a log that holds something, ExportUnreadable for a folder that is no whole one.
    """
    if log.cursors():
        raise NotEmpty(folder=str(log.store.folder))
    _check_about(folder)
    with (folder / ENTRIES).open("rb") as source:
        lines = (line.rstrip(b"\n") for line in source)
        while batch := list(islice(lines, LARGEST_BATCH)):
            yield from (one for one in log.append(batch) if one.verdict != "stored")


def photo_files(folder: Path) -> Iterable[Path]:
    """Return the files of the photos of an export, in order."""
    return sorted(path for path in (folder / PHOTOS).glob("*") if path.is_file())


def _stored(log: Log, case: str | None) -> Iterator[bytes]:
    rows = log.store.db.conn.execute(*((_ALL,) if case is None else (_OF_CASE, (case,))))
    return (row[0] for row in rows)


def _copy(shelf: PhotoShelf, folder: Path, body: PhotoKept) -> bool:
    try:
        with shelf.open(body.sha256) as source:
            (folder / f"{body.sha256}.{_ENDING[body.media_type]}").write_bytes(source.read())
    except NoSuchPhoto:
        return False
    return True


def _check_about(folder: Path) -> None:
    try:
        said = json.loads((folder / ABOUT).read_text("utf-8"))
        version, case = said["version"], said["case"]
    except (OSError, ValueError, KeyError, TypeError):
        raise ExportUnreadable(folder=str(folder), reason="It holds no export") from None
    if version != VERSION:
        raise ExportUnreadable(folder=str(folder), reason="A newer version has written it")
    if case is not None:
        reason = "It holds one case, and the chains of its devices have holes where others stood"
        raise ExportUnreadable(folder=str(folder), reason=reason)
    if not (folder / ENTRIES).is_file():
        raise ExportUnreadable(folder=str(folder), reason=f"{ENTRIES} is gone from it")
