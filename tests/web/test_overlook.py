"""The record's photo on the page of a re-mount, and what a newer photo says of its marks."""

from __future__ import annotations

import html
import re

import pytest

from bench.core.entries import Withdrawn
from tests.browser import tripodphotos
from tests.web.sentforms import shown
from tests.web.surveyedcases import mounted


@pytest.fixture
def marks(bench):
    """The entry of a tripod."""
    zero = mounted(bench)
    return bench.state(tripodphotos.tripod_marked(), setting=zero.id)


@pytest.fixture
def keep(bench, marks):
    """Keep a photo of the marks, and confirm them where asked."""

    def kept(turn, moved=None):
        entry = tripodphotos.keep(bench.app, bench.say, bench.code, marks.id, turn)
        if moved is not None:
            tripodphotos.confirm(bench.say, bench.code, entry, marks.id, moved)
        return entry

    return kept


def page(bench):
    text = bench.client.get(f"/case/{bench.code}/remount").text
    return html.unescape(text).replace("\u00a0", " ")


def test_without_a_photo_nothing_is_shown_of_one(bench, marks):
    assert "data-overlook" not in page(bench)


def test_the_records_photo_bears_the_letters_of_its_marks(bench, keep):
    photo = keep(0, (0, 0))

    said = page(bench)

    assert f"/photo/{photo.body.sha256}/display" in said
    assert {"A", "B", "C"} == set(re.findall(r'data-mark="(\w)"', said))
    assert "It tells nothing of the tilt" in said


def test_marks_not_confirmed_are_asked_for(bench, keep):
    photo = keep(0)

    said = page(bench)

    assert "The marks of this photo are not confirmed yet." in said
    assert f'href="/case/{bench.code}/photo/{photo.body.sha256}"' in said
    assert re.search(r'data-mark="[ABC]"', said) is None


def test_the_camera_is_asked_for_the_same_marks(bench, keep, marks):
    keep(0, (0, 0))

    assert f"/case/{bench.code}/photo/camera?shows=tripod&about={marks.id}" in page(bench)


def test_a_newer_photo_of_the_same_marks_lies_as_in_the_record(bench, keep):
    keep(0, (0, 0))
    keep(1, (0.3, 0.2))

    said = page(bench)

    assert "The marks lie as in the record, within 0.1 mm." in said


def test_a_newer_photo_with_one_mark_elsewhere_says_which_and_how_far(bench, keep):
    keep(0, (0, 0))
    keep(1, (3.1, 0))

    said = page(bench)

    assert "Mark B lies 3.1 mm elsewhere. Is it the same cast, is the right mark ringed?" in said


def test_a_newer_photo_without_confirmed_marks_says_nothing_yet(bench, keep):
    keep(0, (0, 0))
    newer = keep(1)

    said = page(bench)

    assert "A newer photo is there; its marks are not confirmed yet." in said
    assert f'href="/case/{bench.code}/photo/{newer.body.sha256}"' in said


def test_a_photo_taken_back_does_not_count(bench, keep):
    keep(0, (0, 0))
    newer = keep(1, (3.1, 0))
    bench.state(Withdrawn(newer.id), reason="another cast")

    assert "elsewhere" not in page(bench)


def test_a_photo_not_yet_here_is_not_shown(bench, keep, monkeypatch):
    keep(0, (0, 0))
    monkeypatch.setattr("bench.store.photos.PhotoShelf.has", lambda shelf, sha: False)

    assert "data-overlook" not in page(bench)


def test_a_reader_sees_it_and_is_not_asked_to_photograph(bench, keep, reader):
    keep(0, (0, 0))

    said = shown(reader.get(f"/case/{bench.code}/remount")).text

    assert "data-overlook" in said
    assert "/photo/camera" not in said


def test_from_a_photo_whose_marks_are_confirmed_a_way_leads_back_to_the_comparison(bench, keep):
    kept, bare = keep(0, (0, 0)), keep(1)
    way = f'href="/case/{bench.code}/remount"'

    assert way in bench.client.get(f"/case/{bench.code}/photo/{kept.body.sha256}").text
    assert way not in bench.client.get(f"/case/{bench.code}/photo/{bare.body.sha256}").text
