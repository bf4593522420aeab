from __future__ import annotations

import io

import pytest
import qrcode
from PIL import Image

from bench.core.ids import case_code, shown_code
from bench.pictures.label import LabelFacts, label_image
from bench.words import Words
from tests.pictures import files
from tests.web.castroom import opened

say = Words("en").say


def label(code: str) -> Image.Image:
    facts = LabelFacts(code, "26-0101", "lower", "https://bench-pc.example:8480")
    return Image.open(io.BytesIO(label_image(facts, say, dpi=200)))


def photo(*pictures: Image.Image) -> bytes:
    bench = Image.new("L", (1600, 900), 190)
    for place, picture in enumerate(pictures):
        bench.paste(picture, (80 + 760 * place, 120))
    return files.saved(bench)


def sent(client, data: bytes, name: str = "label.jpg"):
    return client.send("/scan/photo", {"photo": (io.BytesIO(data), name)})


def test_the_page_offers_camera_photo_and_typed_code(reader):
    page = reader.get("/scan").text

    assert "data-scan" in page
    assert 'name="photo"' in page
    assert 'name="code"' in page


@pytest.mark.parametrize("typed", ["{0}", "{1}", " {1} ", "HTTPS://OTHER-HOST:9000/C/{0}"])
def test_what_a_camera_reads_or_a_person_types_opens_the_case_in_one_redirect(reader, state, typed):
    code = opened(state)

    answer = reader.send("/scan", {"code": typed.format(code, shown_code(code))})

    assert 303 == answer.status_code
    assert f"/case/{code}/receive" == answer.headers["Location"]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("K7Q2M4XX", "is not the code of any label"),
        ("K7Q2", "This has 4 characters, not 8"),
        ("K7Q2M4X0", "0 is not used in a label code"),
        ("", "This has 0 characters, not 8"),
        ("https://shop.example/item/5", "not one of our labels"),
        ("WIFI:T:WPA;S:guest;;", "not one of our labels"),
    ],
)
def test_a_code_that_is_none_is_refused_in_words_and_kept(reader, typed, said):
    answer = reader.send("/scan", {"code": typed})

    assert 422 == answer.status_code
    assert said in answer.text
    assert f'value="{typed}"' in answer.text


def test_a_code_nobody_used_gets_a_plain_answer(technician):
    answer = technician.send("/scan", {"code": case_code(99)})

    assert 404 == answer.status_code
    assert "Open a case with this label" in answer.text


def test_a_photo_of_a_label_opens_its_case(reader, state):
    code = opened(state)

    answer = sent(reader, photo(label(code)))

    assert 303 == answer.status_code
    assert f"/case/{code}/receive" == answer.headers["Location"]


def test_a_foreign_square_is_named_as_such(reader):
    foreign = qrcode.make("https://shop.example/").get_image().convert("L")

    answer = sent(reader, photo(foreign))

    assert 422 == answer.status_code
    assert "not one of our labels" in answer.text


def test_two_labels_in_one_photo_are_refused(reader):
    answer = sent(reader, photo(label(case_code(1)), label(case_code(2))))

    assert "more than one label" in answer.text


def test_a_photo_without_a_square_is_unreadable(reader):
    assert "No label was found" in sent(reader, files.saved(files.four_corners())).text


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "The picture is empty"),
        (b"MZ" + b"\0" * 500, "no picture that can be read"),
        (files.saved(files.four_corners())[:300], "damaged"),
        (files.png_of_size(60_000, 60_000), "too many pixels"),
    ],
)
def test_a_hostile_file_is_refused_in_words(reader, data, said):
    answer = sent(reader, data)

    assert 422 == answer.status_code
    assert said in answer.text


def test_a_form_without_a_photo_is_refused(reader):
    assert "The picture is empty" in reader.send("/scan/photo", {}).text


def test_a_huge_body_is_refused_before_it_is_read(reader):
    answer = reader.post(
        "/scan/photo",
        environ_overrides={
            "CONTENT_LENGTH": "900000000",
            "CONTENT_TYPE": "multipart/form-data; boundary=x",
        },
    )

    assert 413 == answer.status_code


def test_a_scan_from_another_page_is_refused(reader):
    assert 403 == reader.post("/scan", data={"code": case_code(1)}).status_code


def test_the_photo_scanned_is_not_kept(app, reader, state):
    sent(reader, photo(label(opened(state))))

    folder = app.config["SETTINGS"].data / "photos"
    assert not folder.exists() or not any(path.is_file() for path in folder.rglob("*"))
