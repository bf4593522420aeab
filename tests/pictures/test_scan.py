from __future__ import annotations

import io

import pytest
import qrcode
from PIL import Image, ImageOps

from bench.core.ids import case_code
from bench.pictures.ingest import PictureRefused
from bench.pictures.label import LabelFacts, label_image
from bench.pictures.scan import ScanResult, read_label
from bench.words import Words
from tests.pictures import files

say = Words("en").say
FIRST, SECOND = case_code(27_182_818), case_code(14_142_135_623)


def label(code: str) -> Image.Image:
    facts = LabelFacts(code, "2417", "lower", "https://bench-pc.local:8480")
    return Image.open(io.BytesIO(label_image(facts, say, dpi=200)))


def square(text: str) -> Image.Image:
    return qrcode.make(text).get_image().convert("L")


def photo(*pictures: Image.Image, kind: str = "JPEG", **options: object) -> bytes:
    bench = Image.new("L", (1600, 900), 190)
    for place, picture in enumerate(pictures):
        bench.paste(picture, (80 + 760 * place, 120))
    return files.saved(bench, kind, **options)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_of_a_label_gives_its_code(kind):
    assert ScanResult(FIRST) == read_label(photo(label(FIRST), kind=kind))


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_way_the_tablet_was_held_does_not_matter(orientation):
    turned = photo(label(FIRST), exif=files.exif(orientation))

    assert ScanResult(FIRST) == read_label(turned)


@pytest.mark.parametrize(
    "text", [FIRST, f"http://other-host/c/{FIRST}", f"HTTPS://10.0.0.7:9000/C/{FIRST}"]
)
def test_the_plain_code_and_any_host_are_accepted(text):
    assert ScanResult(FIRST) == read_label(photo(square(text)))


@pytest.mark.parametrize("text", ["https://shop.example/", "HTTP://127.0.0.1:8480/C/K7Q2M4XX"])
def test_a_square_that_is_not_ours_is_foreign(text):
    assert ScanResult(None, "foreign") == read_label(photo(square(text)))


def test_a_picture_without_a_square_is_unreadable():
    assert ScanResult(None, "unreadable") == read_label(photo())


def test_two_labels_are_several():
    assert ScanResult(None, "several") == read_label(photo(label(FIRST), label(SECOND)))


def test_the_same_label_twice_is_one():
    assert ScanResult(FIRST) == read_label(photo(label(FIRST), label(FIRST)))


def test_a_foreign_square_beside_a_label_does_not_count():
    assert ScanResult(FIRST) == read_label(photo(label(FIRST), square("https://shop.example/")))


def test_a_label_in_a_large_photo_is_read():
    large = Image.new("L", (6000, 4000), 200)
    large.paste(label(FIRST).resize((1600, 880)), (3000, 2000))

    assert ScanResult(FIRST) == read_label(files.saved(large))


def test_a_label_on_a_dark_slip_is_read():
    assert ScanResult(FIRST) == read_label(photo(ImageOps.invert(label(FIRST))))


@pytest.mark.parametrize("data", [b"", b"no picture", b"\xff\xd8\xff\xe0"])
def test_a_file_that_is_no_picture_is_refused_as_anywhere_else(data):
    with pytest.raises(PictureRefused):
        read_label(data)


@pytest.mark.parametrize("reason", ["foreign", "unreadable", "several"])
def test_every_reason_says_what_why_and_what_to_do(reason):
    assert all(say(f"labels.scan.{reason}.{part}") for part in ("what", "why", "do"))
