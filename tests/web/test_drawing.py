"""Arrows and circles over a photo: recorded as said, shown over it, taken back; the photo stays as it is."""

from __future__ import annotations

import html
import json
import re

import pytest

from bench.core.entries import PhotoDrawn, Withdrawn
from bench.core.ids import case_code
from tests.browser import tripodphotos
from tests.web.surveyedcases import mounted

SHAPES = ["arrow 0.2 0.3 0.4 0.5 rubbed off", "circle 0.5 0.5 0.6 0.5"]


@pytest.fixture
def sha(bench):
    """The digest of a photo of the tripod."""
    zero = mounted(bench)
    marks = bench.state(tripodphotos.tripod_marked(), setting=zero.id)
    return tripodphotos.keep(bench.app, bench.say, bench.code, marks.id).body.sha256


@pytest.fixture
def at(bench, sha):
    return f"/case/{bench.code}/photo/{sha}/draw"


def shapes_in(client, at):
    page = html.unescape(client.get(at).text)
    return json.loads(re.search(r'data-drawing="(\[.*?\])"', page)[1])


def test_what_is_drawn_is_recorded_and_shown_again(bench, technician, at, sha):
    answer = technician.send(at, {"shapes": SHAPES})

    (entry,) = bench.entries("photo_drawn")
    assert (303, f"{at}?said={entry.id}") == (answer.status_code, answer.location)
    assert PhotoDrawn(sha, tuple(SHAPES)) == entry.body
    assert SHAPES == shapes_in(technician, at)


def test_a_later_drawing_takes_the_place_of_the_earlier(bench, technician, at):
    technician.send(at, {"shapes": SHAPES})
    technician.send(at, {"shapes": SHAPES[:1]})

    first, second = bench.entries("photo_drawn")
    assert (first.id,) == second.supersedes
    assert "Drawn anew" == second.reason
    assert SHAPES[:1] == shapes_in(technician, at)


def test_an_empty_drawing_wipes_the_photo_clean(technician, at):
    technician.send(at, {"shapes": SHAPES})
    technician.send(at, {"shapes": [""]})

    assert [] == shapes_in(technician, at)


def test_within_a_minute_a_drawing_is_taken_back_and_the_one_before_shows(bench, technician, at):
    technician.send(at, {"shapes": SHAPES[:1]})
    said = technician.send(at, {"shapes": SHAPES}).location
    back = re.search(r'action="([^"]+/back)"', technician.get(said).text)[1]

    answers = [technician.send(back).status_code for _ in range(2)]

    assert [303, 303] == answers
    assert SHAPES[:1] == shapes_in(technician, at)


def test_after_a_minute_it_is_no_longer_offered(bench, technician, at, hands):
    said = technician.send(at, {"shapes": SHAPES}).location
    back = re.search(r'action="([^"]+/back)"', technician.get(said).text)[1]
    hands.forward(61)

    assert "/back" not in technician.get(said).text
    assert 404 == technician.send(back).status_code
    assert SHAPES == shapes_in(technician, at)


def test_the_page_of_the_photo_shows_it_over_the_picture(bench, technician, at, sha):
    technician.send(at, {"shapes": SHAPES})

    page = technician.get(f"/case/{bench.code}/photo/{sha}").text

    assert 2 == page.count('class="drawn"')
    assert "rubbed off" in page


def test_the_bytes_of_the_photo_stay_the_same(technician, at, sha):
    before = technician.get(f"/photo/{sha}/display").data
    technician.send(at, {"shapes": SHAPES})

    assert before == technician.get(f"/photo/{sha}/display").data


@pytest.mark.parametrize(
    "shapes",
    [
        ["arrow 0 0 1"], ["line 0 0 1 1"], ["arrow 0 0 1 1.5"], ["circle 0.5 0.5 0.5 0.5"],
        ["arrow 0 0 1 1 " + "x" * 61], ["arrow 0 0 1 1 a\x00b"], ["arrow 0 0 1 1"] * 21,
    ],
)  # fmt: skip
def test_what_cannot_be_drawn_is_refused_in_words(bench, technician, at, shapes):
    answer = technician.send(at, {"shapes": shapes})

    assert 422 == answer.status_code
    assert 'class="notice stop"' in answer.text
    assert [] == bench.entries("photo_drawn")


def test_words_with_marks_of_the_language_of_pages_stay_words(bench, technician, at):
    technician.send(at, {"shapes": ['arrow 0 0 1 1 "><script>alert(1)</script>']})

    assert "<script>alert" not in technician.get(at).text


@pytest.mark.parametrize("sha", ["0" * 64, "x", "..%2f.."])
def test_a_photo_that_is_not_there_is_not_found(bench, technician, sha):
    mounted(bench)

    assert 404 == technician.get(f"/case/{bench.code}/photo/{sha}/draw").status_code


def test_a_photo_of_another_case_is_not_found(technician, sha):
    assert 404 == technician.get(f"/case/{case_code(5)}/photo/{sha}/draw").status_code


def test_a_photo_taken_back_is_not_drawn_over(bench, technician, at):
    (photo,) = bench.entries("photo_kept")
    bench.state(Withdrawn(photo.id), reason="another cast")

    assert 404 == technician.get(at).status_code


@pytest.mark.parametrize(
    ("who", "status"), [("technician", 200), ("supervisor", 200), ("reader", 403)]
)
def test_who_records_may_draw(request, at, who, status):
    assert status == request.getfixturevalue(who).get(at).status_code


def test_a_stranger_is_asked_who_it_is(stranger, at):
    assert stranger.get(at).location.startswith("/who")
