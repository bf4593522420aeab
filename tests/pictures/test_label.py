from __future__ import annotations

import io

import cv2
import numpy as np
import pypdfium2
import pytest
import zxingcpp
from PIL import Image, ImageFilter

from bench.core.ids import BadCode, case_code
from bench.pictures.label import (
    PAPERS_MM,
    BadLabel,
    LabelFacts,
    label_address,
    label_image,
    label_pdf,
    label_sheet_images,
    label_sheet_pdf,
    label_size_mm,
    labels_per_sheet,
)
from bench.words import Words
from tests.facts import paper, square

CODE = case_code(16_180_339_887)
BASE = "http://127.0.0.1:8480"
say = Words("en").say


def facts(code: str = CODE, **changes: str) -> LabelFacts:
    return LabelFacts(
        **{"code": code, "number": "2417", "arch": "upper", "base_url": BASE} | changes
    )


def many(count: int) -> list[LabelFacts]:
    return [facts(case_code(1_000_003 * n + 77), number=str(2400 + n)) for n in range(count)]


def opened(data: bytes) -> Image.Image:
    picture = Image.open(io.BytesIO(data))
    picture.load()
    return picture


def read_by_two(picture: Image.Image) -> set[str]:
    """What two readers that know nothing of each other see in a picture."""
    grey = np.array(picture.convert("L"))
    first = {found.text for found in zxingcpp.read_barcodes(grey)}
    return first | {cv2.QRCodeDetector().detectAndDecode(grey)[0]}


def dark_box_mm(picture: Image.Image, dpi: float, label_mm: tuple[float, float]) -> list[float]:
    """Left, top, right, bottom of what is dark in a label's left part, inside its cut marks."""
    edge_px, height_px = round(6 * dpi / 25.4), round(label_mm[1] * dpi / 25.4)
    field = picture.convert("L").crop((edge_px, edge_px, height_px, height_px))
    box = field.point(lambda level: 255 * (level < 128)).getbbox()
    assert box
    return [(along + edge_px) * 25.4 / dpi for along in box]


def render(pdf: bytes, page: int = 0, dpi: int = 300) -> Image.Image:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return document[page].render(scale=dpi / 72).to_pil()
    finally:
        document.close()


def tilted(picture: Image.Image, slant: float) -> Image.Image:
    """The picture as a camera sees it from the side: the right edge shorter and higher."""
    width, height = picture.size
    seen = [
        (0, 0),
        (width * (1 - slant), height * slant),
        (width * (1 - slant), height * (1 - slant / 2)),
        (0, height),
    ]
    corners = [(0, 0), (width, 0), (width, height), (0, height)]
    turn = cv2.getPerspectiveTransform(np.float32(corners), np.float32(seen))
    return Image.fromarray(
        cv2.warpPerspective(np.array(picture.convert("L")), turn, (width, height), borderValue=225)
    )


def photographed(picture: Image.Image, *, blur: float, noise: float, slant: float) -> Image.Image:
    framed = Image.new("L", (picture.width + 120, picture.height + 120), 225)
    framed.paste(picture.convert("L"), (60, 60))
    soft = tilted(framed, slant).filter(ImageFilter.GaussianBlur(blur))
    grain = np.random.default_rng(20).normal(0, noise, (soft.height, soft.width))
    return Image.fromarray((np.array(soft) * 0.8 + 20 + grain).clip(0, 255).astype(np.uint8))


def refusal_of(**changes: object) -> BadLabel:
    with pytest.raises(BadLabel) as caught:
        label_image(facts(), say, **changes)
    return caught.value


def test_the_address_is_in_upper_case():
    assert f"HTTP://127.0.0.1:8480/C/{CODE}" == label_address("http://127.0.0.1:8480/", CODE)


@pytest.mark.parametrize(
    "base", ["", "127.0.0.1:8480", "ftp://bench", "http://", "http://b_nch", "http://bench/?a=b"]
)
def test_an_address_a_label_cannot_hold_is_refused(base):
    with pytest.raises(BadLabel) as caught:
        label_address(base, CODE)

    assert "address" == caught.value.code


def test_a_code_that_is_none_is_refused():
    with pytest.raises(BadCode):
        label_address(BASE, "K7Q2M4X")


def test_two_readers_read_the_label_back():
    assert {f"HTTP://127.0.0.1:8480/C/{CODE}"} == read_by_two(opened(label_image(facts(), say)))


@pytest.mark.parametrize(
    "hardship",
    [
        {"blur": 2.0, "noise": 5.0, "slant": 0.0},
        {"blur": 0.5, "noise": 25.0, "slant": 0.04},
        {"blur": 1.2, "noise": 10.0, "slant": 0.10},
    ],
    ids=["blur", "noise", "tilt"],
)
def test_two_readers_read_a_photo_of_the_label(hardship):
    photo = photographed(opened(label_image(facts(), say)), **hardship)

    assert {facts().address} == read_by_two(photo)


def test_the_square_is_written_in_the_dense_mode_at_level_q():
    long = facts(base_url="https://bench-pc.local:8480")
    version = next(v for v, most in square.ALPHANUMERIC_AT_Q.items() if most >= len(long.address))
    assert square.BYTES_AT_Q[version] < len(long.address)

    found = zxingcpp.read_barcode(opened(label_image(long, say)))

    assert ("Q", str(version)) == (found.ec_level, found.extra["Version"])


@pytest.mark.parametrize("code_mm", [20, 25, 30])
@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_the_square_has_the_asked_size(code_mm, dpi):
    label = opened(label_image(facts(), say, code_mm=code_mm, dpi=dpi))

    left, top, right, bottom = dark_box_mm(label, dpi, label_size_mm(code_mm))

    assert abs(right - left - code_mm) <= 0.1
    assert abs(bottom - top - code_mm) <= 0.1
    assert abs(label.info["dpi"][0] - dpi) <= 0.1


