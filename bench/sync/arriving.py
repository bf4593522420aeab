"""Photos on their way in: pieces put together on disk until the whole has the digest that names it."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import time
from pathlib import Path
from threading import Lock

from bench.core.bounds import BadEntry

MOST_BYTES = 32_000_000
MOST_AT_ONCE = 40
KEPT_S = 14 * 86_400
LEAST_FREE_BYTES = 500_000_000
_SHA = re.compile("[0-9a-f]{64}", re.ASCII)
_RANGE = re.compile(r"bytes (\d{1,12})-(\d{1,12})/(\d{1,12})", re.ASCII)


class OtherOffset(Exception):
    """A piece that does not begin where the held part ends; `held` says where that is, in bytes."""

    def __init__(self, held: int) -> None:
        super().__init__(held)
        self.held = held


def piece_range(header: str | None, length: int) -> tuple[int, int]:
    """Return first byte and total of a piece of so many bytes; without a header it is the whole.

    Raises BadEntry 'bad_request' for a Content-Range (RFC 9110, section 14.4) that does not fit.
    """
    if header is None:
        return 0, length
    found = _RANGE.fullmatch(header.strip())
    first, last, total = (int(part) for part in found.groups()) if found else (1, 0, 0)
    if last - first + 1 != length or last >= total or total > MOST_BYTES:
        raise BadEntry("content_range", "bad_request")
    return first, total


class Arriving:
    """The parts of photos that are still coming, in a folder; safe to share between threads."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._turn = Lock()

    def held(self, device: str, sha: str) -> int:
        """Return how many bytes of a photo are here."""
        path = self._path(device, sha)
        return path.stat().st_size if path.exists() else 0

    def add(self, device: str, sha: str, first: int, total: int, piece: bytes) -> bytes | None:
        """Add a piece, on disk when this returns; return the whole photo once it is all here.

        A piece that is here already changes nothing. Raises OtherOffset, and BadEntry 'no_room',
        'bad_request', or 'other_digest' for a whole that is not what its name says: it is thrown away.
        """
        with self._turn:
            held = self.held(device, sha)
            if first > held or (first + len(piece) > held > first):
                raise OtherOffset(held)
            if first == held:
                self._write(self._path(device, sha), piece)
                held += len(piece)
            return self._whole(device, sha) if held >= total else None

    def forget(self, device: str, sha: str) -> None:
        """Let go of what is here of a photo."""
        self._path(device, sha).unlink(missing_ok=True)

    def _whole(self, device: str, sha: str) -> bytes:
        data = self._path(device, sha).read_bytes()
        if hashlib.sha256(data).hexdigest() != sha:
            self.forget(device, sha)
            raise BadEntry("photo", "other_digest")
        return data

    def _write(self, path: Path, piece: bytes) -> None:
        if not path.exists():
            self._make_room(path)
        with path.open("ab") as out:
            out.write(piece)
            out.flush()
            os.fsync(out.fileno())

    def _make_room(self, path: Path) -> None:
        """Clear away what nobody went on with, and refuse where the disk is nearly full."""
        self.folder.mkdir(parents=True, exist_ok=True)
        device = path.name.partition(".")[0]
        for old in self.folder.glob("*.part"):
            if time.time() - old.stat().st_mtime > KEPT_S:
                old.unlink(missing_ok=True)
        if shutil.disk_usage(self.folder).free < LEAST_FREE_BYTES:
            raise BadEntry("photo", "no_room")
        if len(list(self.folder.glob(f"{device}.*.part"))) >= MOST_AT_ONCE:
            raise BadEntry("photo", "no_room")

    def _path(self, device: str, sha: str) -> Path:
        if not _SHA.fullmatch(sha) or not re.fullmatch(r"[a-z]+-[0-9a-f]{12}", device):
            raise BadEntry("photo", "bad_request")
        return self.folder / f"{device}.{sha}.part"
