"""What is found in a photo: proposed on its page, named as recorded, tapped places settled, colours learnt."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bench.core.ids import case_code
from bench.pictures.apart import LookFailed
from bench.pictures.seen import MarkSeen
from bench.web import photolook
from bench.web.photolook import Look
from tests.web.photographed import Photographed, photographed
from tests.web.test_onephoto import plain


@pytest.fixture
def photo(app, state) -> Photographed:
    return photographed(app, state)


@pytest.fixture
def sees(monkeypatch):
    def found(look):
        monkeypatch.setattr(photolook, "looked", lambda sha, code: look)

    return found


def test_the_page_asks_by_itself_what_is_found_until_marks_are_confirmed(technician, photo):
    before = technician.get(photo.at).text
    technician.send(photo.at, photo.form())

    assert "Looking for the label and the marks" in before
    assert "Looking for the label and the marks" not in technician.get(photo.at).text


def test_label_and_marks_are_found_by_a_process_of_its_own_and_measured(technician, photo):
    page = plain(technician.get(f"{photo.at}?look=1").text)

    assert "The label and three marks were found" in page
    assert "The photo bears the caliper out" in page


def test_a_photo_is_looked_at_once(technician, photo, monkeypatch):
    asked = []
    monkeypatch.setattr(
        photolook.apart, "look", lambda data, colours, **more: asked.append(1) or photo.seen()
    )
    for _ in range(3):
        technician.get(f"{photo.at}?look=1")

    assert len(asked) == 1


def test_a_look_that_failed_says_so_and_is_tried_again(technician, photo, monkeypatch):
    asked = []

    def fails(*asked_for, **more):
        asked.append(1)
        raise LookFailed("broken")

    monkeypatch.setattr(photolook.apart, "look", fails)
    pages = [technician.get(f"{photo.at}?look=1") for _ in range(2)]

    assert "This picture could not be looked at." in pages[0].text
    assert len(asked) == 2
    monkeypatch.setattr(photolook.apart, "settle", fails)
    near = technician.get(f"{photo.at}/near", query_string=photo.form(active="a"))
    assert (near.status_code, near.json) == (200, {})


def test_hints_say_what_a_better_photo_would_take(technician, photo, sees):
    sees(Look(replace(photo.seen(), hints=("tilted", "blurred"))))

    page = plain(technician.get(f"{photo.at}?look=1").text)

    assert "hold it straight above the label" in page


def test_what_is_found_is_proposed_and_named_as_recorded(technician, photo, sees):
    sees(Look(photo.seen()))

    page = technician.get(f"{photo.at}?look=1").text

    assert "The label and three marks were found" in page
    assert f'value="{photo.places.marks_px[0]:.2f}" data-x="a"' in page
    assert "bears the caliper out" in page


def test_what_is_found_in_part_asks_for_the_rest(technician, photo, sees):
    sees(Look(photo.seen(marks=1, label=False)))

    page = plain(technician.get(f"{photo.at}?look=1").text)

    assert "Not everything was found" in page
    assert "Still to be placed: B, C, top left" in page


def test_the_label_of_another_case_is_said(technician, photo, sees):
    sees(Look(photo.seen(code=case_code(9))))

    page = plain(technician.get(f"{photo.at}?look=1").text)

    assert "The label in this photo belongs to another case" in page


def test_where_nobody_can_look_the_marks_are_placed_by_hand(technician, photo, sees):
    sees(Look(trouble=("What.", "Why.", "Do.")))

    page = plain(technician.get(f"{photo.at}?look=1").text)

    assert "What. Why. Do." in page
    assert "Still to be placed: A, B, C" in page


def test_a_reader_asks_nobody_to_look(reader, photo, monkeypatch):
    monkeypatch.setattr(photolook, "looked", lambda sha, code: pytest.fail("looked"))

    assert reader.get(f"{photo.at}?look=1").status_code == 200


def test_a_tap_near_a_mark_settles_on_its_middle(technician, photo, monkeypatch):
    x, y = photo.places.marks_px[:2]
    monkeypatch.setattr(
        photolook, "settled", lambda sha, x_px, y_px, scale: MarkSeen(x, y, 24.0, 0.8)
    )
    near, far = (
        photo.form(active="a", marks_px=[f"{x + by:.2f}", f"{y:.2f}", "1", "1", "50", "50"])
        for by in (9, 90)
    )

    found = technician.get(f"{photo.at}/near", query_string=near).json
    lost = technician.get(f"{photo.at}/near", query_string=far).json

    assert found == {"x_px": round(x, 2), "y_px": round(y, 2)}
    assert lost == {}


def test_a_supervisor_makes_a_colour_of_the_photo_the_labs(
    app, supervisor, technician, photo, monkeypatch
):
    monkeypatch.setattr(photolook, "sampled", lambda sha, x_px, y_px: (17, 122, 51))
    form = photo.form(active="a", learn="1")

    asked = technician.send(f"{photo.at}/look", form).text
    shown = supervisor.get(f"{photo.at}/colour", query_string=form).text
    supervisor.send("/policy/ring_colour", {"value": "#117a33", "reason": "green pencil"})

    assert "Tell a supervisor" in asked
    assert 'action="/policy/mark_colour"' not in asked
    assert 'action="/policy/mark_colour"' in shown
    assert "#117a33" in shown
    assert app.extensions["log"].lab().policy.texts["ring_colour"] == "#117a33"


def test_a_colour_that_cannot_be_taken_is_said(technician, photo, monkeypatch):
    monkeypatch.setattr(photolook, "sampled", lambda sha, x_px, y_px: None)

    page = technician.send(f"{photo.at}/look", photo.form(active="a", learn="1")).text

    assert "No colour could be taken there" in page