@pytest.mark.parametrize("code_mm", [20, 25, 30])
def test_the_square_keeps_its_quiet_zone(code_mm):
    dpi = 600
    label = opened(label_image(facts(base_url="http://a"), say, code_mm=code_mm, dpi=dpi))
    left, top, right, bottom = dark_box_mm(label, dpi, label_size_mm(code_mm))
    quiet_mm = square.QUIET_MODULES * code_mm / square.MODULES_OF_VERSION[2]

    around = [
        (edge - sign * quiet_mm) * dpi / 25.4
        for edge, sign in ((left, 1), (top, 1), (right, -1), (bottom, -1))
    ]
    darkest = [
        label.crop(tuple(map(round, ring))).getextrema()[0]
        for ring in (
            (around[0], around[1], left * dpi / 25.4 - 1, around[3]),
            (right * dpi / 25.4 + 1, around[1], around[2], around[3]),
            (around[0], around[1], around[2], top * dpi / 25.4 - 1),
            (around[0], bottom * dpi / 25.4 + 1, around[2], around[3]),
        )
    ]

    assert [255] * 4 == darkest


def test_a_dot_is_never_smaller_than_half_a_millimetre():
    long = facts(base_url="http://" + "a" * 70 + ".local:8480")

    with pytest.raises(BadLabel) as caught:
        label_image(long, say, code_mm=20)

    assert "address_long" == caught.value.code
    assert {long.address} == read_by_two(opened(label_image(long, say, code_mm=25)))


@pytest.mark.parametrize(
    ("changes", "code"),
    [({"code_mm": 19}, "size"), ({"dpi": 72}, "dpi"), ({"dpi": 100_000}, "dpi")],
)
def test_a_label_that_cannot_be_drawn_is_refused(changes, code):
    refusal = refusal_of(**changes)

    assert code == refusal.code
    assert say(f"labels.refused.{code}.what", **refusal.params)
    assert say(f"labels.refused.{code}.do", **refusal.params)


def test_words_are_drawn_beside_the_square_and_stay_on_the_label():
    width_mm, height_mm = label_size_mm(20)
    for number in ("7", "2417-B/very long case number of another lab", "Zähne Straße №4"):
        label = opened(label_image(facts(number=number), say, dpi=300))
        px = [round((edge_mm + 3) * 300 / 25.4) for edge_mm in (30, 3, width_mm, height_mm - 3)]

        words = label.crop((px[0], px[1], px[2] - 1, px[3]))
        rim = label.crop((px[2] + 2, px[1], label.width, px[3]))

        assert words.getextrema()[0] < 60
        assert rim.getextrema() == (255, 255)


def test_upper_and_lower_labels_differ_in_their_words_alone():
    upper, lower = (opened(label_image(facts(arch=arch), say)) for arch in ("upper", "lower"))

    changed = np.argwhere(np.array(upper) != np.array(lower))

    assert changed[:, 1].min() * 25.4 / 300 > 3 + 30
    assert 1 < len(changed)


def test_the_pdf_of_a_label_has_its_physical_size_and_reads_back():
    pdf = label_pdf(facts(), say, code_mm=25)
    page = render(pdf)
    left, _, right, _ = dark_box_mm(page, 300, label_size_mm(25))

    assert {facts().address} == read_by_two(page)
    assert abs(right - left - 25) <= 0.1
    assert abs(page.width * 25.4 / 300 - (label_size_mm(25)[0] + 6)) <= 0.2


@pytest.mark.parametrize("name", ["A4", "Letter"])
def test_pdf_sheets_have_their_papers_size_and_every_label_reads_back(name):
    across, down = labels_per_sheet(name)
    labels = many(across * down + 1)
    pdf = label_sheet_pdf(labels, say, paper=name)
    document = pypdfium2.PdfDocument(pdf)
    sizes_mm = [[side / 72 * 25.4 for side in page.get_size()] for page in document]
    document.close()
    seen = {found.text for page in (0, 1) for found in zxingcpp.read_barcodes(render(pdf, page))}

    assert 2 == len(sizes_mm)
    for width_mm, height_mm in sizes_mm:
        assert abs(width_mm - paper.SIZES_MM[name][0]) <= 0.1
        assert abs(height_mm - paper.SIZES_MM[name][1]) <= 0.1
    assert {label.address for label in labels} == seen


@pytest.mark.parametrize("code_mm", [20, 25, 30])
@pytest.mark.parametrize("name", ["A4", "Letter"])
def test_a_sheet_image_holds_every_label_of_each_size(name, code_mm):
    across, down = labels_per_sheet(name, code_mm)
    labels = many(across * down)

    (sheet,) = label_sheet_images(labels, say, paper=name, code_mm=code_mm, dpi=200)

    seen = {found.text for found in zxingcpp.read_barcodes(opened(sheet))}
    assert {label.address for label in labels} == seen
    assert opened(sheet).size == tuple(round(side * 200 / 25.4) for side in PAPERS_MM[name])


def test_a_sheet_without_labels_or_with_too_many_is_refused():
    for labels, code in (([], "empty"), ([facts()] * 501, "many")):
        with pytest.raises(BadLabel) as caught:
            label_sheet_images(labels, say)

        assert code == caught.value.code
        assert say(f"labels.refused.{code}.what", **caught.value.params)


def test_an_unknown_paper_is_refused():
    with pytest.raises(BadLabel) as caught:
        label_sheet_pdf([facts()], say, paper="A0")

    assert "paper" == caught.value.code
    assert "A4" in say("labels.refused.paper.why", **caught.value.params)
