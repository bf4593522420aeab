from __future__ import annotations

import io

import pytest
from PIL import Image

from bench.core.entries import PhotoKept, TripodMarked
from bench.core.ids import case_code, entry_id
from tests.pictures import files
from tests.web.castroom import mounted, opened

PHOTO = files.talkative()


def send(client, code, data=PHOTO, name="marks.jpg", **fields):
    form = {"shows": "cast", **fields, "photo": (io.BytesIO(data), name)}
    return client.send(f"/case/{code}/photo", form)


def photos_of(app, code):
    return app.extensions["log"].case(code).said(PhotoKept)


def files_kept(app):
    folder = app.config["SETTINGS"].data / "photos"
    return [path for path in folder.rglob("*") if path.is_file()] if folder.exists() else []


def test_a_photo_is_kept_and_named_by_an_entry_at_the_setting_seen(app, technician, state):
    code = opened(state)
    zero = mounted(state, code).id

    answer = send(technician, code, setting=zero)

    (said,) = photos_of(app, code)
    assert 303 == answer.status_code
    assert (said.body.shows, said.entry.setting) == ("cast", zero)
    assert 4 == len(files_kept(app))


def test_a_photo_of_the_tripod_is_about_the_marks(app, technician, state):
    code = opened(state)
    zero = mounted(state, code).id
    marks = state(
        TripodMarked(40.0, 41.0, 39.0, "clockwise", True, True, True, True), case=code, setting=zero
    )

    send(technician, code, shows="tripod", setting=zero)

    assert marks.id == photos_of(app, code)[0].body.about


@pytest.mark.parametrize("variant", ["display", "thumb"])
def test_a_photo_is_served_as_a_picture_and_nothing_else(technician, app, state, variant):
    code = opened(state)
    send(technician, code)
    sha = photos_of(app, code)[0].body.sha256

    answer = technician.get(f"/photo/{sha}/{variant}")

    assert "image/jpeg" == answer.headers["Content-Type"]
    assert "nosniff" == answer.headers["X-Content-Type-Options"]
    assert "immutable" in answer.headers["Cache-Control"]
    assert "private" in answer.headers["Cache-Control"]
    assert "JPEG" == Image.open(io.BytesIO(answer.data)).format


def test_place_and_device_are_not_in_what_is_served(technician, app, state):
    code = opened(state)
    send(technician, code)
    sha = photos_of(app, code)[0].body.sha256

    assert b"Invented Camera" not in technician.get(f"/photo/{sha}/display").data


def test_a_stranger_sees_no_photo(stranger, technician, app, state):
    code = opened(state)
    send(technician, code)
    sha = photos_of(app, code)[0].body.sha256

    answer = app.test_client().get(f"/photo/{sha}/thumb")

    assert 303 == answer.status_code
    assert "/who" in answer.headers["Location"]


@pytest.mark.parametrize(
    "address",
    [
        f"/photo/{'a' * 64}/display", "/photo/..%2f..%2flogbook.sqlite3/display",
        f"/photo/{'A' * 64}/thumb", f"/photo/{'a' * 64}/original", "/photo/x/thumb",
    ],
)  # fmt: skip
def test_a_photo_that_is_not_there_is_not_found(reader, address):
    assert 404 == reader.get(address).status_code


@pytest.mark.parametrize(
    ("data", "name", "said"),
    [
        (b"", "a.jpg", "The picture is empty"),
        (
            b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>",
            "a.svg",
            "no picture",
        ),
        (PHOTO[:400], "a.jpg", "damaged"),
        (files.png_of_size(60_000, 60_000), "a.png", "too many pixels"),
        (PHOTO, "a.png", "is called a.png but holds JPEG"),
    ],
)
def test_a_hostile_picture_is_refused_in_words_and_leaves_nothing(
    app, technician, state, data, name, said
):
    code = opened(state)

    answer = send(technician, code, data, name, shows="site")

    assert 422 == answer.status_code
    assert said in answer.text
    assert 'value="site" checked' in answer.text
    assert [] == files_kept(app)
    assert () == photos_of(app, code)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"shows": "patient"}, "what is shown is none of those offered"),
        ({"about": "nonsense"}, "does not belong to this case"),
        ({"about": "019cd1b1-3ea0-7000-8000-000000000017"}, "does not belong to this case"),
    ],
)
def test_a_photo_about_nothing_known_is_refused_and_leaves_nothing(
    app, technician, state, fields, said
):
    code = opened(state)

    answer = send(technician, code, **fields)

    assert 422 == answer.status_code
    assert said in answer.text
    assert [] == files_kept(app)


def test_a_second_tap_keeps_one_photo_and_one_entry(app, technician, state, hands):
    code = opened(state)
    form_id = entry_id(hands.now_ms(), 5)

    for _ in range(2):
        assert 303 == send(technician, code, entry_id=form_id).status_code

    assert 1 == len(photos_of(app, code))


def test_a_huge_body_is_refused_before_it_is_read(technician, state):
    code = opened(state)

    answer = technician.post(
        f"/case/{code}/photo",
        environ_overrides={
            "CONTENT_LENGTH": "900000000",
            "CONTENT_TYPE": "multipart/form-data; boundary=x",
        },
    )

    assert 413 == answer.status_code


def test_a_reader_keeps_no_photo(reader, state):
    assert 403 == send(reader, opened(state)).status_code


def test_a_case_never_opened_takes_no_photo(technician):
    assert 404 == send(technician, case_code(40)).status_code


def test_a_photo_leads_back_to_the_page_it_came_from_and_nowhere_else(technician, state):
    code = opened(state)

    back = send(technician, code, next=f"/case/{code}/tripod")
    away = send(
        technician,
        code,
        files.saved(files.four_corners(320, 240)),
        next="https://elsewhere.example/",
    )

    assert f"/case/{code}/tripod" == back.headers["Location"]
    assert "elsewhere" not in away.headers["Location"]


def test_the_trail_shows_the_photo(app, technician, state):
    code = opened(state)
    send(technician, code)
    sha = photos_of(app, code)[0].body.sha256

    assert f'src="/photo/{sha}/thumb"' in technician.get(f"/case/{code}/trail").text
