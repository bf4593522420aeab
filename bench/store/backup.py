"""A backup in one file, taken while the bench records; and a bench brought back from one.

The file is a ZIP archive with nothing compressed: the logbook, the photos, and last a list of digests
that tells a whole file from one that was cut off. The keys of cookies and certificates stay out of it.
"""

from __future__ import annotations

import hashlib
import re
import shutil
import sqlite3
import tempfile
import zipfile
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from bench.store.folder import made_ready
from bench.store.onetimecode import forget_code
from bench.store.open import FILE_NAME, Store, open_store
from bench.store.photos import VARIANTS, PhotoShelf
from bench.store.refusals import BackupUnreadable, FolderNotWritable, NotEmpty

PHOTOS = "photos"
CONTENTS = "contents.txt"
_PIECE_BYTES = 1 << 20
_INSIDE = re.compile(
    rf"{re.escape(FILE_NAME)}|{PHOTOS}/[0-9a-f]{{2}}/[0-9a-f]{{64}}/(?:{'|'.join(VARIANTS)}|digests)", re.ASCII
)  # fmt: skip
_LINE = re.compile(r"([0-9a-f]{64}) (\S+)", re.ASCII)


@dataclass(frozen=True, slots=True)
class Copied:
    """How much a backup or a restore copied."""

    entries: int
    photos: int
    file_bytes: int


def back_up(store: Store, out: Path) -> Copied:
    """Write a backup of a logbook and its photos, which others may go on writing meanwhile.

    The file is in place whole or not at all; one of that name is replaced. Raises FolderNotWritable.
    """
    try:
        with tempfile.TemporaryDirectory(dir=out.parent) as aside:
            copy = Path(aside) / FILE_NAME
            entries = _copy_logbook(store, copy)
            ready = Path(aside) / "ready"
            photos = _pack(ready, copy, PhotoShelf(store.folder / PHOTOS))
            size = ready.stat().st_size
            ready.replace(out)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise FolderNotWritable(folder=str(out.parent), reason=reason) from error
    return Copied(entries, photos, size)


def restore(file: Path, folder: Path) -> Copied:
    """Bring a backup back into an empty folder, under a new name and epoch.

    Tablets then send again what came after the backup. Raises NotEmpty, BackupUnreadable, and what
    opening a logbook raises.
    """
    if folder.exists() and any(folder.iterdir()):
        raise NotEmpty(folder=str(folder))
    made = made_ready(folder)
    try:
        photos = _unpack(file, made)
    except (OSError, zipfile.BadZipFile, UnicodeDecodeError, EOFError) as error:
        _clear(made)
        raise BackupUnreadable(file=str(file), reason=str(error).rstrip(".")) from error
    store = open_store(made)
    try:
        store.start_new_epoch()
        forget_code(store)
        entries = store.db.conn.execute("SELECT count(*) FROM entries").fetchone()[0]
    finally:
        store.close()
    return Copied(int(entries), photos, file.stat().st_size)


def _copy_logbook(store: Store, copy: Path) -> int:
    """Copy the database at one moment, by SQLite's own online backup, into a file without a log beside it."""
    with closing(sqlite3.connect(copy, isolation_level=None)) as target:
        store.db.conn.backup(target)
        target.execute("PRAGMA journal_mode = DELETE")
        target.execute("DELETE FROM pairing_code")
        target.execute("VACUUM")
        return int(target.execute("SELECT count(*) FROM entries").fetchone()[0])


def _pack(ready: Path, copy: Path, shelf: PhotoShelf) -> int:
    """Put logbook and photos into an archive. Photos come after: each entry's photo was kept before it."""
    lines, count = [], 0
    with zipfile.ZipFile(ready, "w", zipfile.ZIP_STORED, allowZip64=True) as archive:
        lines.append(_put(archive, FILE_NAME, copy))
        for sha in shelf.names():
            place = shelf.folder / sha[:2] / sha
            count += 1
            lines += [
                _put(archive, f"{PHOTOS}/{sha[:2]}/{sha}/{part}", place / part)
                for part in (*VARIANTS, "digests") if (place / part).is_file()
            ]  # fmt: skip
        archive.writestr(CONTENTS, "".join(lines))
    return count


def _put(archive: zipfile.ZipFile, name: str, path: Path) -> str:
    with path.open("rb") as source, archive.open(name, "w", force_zip64=True) as inside:
        return f"{_copied(source, inside)} {name}\n"


def _copied(source: BinaryIO, to: object) -> str:
    digest = hashlib.sha256()
    while piece := source.read(_PIECE_BYTES):
        digest.update(piece)
        to.write(piece)  # type: ignore[attr-defined]
    return digest.hexdigest()


def _unpack(file: Path, folder: Path) -> int:
    with zipfile.ZipFile(file) as archive:
        contents = archive.read(CONTENTS) if CONTENTS in archive.namelist() else b""
        listed = {found[2]: found[1] for found in _LINE.finditer(contents.decode("ascii"))}
        if set(listed) != set(archive.namelist()) - {CONTENTS} or FILE_NAME not in listed:
            raise zipfile.BadZipFile("It holds no whole backup")
        for name, digest in listed.items():
            _take_out(archive, name, digest, folder)
    return sum(name.endswith("/original") for name in listed)


def _take_out(archive: zipfile.ZipFile, name: str, digest: str, folder: Path) -> None:
    if not _INSIDE.fullmatch(name):
        raise zipfile.BadZipFile(f"It holds {name[:80]}, which belongs to no backup")
    path = folder.joinpath(*name.split("/"))
    path.parent.mkdir(parents=True, exist_ok=True)
    with archive.open(name) as inside, path.open("xb") as out:
        if _copied(inside, out) != digest:  # type: ignore[arg-type]
            raise zipfile.BadZipFile(f"{name} is not as it was backed up")


def _clear(folder: Path) -> None:
    """Leave the folder as empty as it was."""
    for path in folder.iterdir():
        if path.is_dir():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink(missing_ok=True)
