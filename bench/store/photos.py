"""The shelf of photos: each is kept once, under the SHA-256 of what is kept."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import tempfile
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Literal, Protocol

Variant = Literal["original", "display", "thumb"]
Trouble = Literal["missing", "altered", "foreign"]

VARIANTS: tuple[Variant, ...] = ("original", "display", "thumb")

_NAME = re.compile("[0-9a-f]{64}", re.ASCII)
_DIGESTS = "digests"
_UNFINISHED, _DAMAGED = ".unfinished", ".damaged"
_READ_BYTES = 1 << 20
_TRIES, _PAUSE_S = 10, 0.05


class KeptPicture(Protocol):
    """What the shelf needs of a picture that was taken in."""

    @property
    def sha256_hex(self) -> str: ...
    @property
    def original_bytes(self) -> bytes: ...
    @property
    def display_bytes(self) -> bytes: ...
    @property
    def thumb_bytes(self) -> bytes: ...


class NoSuchPhoto(LookupError):
    """A name that is no SHA-256 in lower-case hex, a photo that is not here, or no such variant."""


@dataclass(frozen=True)
class PhotoProblem:
    """What is wrong with one photo: 'missing', 'altered', or a 'foreign' file on the shelf."""

    name: str
    variant: str
    trouble: Trouble


class PhotoShelf:
    """Photos in a folder, written once and whole, safe under several writers.

    A photo is a folder of its own with its original, the two derivatives and their digests. It is
    made aside and put in place by one rename, so that it is there in full or not at all.
    """

    def __init__(self, folder: Path | str) -> None:
        self.folder = Path(folder)
        self.folder.mkdir(parents=True, exist_ok=True)

    def keep(self, picture: KeptPicture) -> str:
        """Put a picture on the shelf, on disk for good when this returns, and return its SHA-256.

        Keeping it again changes nothing; a damaged copy is set aside and replaced. Raises
        ValueError when the bytes do not have the digest they claim.
        """
        sha = picture.sha256_hex
        if _digest_of(picture.original_bytes) != sha:
            raise ValueError("these bytes do not have the SHA-256 they claim")
        place = self._place(sha)
        if not self._is_sound(sha):
            ready = self._write_aside(picture)
            try:
                self._put_in_place(ready, place)
            finally:
                shutil.rmtree(ready, ignore_errors=True)
        return sha

    def has(self, sha: str) -> bool:
        """Say whether a photo is on the shelf."""
        return self._place(sha).is_dir()

    def open(self, sha: str, variant: Variant = "original") -> BinaryIO:
        """Open one variant of a photo for reading; the caller closes it.

        Raises NoSuchPhoto; nothing but 64 lower-case hex digits and the three variants ever
        becomes part of a path.
        """
        if variant not in VARIANTS:
            raise NoSuchPhoto(f"there is no variant {variant!r} of a photo")
        try:
            return (self._place(sha) / variant).open("rb")
        except FileNotFoundError as absent:
            raise NoSuchPhoto(f"photo {sha} is not on the shelf") from absent

    def names(self) -> Iterator[str]:
        """Yield the SHA-256 of every photo on the shelf, in order."""
        for path in self._entries():
            if path.is_dir() and _NAME.fullmatch(path.name) and path.parent.name == path.name[:2]:
                yield path.name

    def verify(self, expected: Iterable[str] = ()) -> Iterator[PhotoProblem]:
        """Read and hash everything again and yield what is wrong; `expected` photos must be here.

        Work left unfinished by a crash is no problem: nobody was told that it was kept.
        """
        for path in self._entries():
            if path.is_dir() and _NAME.fullmatch(path.name) and path.parent.name == path.name[:2]:
                yield from self._problems_of(path.name)
            else:
                yield PhotoProblem(path.relative_to(self.folder).as_posix(), "", "foreign")
        for sha in expected:
            if not self.has(sha):
                yield PhotoProblem(sha, "original", "missing")

    def clear_unfinished(self) -> int:
        """Remove what a crash left half written; call it only while nobody writes."""
        left = list(_listed(self.folder / _UNFINISHED))
        for path in left:
            shutil.rmtree(path, ignore_errors=True)
        return len(left)

    def _place(self, sha: str) -> Path:
        if not _NAME.fullmatch(sha):
            raise NoSuchPhoto("a photo is named by 64 lower-case hex digits")
        return self.folder / sha[:2] / sha

    def _entries(self) -> Iterator[Path]:
        for shelf in _listed(self.folder):
            if shelf.name in (_UNFINISHED, _DAMAGED):
                continue
            yield from _listed(shelf) if shelf.is_dir() else [shelf]

    def _is_sound(self, sha: str) -> bool:
        return self.has(sha) and not any(self._problems_of(sha))

    def _problems_of(self, sha: str) -> Iterator[PhotoProblem]:
        place = self._place(sha)
        digests = _digests_in(place / _DIGESTS)
        for variant in VARIANTS:
            wanted = sha if variant == "original" else digests.get(variant)
            found = _digest_in(place / variant)
            if found is None:
                yield PhotoProblem(sha, variant, "missing")
            elif wanted is not None and found != wanted:
                yield PhotoProblem(sha, variant, "altered")
        if digests.keys() != set(VARIANTS) or digests["original"] != sha:
            yield PhotoProblem(sha, _DIGESTS, "altered" if digests else "missing")
        for path in _listed(place):
            if path.name not in (*VARIANTS, _DIGESTS):
                yield PhotoProblem(f"{sha}/{path.name}", "", "foreign")

    def _write_aside(self, picture: KeptPicture) -> Path:
        aside = self.folder / _UNFINISHED
        aside.mkdir(exist_ok=True)
        ready = Path(tempfile.mkdtemp(dir=aside))
        parts: dict[str, bytes] = {
            "original": picture.original_bytes,
            "display": picture.display_bytes,
            "thumb": picture.thumb_bytes,
        }
        lines = (f"{_digest_of(data)} {variant}\n" for variant, data in parts.items())
        parts[_DIGESTS] = "".join(lines).encode()
        for name, data in parts.items():
            _write(ready / name, data)
        _settle(ready)
        return ready

    def _put_in_place(self, ready: Path, place: Path) -> None:
        """Rename into place; whoever comes second finds the same photo there and is content.

        The pause is for scanners that hold a new file open for a moment and so block a rename.
        """
        for attempt in range(_TRIES):
            place.parent.mkdir(exist_ok=True)
            try:
                ready.rename(place)
                break
            except OSError:
                if self._is_sound(place.name):
                    break
                if attempt == _TRIES - 1:
                    raise
                self._set_aside_if_damaged(place)
                time.sleep(_PAUSE_S * attempt)
        _settle(place.parent)
        _settle(self.folder)

    def _set_aside_if_damaged(self, place: Path) -> None:
        if place.exists() and not self._is_sound(place.name):
            aside = self.folder / _DAMAGED
            aside.mkdir(exist_ok=True)
            with suppress(OSError):
                place.rename(Path(tempfile.mkdtemp(dir=aside)) / place.name)


def _listed(folder: Path) -> list[Path]:
    return sorted(folder.iterdir()) if folder.is_dir() else []


def _digest_of(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _digest_in(path: Path) -> str | None:
    """Return the digest of a file read piece by piece, None where there is no readable file."""
    digest = hashlib.sha256()
    try:
        with path.open("rb") as source:
            while piece := source.read(_READ_BYTES):
                digest.update(piece)
    except OSError:
        return None
    return digest.hexdigest()


def _digests_in(path: Path) -> Mapping[str, str]:
    try:
        lines = path.read_text("ascii").splitlines()
    except (OSError, UnicodeDecodeError):
        return {}
    pairs = (line.partition(" ") for line in lines)
    return {variant: digest for digest, _, variant in pairs}


def _write(path: Path, data: bytes) -> None:
    with path.open("xb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())


def _settle(folder: Path) -> None:
    """Bring a folder's own entries to disk, on systems that let a folder be opened for that."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        with suppress(OSError):
            os.fsync(handle)
    finally:
        os.close(handle)
