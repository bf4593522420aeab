from __future__ import annotations

import io
import re

import pytest

from bench.core.entries import PhotoKept, PolicySet, TripodMarked
from bench.core.ids import case_code
from bench.places import static
from bench.web.camera import HINTS
from tests.pictures import files
from tests.web.castroom import mounted, opened

MARKS = TripodMarked(40.0, 41.0, 39.0, "clockwise", True, True, True, True)


def hidden(page, name):
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    return found[1] if found else None


@pytest.fixture
def marked(state):
    """A case whose tripod is marked: its code and the entry of the marks."""
    code = opened(state)
    zero = mounted(state, code).id
    return code, state(MARKS, case=code, setting=zero)


def test_the_camera_takes_the_marks_that_count_unless_others_are_named(technician, marked):
    code, marks = marked

    page = technician.get(f"/case/{code}/photo/camera").text

    assert ("tripod", marks.id) == (hidden(page, "shows"), hidden(page, "about"))
    assert all(f'data-hint="{name}"' in page for name in HINTS)


def test_a_photo_of_a_finding_is_about_it_and_asks_for_no_marks(technician, marked):
    code, marks = marked

    page = technician.get(f"/case/{code}/photo/camera?shows=site&about={marks.id}").text

    assert ("site", marks.id) == (hidden(page, "shows"), hidden(page, "about"))
    assert 'data-hint="marks"' not in page
    assert "data-ring=" not in page


def test_an_entry_that_is_not_there_is_left_out(technician, marked):
    code, _ = marked

    page = technician.get(f"/case/{code}/photo/camera?shows=cast&about=%22%3E%3Cb%3E").text

    assert hidden(page, "about") == ""
    assert "<b>" not in page


@pytest.mark.parametrize("path", ["camera?shows=teeth", "camera?shows=", "taken"])
def test_what_is_not_there_is_not_found(technician, marked, path):
    code, _ = marked

    assert technician.get(f"/case/{code}/photo/{path}").status_code == 404


def test_a_label_never_opened_has_no_camera(technician):
    assert technician.get(f"/case/{case_code(77)}/photo/camera").status_code == 404


@pytest.mark.parametrize(
    ("who", "status"), [("technician", 200), ("supervisor", 200), ("reader", 403)]
)
def test_who_records_may_photograph(request, marked, who, status):
    code, _ = marked

    assert request.getfixturevalue(who).get(f"/case/{code}/photo/camera").status_code == status


def test_a_stranger_is_asked_who_it_is(stranger, marked):
    code, _ = marked

    assert stranger.get(f"/case/{code}/photo/camera").location.startswith("/who")


def test_the_colours_are_the_labs(technician, state, marked):
    code, _ = marked
    state(PolicySet("mark_colour", "#303030"), person="SUP", reason="graphite")

    page = technician.get(f"/case/{code}/photo/camera").text

    assert 'data-mark="#303030"' in page
    assert 'data-ring="#1d5fb4"' in page


def test_every_hint_of_the_script_has_its_words(technician, marked):
    script = (static() / "js" / "framing.js").read_text("utf-8")
    said = {
        name: set(re.findall(r'hint\("\w+"(?:, "(\w+)")?', part)) for name, part in parts_of(script)
    }

    assert said.keys() == HINTS.keys()
    for name, keys in said.items():
        assert keys - {""} <= set(HINTS[name]), name


def parts_of(script):
    """Yield for each hint the function of the script that judges it."""
    functions = {
        "label": "ofLabel", "straight": "ofTilt", "near": "ofSize", "sharp": "ofBlur",
        "marks": "ofMarks",
    }  # fmt: skip
    for name, function in functions.items():
        yield name, script[script.index(f"function {function}(") :].partition("\n}\n")[0]


def test_from_a_photo_sent_the_way_leads_to_its_page(technician, app, marked):
    code, marks = marked
    page = technician.get(f"/case/{code}/photo/camera").text
    form = {name: hidden(page, name) for name in ("shows", "about", "setting", "next", "entry_id")}

    kept = technician.send(
        f"/case/{code}/photo", {**form, "photo": (io.BytesIO(files.talkative()), "a.jpg")}
    )
    there = technician.get(kept.location)

    (photo,) = app.extensions["log"].case(code).said(PhotoKept)
    assert ("tripod", marks.id) == (photo.body.shows, photo.body.about)
    assert there.location == f"/case/{code}/photo/{photo.body.sha256}"


def send(technician, code, page, data):
    fields = ("shows", "about", "setting", "next", "entry_id", "supersedes", "reason")
    form = {name: found for name in fields if (found := hidden(page, name)) is not None}
    return technician.send(f"/case/{code}/photo", {**form, "photo": (io.BytesIO(data), "a.jpg")})


def test_a_photo_is_taken_again_in_the_place_of_the_earlier(technician, app, marked):
    code, marks = marked
    send(technician, code, technician.get(f"/case/{code}/photo/camera").text, files.talkative())
    first = app.extensions["log"].entries_of(code)[-1]

    page = technician.get(f"/case/{code}/photo/camera?shows=cast&again={first.id}").text
    send(technician, code, page, files.saved(files.four_corners()))

    (photo,) = app.extensions["log"].case(code).said(PhotoKept)
    assert ("tripod", marks.id) == (photo.body.shows, photo.body.about)
    assert ((first.id,), "Taken again") == (photo.entry.supersedes, photo.entry.reason)


def test_a_photo_that_is_none_of_the_case_is_not_taken_again(technician, marked):
    code, marks = marked

    page = technician.get(f"/case/{code}/photo/camera?again={marks.id}").text

    assert hidden(page, "supersedes") is None
