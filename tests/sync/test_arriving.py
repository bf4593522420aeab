from __future__ import annotations

import hashlib
import os
import time

import pytest

from bench.core.bounds import BadEntry
from bench.sync import arriving
from bench.sync.arriving import Arriving, OtherOffset, piece_range

PHOTO = bytes(range(256)) * 10
SHA = hashlib.sha256(PHOTO).hexdigest()
DEVICE = "tablet-00aa11bb22cc"


@pytest.fixture
def coming(tmp_path):
    return Arriving(tmp_path / "arriving")


def test_pieces_make_the_whole(coming):
    assert coming.add(DEVICE, SHA, 0, 2560, PHOTO[:1000]) is None
    assert coming.held(DEVICE, SHA) == 1000
    assert coming.add(DEVICE, SHA, 1000, 2560, PHOTO[1000:]) == PHOTO


def test_a_piece_sent_twice_counts_once(coming):
    coming.add(DEVICE, SHA, 0, 2560, PHOTO[:1000])

    assert coming.add(DEVICE, SHA, 0, 2560, PHOTO[:1000]) is None
    assert coming.held(DEVICE, SHA) == 1000


@pytest.mark.parametrize(("first", "last"), [(2000, 2560), (500, 1500)])
def test_a_piece_that_does_not_go_on_names_where_to(coming, first, last):
    coming.add(DEVICE, SHA, 0, 2560, PHOTO[:1000])

    with pytest.raises(OtherOffset) as other:
        coming.add(DEVICE, SHA, first, 2560, PHOTO[first:last])

    assert other.value.held == 1000


def test_a_whole_of_another_digest_is_thrown_away(coming):
    with pytest.raises(BadEntry) as bad:
        coming.add(DEVICE, SHA, 0, 2560, PHOTO[::-1])

    assert (bad.value.code, coming.held(DEVICE, SHA)) == ("other_digest", 0)


def test_what_is_coming_survives_a_restart(coming, tmp_path):
    coming.add(DEVICE, SHA, 0, 2560, PHOTO[:1000])

    again = Arriving(tmp_path / "arriving")

    assert again.add(DEVICE, SHA, 1000, 2560, PHOTO[1000:]) == PHOTO


def test_when_the_disk_is_nearly_full_photos_stop(coming, monkeypatch):
    monkeypatch.setattr(arriving, "LEAST_FREE_BYTES", 1 << 62)

    with pytest.raises(BadEntry) as bad:
        coming.add(DEVICE, SHA, 0, 2560, PHOTO[:10])

    assert bad.value.code == "no_room"


def test_one_device_leaves_no_more_than_some_unfinished(coming, monkeypatch):
    monkeypatch.setattr(arriving, "MOST_AT_ONCE", 2)
    for name in "ab":
        coming.add(DEVICE, name * 64, 0, 99, b"x")

    with pytest.raises(BadEntry) as bad:
        coming.add(DEVICE, "c" * 64, 0, 99, b"x")

    assert bad.value.code == "no_room"
    assert coming.add("tablet-00aa11bb22cd", "c" * 64, 0, 99, b"x") is None


def test_what_nobody_went_on_with_is_cleared_away(coming):
    coming.add(DEVICE, "a" * 64, 0, 99, b"x")
    old = time.time() - arriving.KEPT_S - 10
    os.utime(next(coming.folder.iterdir()), (old, old))

    coming.add(DEVICE, "b" * 64, 0, 99, b"x")

    assert [path.name for path in coming.folder.iterdir()] == [f"{DEVICE}.{'b' * 64}.part"]


@pytest.mark.parametrize(
    ("device", "sha"), [(DEVICE, "../x"), ("../../x", SHA), (DEVICE, SHA.upper())]
)
def test_nothing_else_becomes_part_of_a_path(coming, device, sha):
    with pytest.raises(BadEntry):
        coming.held(device, sha)


# RFC 9110, section 14.4: Content-Range = bytes first-last/complete-length
def test_a_range_is_read_as_the_standard_writes_it():
    assert piece_range("bytes 0-99/300", 100) == (0, 300)
    assert piece_range("bytes 200-299/300", 100) == (200, 300)
    assert piece_range(None, 100) == (0, 100)


@pytest.mark.parametrize(
    "header",
    ["bytes 0-98/300", "bytes 250-349/300", "bytes 0-99/*", "0-99/300", "bytes 0-99/99999999999"],
)
def test_a_range_that_does_not_fit_is_refused(header):
    with pytest.raises(BadEntry):
        piece_range(header, 100)
