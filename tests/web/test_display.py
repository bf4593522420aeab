from __future__ import annotations

import pytest

from bench.web import frame
from bench.web.display import COOKIE, Display, display


def test_a_stranger_chooses_how_things_look_and_the_tablet_keeps_it(stranger):
    stranger.send("/display", {"theme": "contrast", "type": "large", "hand": "left"})

    page = stranger.get("/display").text
    assert 'data-theme="contrast"' in page
    assert 'data-type="large"' in page
    assert 'data-hand="left"' in page


def test_the_choice_returns_to_the_page_it_was_made_from(stranger):
    answer = stranger.send("/display", {"theme": "dark", "next": "/about"})

    assert answer.location == "/about"


@pytest.mark.parametrize("field", ["theme", "type", "hand", "unit", "numbering", "language"])
def test_a_choice_there_is_not_is_refused(stranger, field):
    answer = stranger.send("/display", {field: "loud"})

    assert answer.status_code == 422
    assert "none of those offered" in answer.text


@pytest.mark.parametrize(
    "text", ["", "iso", "iso.mm.auto", "x.y.z.w.v", "iso.mm.auto.normal.right.more", "ü.ü", "....."]
)
def test_a_cookie_that_says_something_else_is_left_out(app, text):
    with app.test_request_context(headers={"Cookie": f"{COOKIE}={text}"}):
        assert display() == Display()


def test_what_the_cookie_says_is_what_was_chosen(app):
    chosen = Display("universal", "inch", "dark", "large", "left", "de")

    with app.test_request_context(headers={"Cookie": f"{COOKIE}={chosen.text}"}):
        assert display() == chosen


# ISO 3950 against the Universal system: 34 is 21.
def test_teeth_and_gauges_are_shown_as_chosen(app):
    with app.test_request_context(headers={"Cookie": f"{COOKIE}=universal.inch"}):
        universal = frame.tooth_text(34), frame.site_text(34, "MB"), frame.gauge_text(0.25)
    with app.test_request_context():
        iso = frame.tooth_text(34), frame.site_text(34, "MB"), frame.gauge_text(0.25)

    assert universal == ("21", "21 MB", "0.010 in")
    assert iso == ("34", "34 MB", "0.25 mm")


def test_the_mark_of_static_files_changes_with_them(tmp_path):
    (tmp_path / "a.css").write_text("a")
    before = frame.mark_of(tmp_path)
    (tmp_path / "a.css").write_text("b")

    assert before != frame.mark_of(tmp_path)
