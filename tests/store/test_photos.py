from __future__ import annotations

import hashlib
import os
import shutil
from concurrent.futures import ThreadPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import pytest

from bench.pictures.ingest import Picture, take_in
from bench.store.photos import NoSuchPhoto, PhotoProblem, PhotoShelf
from tests.pictures import files


@pytest.fixture(scope="module")
def picture() -> Picture:
    return take_in(files.saved(files.four_corners()))


@pytest.fixture
def shelf(tmp_path) -> PhotoShelf:
    return PhotoShelf(tmp_path / "photos")


def read(shelf: PhotoShelf, sha: str, variant: str) -> bytes:
    with shelf.open(sha, variant) as source:
        return source.read()


def path_of(shelf: PhotoShelf, sha: str, name: str) -> Path:
    return shelf.folder / sha[:2] / sha / name


def keep_from_another_process(folder: str, picture: Picture) -> str:
    return PhotoShelf(folder).keep(picture)


def test_a_photo_comes_back_as_it_was_kept(shelf, picture):
    sha = shelf.keep(picture)

    assert picture.sha256_hex == sha
    assert picture.original_bytes == read(shelf, sha, "original")
    assert picture.display_bytes == read(shelf, sha, "display")
    assert picture.thumb_bytes == read(shelf, sha, "thumb")
    assert [sha] == list(shelf.names())
    assert [] == list(shelf.verify([sha]))


def test_keeping_a_photo_again_writes_nothing(shelf, picture):
    sha = shelf.keep(picture)
    before = path_of(shelf, sha, "original").stat()

    shelf.keep(picture)

    after = path_of(shelf, sha, "original").stat()
    assert (before.st_ino, before.st_mtime_ns) == (after.st_ino, after.st_mtime_ns)


def test_bytes_that_are_not_what_they_claim_are_refused(shelf, picture):
    other = take_in(files.saved(files.four_corners(200, 100)))
    wrong = Picture(**{**vars(picture), "original_bytes": other.original_bytes})

    with pytest.raises(ValueError, match="claim"):
        shelf.keep(wrong)
    assert [] == list(shelf.names())


@pytest.mark.parametrize(
    "name",
    [
        "",
        "..",
        "../../etc/passwd",
        "A" * 64,
        "g" * 64,
        "a" * 63,
        "a" * 64 + "\n",
        "a" * 62 + "/.",
        "\0",
    ],
)
def test_a_name_that_is_no_digest_never_becomes_a_path(shelf, name):
    with pytest.raises(NoSuchPhoto):
        shelf.open(name, "thumb")
    with pytest.raises(NoSuchPhoto):
        shelf.has(name)


@pytest.mark.parametrize("variant", ["", "digests", "../thumb", "Thumb"])
def test_only_the_three_variants_can_be_opened(shelf, picture, variant):
    sha = shelf.keep(picture)

    with pytest.raises(NoSuchPhoto):
        shelf.open(sha, variant)


def test_a_photo_that_is_not_here_is_said_to_be_missing(shelf):
    absent = hashlib.sha256(b"").hexdigest()

    assert not shelf.has(absent)
    with pytest.raises(NoSuchPhoto):
        shelf.open(absent)
    assert [PhotoProblem(absent, "original", "missing")] == list(shelf.verify([absent]))


@pytest.mark.parametrize("name", ["original", "display", "thumb", "digests"])
def test_one_changed_byte_is_found(shelf, picture, name):
    sha = shelf.keep(picture)
    path = path_of(shelf, sha, name)
    data = bytearray(path.read_bytes())
    data[0] ^= 1
    path.write_bytes(data)

    found = list(shelf.verify())

    assert found
    assert {"altered"} == {problem.trouble for problem in found}
    assert {sha} == {problem.name for problem in found}


@pytest.mark.parametrize("name", ["original", "display", "thumb", "digests"])
def test_a_lost_file_is_found(shelf, picture, name):
    sha = shelf.keep(picture)
    path_of(shelf, sha, name).unlink()

    assert [PhotoProblem(sha, name, "missing")] == list(shelf.verify())


def test_a_file_that_does_not_belong_is_found(shelf, picture):
    sha = shelf.keep(picture)
    path_of(shelf, sha, "note.txt").write_text("lost here")
    (shelf.folder / "stray").write_text("lost here")

    names = {problem.name for problem in shelf.verify() if problem.trouble == "foreign"}

    assert {"stray", f"{sha}/note.txt"} == names


@pytest.mark.parametrize("name", ["original", "display", "thumb", "digests"])
def test_a_damaged_photo_is_set_aside_and_replaced_when_it_comes_again(shelf, picture, name):
    sha = shelf.keep(picture)
    path_of(shelf, sha, name).write_bytes(b"damaged")

    shelf.keep(picture)

    assert [] == list(shelf.verify([sha]))
    assert b"damaged" in [path.read_bytes() for path in shelf.folder.rglob(f".damaged/*/*/{name}")]


def test_many_writers_of_one_photo_agree(shelf, picture):
    with ThreadPoolExecutor(8) as writers:
        kept = set(writers.map(lambda _: shelf.keep(picture), range(40)))

    assert {picture.sha256_hex} == kept
    assert [] == list(shelf.verify(kept))
    assert [] == list((shelf.folder / ".unfinished").iterdir())


def test_two_processes_keep_the_same_photo(shelf, picture):
    with get_context("spawn").Pool(2) as pool:
        kept = pool.starmap(keep_from_another_process, [(str(shelf.folder), picture)] * 8)

    assert {picture.sha256_hex} == set(kept)
    assert [] == list(shelf.verify(kept))


@pytest.mark.parametrize("failing_at", range(1, 8))
def test_a_write_that_fails_leaves_nothing_half_kept(shelf, picture, monkeypatch, failing_at):
    calls = iter(range(1, 100))
    to_disk = os.fsync

    def fsync(handle: int) -> None:
        if next(calls) == failing_at:
            raise OSError(28, "No space left on device")
        to_disk(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    try:
        shelf.keep(picture)
        told = [picture.sha256_hex]
    except OSError:
        told = []

    assert [] == list(shelf.verify(told))
    monkeypatch.undo()
    assert [] == list(shelf.verify([shelf.keep(picture)]))


def test_what_a_crash_left_is_no_problem_and_can_be_cleared(shelf, picture):
    shelf.keep(picture)
    half = shelf.folder / ".unfinished" / "half"
    half.mkdir()
    (half / "original").write_bytes(b"half")

    assert [] == list(shelf.verify())
    assert 1 == shelf.clear_unfinished()
    assert 0 == shelf.clear_unfinished()


def test_a_shelf_copied_elsewhere_is_the_same_shelf(shelf, picture, tmp_path):
    sha = shelf.keep(picture)

    copy = PhotoShelf(shutil.copytree(shelf.folder, tmp_path / "copy"))

    assert [] == list(copy.verify([sha]))
