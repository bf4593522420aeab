from __future__ import annotations

import hashlib
import json

import pytest

from bench.core.entries import Draft, PhotoKept
from bench.pictures.ingest import take_in
from bench.store.export import bring_in, export, photo_files
from bench.store.log import Log
from bench.store.photos import PhotoShelf
from bench.store.refusals import ExportUnreadable, NotEmpty
from tests.pictures import files
from tests.store.scenes import CODE, board_rows, opened, opening, record, tablet_chain


@pytest.fixture
def shelf(store):
    return PhotoShelf(store.folder / "photos")


@pytest.fixture
def filled(log, shelf):
    """Two cases, a tablet's chain, a photo, and one that has not come yet."""
    record(log, *opening())
    record(log, *opening(2))
    log.append(tablet_chain(5))
    picture = take_in(files.saved(files.four_corners()))
    shelf.keep(picture)
    for sha in (picture.sha256_hex, "f" * 64):
        body = PhotoKept(sha, picture.media_type, picture.width_px, picture.height_px, "cast")
        record(log, Draft(body, "AB", CODE))
    return log


def lines_of(folder):
    return (folder / "entries.jsonl").read_bytes().splitlines()


def test_every_line_is_the_text_its_digest_is_over(filled, shelf, tmp_path):
    written = export(filled, shelf, tmp_path / "out")

    chains: dict[str, str] = {}
    for line in lines_of(tmp_path / "out"):
        said = json.loads(line)
        assert said["prev"] == chains.get(said["device"], "")
        chains[said["device"]] = hashlib.sha256(line).hexdigest()
    assert chains == {device: at.digest for device, at in filled.cursors().items()}
    assert (written.entries, written.photos, written.absent) == (15, 1, 1)


def test_a_photo_is_named_by_the_digest_of_its_bytes(filled, shelf, tmp_path):
    export(filled, shelf, tmp_path / "out")

    (photo,) = photo_files(tmp_path / "out")

    assert photo.stem == hashlib.sha256(photo.read_bytes()).hexdigest()
    assert photo.suffix == ".jpg"


def test_an_empty_bench_is_filled_to_the_same_digests_and_board(filled, shelf, store, tmp_path):
    export(filled, shelf, tmp_path / "out")

    with opened(tmp_path / "new") as new:
        left = list(bring_in(Log(new), tmp_path / "out"))

        assert left == []
        assert Log(new).cursors() == filled.cursors()
        assert board_rows(new) == board_rows(store)


def test_one_case_is_written_alone_and_is_for_reading(filled, shelf, tmp_path, store):
    written = export(filled, shelf, tmp_path / "out", CODE)

    assert {json.loads(line)["case"] for line in lines_of(tmp_path / "out")} == {CODE}
    assert written.entries == 11
    with opened(tmp_path / "new") as new, pytest.raises(ExportUnreadable, match="holds one case"):
        list(bring_in(Log(new), tmp_path / "out"))


def test_a_bench_that_holds_something_is_not_mixed_with_it(filled, shelf, tmp_path):
    export(filled, shelf, tmp_path / "out")

    with pytest.raises(NotEmpty):
        list(bring_in(filled, tmp_path / "out"))
    with pytest.raises(NotEmpty):
        export(filled, shelf, tmp_path / "out")


def test_a_line_that_was_changed_is_not_taken_and_named(filled, shelf, tmp_path):
    export(filled, shelf, tmp_path / "out")
    path = tmp_path / "out" / "entries.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"lower"', b'"upper"', 1))

    with opened(tmp_path / "new") as new:
        left = list(bring_in(Log(new), tmp_path / "out"))

    assert left
    assert {one.verdict for one in left} == {"refused"}


@pytest.mark.parametrize(
    "about", [None, "{", "[]", '{"version": 9, "case": null}', '{"version": 1, "case": null}']
)
def test_a_folder_that_is_no_export_is_refused(log, tmp_path, about):
    (tmp_path / "out").mkdir()
    if about is not None:
        (tmp_path / "out" / "about.json").write_text(about)

    with pytest.raises(ExportUnreadable):
        list(bring_in(log, tmp_path / "out"))
