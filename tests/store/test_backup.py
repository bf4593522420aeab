from __future__ import annotations

import threading
import zipfile

import pytest

from bench.core.entries import PhotoKept
from bench.pictures.ingest import take_in
from bench.store.backup import CONTENTS, back_up, restore
from bench.store.integrity import check
from bench.store.log import Log
from bench.store.onetimecode import new_code
from bench.store.open import FILE_NAME
from bench.store.photos import PhotoShelf
from bench.store.refusals import BackupUnreadable, FolderNotWritable, NotEmpty
from tests.pictures import files
from tests.store.scenes import CODE, NOW_MS, checked, opened, opening, reading, record, tablet_chain


@pytest.fixture
def filled(store, log):
    """A bench with a case of its own, a tablet's readings and a photo."""
    record(log, *opening())
    log.append(tablet_chain(5))
    picture = take_in(files.saved(files.four_corners()))
    PhotoShelf(store.folder / "photos").keep(picture)
    kept = PhotoKept(
        picture.sha256_hex, picture.media_type, picture.width_px, picture.height_px, "cast"
    )
    from bench.core.entries import Draft

    record(log, Draft(kept, "AB", CODE))
    return store


def entries_of(folder):
    with opened(folder) as store:
        log = Log(store)
        return {device: log.after(device, 0) for device in log.cursors()}


def test_a_restored_bench_holds_the_same_entries_and_photos_and_is_clean(filled, tmp_path):
    done = back_up(filled, tmp_path / "b.zip")

    back = restore(tmp_path / "b.zip", tmp_path / "again")

    assert (done.entries, done.photos) == (back.entries, back.photos) == (10, 1)
    assert entries_of(tmp_path / "again") == entries_of(filled.folder)
    assert checked(tmp_path / "again").clean
    assert not list(PhotoShelf(tmp_path / "again" / "photos").verify())


def test_a_restored_bench_has_another_name_and_epoch(filled, tmp_path):
    back_up(filled, tmp_path / "b.zip")
    restore(tmp_path / "b.zip", tmp_path / "again")

    with opened(tmp_path / "again") as again:
        assert again.epoch != filled.epoch
        assert again.device != filled.device
        assert record(Log(again), reading(Log(again).case(CODE).entries[-1].id))[0].seq == 1
        assert check(again).clean


def test_a_code_that_was_open_is_worth_nothing_in_a_backup(filled, tmp_path):
    new_code(filled, "SUP", NOW_MS)
    back_up(filled, tmp_path / "b.zip")
    restore(tmp_path / "b.zip", tmp_path / "again")

    with opened(tmp_path / "again") as again:
        assert again.db.conn.execute("SELECT count(*) FROM pairing_code").fetchone() == (0,)


def test_a_backup_is_taken_while_others_write(filled, log, tmp_path):
    """What was recorded before it began is in it, whole transactions only."""
    ended = threading.Event()
    setting = log.case(CODE).entries[-1].id

    def write():
        while not ended.is_set():
            record(log, reading(setting), reading(setting, 35))

    writer = threading.Thread(target=write)
    before = len(log.after(filled.device, 0))
    writer.start()
    try:
        done = [back_up(filled, tmp_path / f"{n}.zip") for n in range(3)]
    finally:
        ended.set()
        writer.join(20)

    for n, copied in enumerate(done):
        restore(tmp_path / f"{n}.zip", tmp_path / str(n))
        own = entries_of(tmp_path / str(n))[filled.device]
        assert len(own) >= before
        assert (len(own) - before) % 2 == 0
        assert copied.entries == len(own) + 5
        assert checked(tmp_path / str(n)).clean


def test_a_backup_of_the_same_name_is_replaced_whole(filled, log, tmp_path):
    first = back_up(filled, tmp_path / "b.zip")
    record(log, reading(log.case(CODE).entries[-1].id))

    second = back_up(filled, tmp_path / "b.zip")

    assert second.entries == first.entries + 1
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["b.zip"]


def test_no_key_of_the_bench_leaves_in_a_backup(filled, tmp_path):
    (filled.folder / "session-key").write_bytes(b"k" * 32)
    back_up(filled, tmp_path / "b.zip")

    with zipfile.ZipFile(tmp_path / "b.zip") as archive:
        names = archive.namelist()

    assert {name.partition("/")[0] for name in names} == {FILE_NAME, "photos", CONTENTS}


def test_what_cannot_be_written_is_refused_in_words(filled, tmp_path):
    with pytest.raises(FolderNotWritable):
        back_up(filled, tmp_path / "none" / "b.zip")


def test_nothing_is_brought_back_over_what_is_there(filled, tmp_path):
    back_up(filled, tmp_path / "b.zip")

    with pytest.raises(NotEmpty):
        restore(tmp_path / "b.zip", filled.folder)


def spoiled(path, change):
    """Write an archive anew with its members changed."""
    with zipfile.ZipFile(path) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    change(members)
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in members.items():
            archive.writestr(name, data)


def test_a_changed_byte_is_noticed_and_nothing_left_behind(filled, tmp_path):
    back_up(filled, tmp_path / "b.zip")

    def change(members):
        photo = next(name for name in members if name.endswith("/original"))
        members[photo] = members[photo][:-1] + b"x"

    spoiled(tmp_path / "b.zip", change)

    with pytest.raises(BackupUnreadable):
        restore(tmp_path / "b.zip", tmp_path / "again")
    assert list((tmp_path / "again").iterdir()) == []


@pytest.mark.parametrize(
    "name", ["../escaped", "photos/../../escaped", "session-key", "/etc/escaped"]
)
def test_a_file_that_belongs_to_no_backup_is_refused(filled, tmp_path, name):
    import hashlib

    back_up(filled, tmp_path / "b.zip")

    def change(members):
        members[name] = b"x"
        members[CONTENTS] += f"{hashlib.sha256(b'x').hexdigest()} {name}\n".encode()

    spoiled(tmp_path / "b.zip", change)

    with pytest.raises(BackupUnreadable):
        restore(tmp_path / "b.zip", tmp_path / "again")
    assert not (tmp_path / "escaped").exists()


@pytest.mark.parametrize("left", [0, 100, 5000])
def test_a_backup_cut_off_is_refused(filled, tmp_path, left):
    back_up(filled, tmp_path / "b.zip")
    data = (tmp_path / "b.zip").read_bytes()
    (tmp_path / "b.zip").write_bytes(data[:left])

    with pytest.raises(BackupUnreadable):
        restore(tmp_path / "b.zip", tmp_path / "again")
