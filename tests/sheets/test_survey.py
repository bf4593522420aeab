from __future__ import annotations

import re

import pypdfium2
import pytest
from PIL import Image

from bench.core.entries import InterferenceNoted
from bench.core.ids import shown_code
from bench.pictures.scan import ScanResult, read_label
from bench.sheets.survey import sheet_pdf
from tests.facts.paper import SIZES_MM
from tests.pictures import files
from tests.sheets.story import CODE, READER, Story, facts, fullest, released, surveyed

POINTS_PER_MM = 72 / 25.4


def opened(pdf: bytes) -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(pdf)


def text_of(pdf: bytes) -> str:
    page = opened(pdf)[0]
    return re.sub(r"[\s\u00a0]+", " ", page.get_textpage().get_text_bounded())


def rendered(pdf: bytes, scale: float = 3.0) -> Image.Image:
    return opened(pdf)[0].render(scale=scale).to_pil().convert("RGB")


@pytest.fixture(scope="module")
def photo() -> bytes:
    return files.saved(files.four_corners(1600, 1200))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("story", [Story, surveyed, released, fullest])
def test_every_case_fits_one_page(story, paper, photo):
    pdf = sheet_pdf(facts(story()), READER, paper=paper, photo=photo)

    assert 1 == len(opened(pdf))
    width, height = opened(pdf)[0].get_size()
    assert SIZES_MM[paper] == pytest.approx(
        (width / POINTS_PER_MM, height / POINTS_PER_MM), abs=0.1
    )


def test_the_sheet_says_what_a_dentist_must_read(photo):
    text = text_of(sheet_pdf(facts(released()), READER, photo=photo))

    for said in (
        "26-0101", shown_code(CODE), "Kennedy class III", "RX-101, 2026-03-02", "Released to design",
        "45 D (second premolar): take off 0.30 mm", "front 4.0° down", "T1, to 0.5°", "Balanced",
        "45 MB", "0.25 mm", "Co-Cr", "A–B 40.00 mm", "Torus", "passes with relief",  # noqa: RUF001
        "Prescribing dentist, signature", "the prescribing dentist decides", "Recorded by TEC",
    ):  # fmt: skip
        assert said in text


def test_a_case_that_is_not_released_says_so_in_capitals():
    assert "NOT RELEASED:" in text_of(sheet_pdf(facts(surveyed()), READER))


def test_the_fullest_case_keeps_every_tip_and_says_what_it_leaves_out(photo):
    text = text_of(sheet_pdf(facts(fullest()), READER, photo=photo))

    for tooth in (18, 17, 14, 13, 12, 11, 21, 22, 23, 24, 27, 28):
        assert f"{tooth} MB" in text
    assert "28 D/M: take off 0.35 mm; the plane may run 3.00 mm." in text
    assert "NOT RELEASED" in text
    assert "Prescribing dentist, signature" in text


def test_nothing_runs_off_the_page(photo):
    page = rendered(sheet_pdf(facts(fullest()), READER, photo=photo))

    edge = round(6 * POINTS_PER_MM * 3)
    for strip in (
        (0, 0, page.width, edge), (0, page.height - edge, page.width, page.height),
        (0, 0, edge, page.height), (page.width - edge, 0, page.width, page.height),
    ):  # fmt: skip
        assert ((255, 255),) * 3 == page.crop(strip).getextrema()


def test_a_camera_reads_the_square_of_a_printed_sheet():
    page = rendered(sheet_pdf(facts(surveyed()), READER))

    assert ScanResult(CODE) == read_label(files.saved(page, "PNG"))


def test_a_sheet_printed_twice_has_the_same_bytes(photo):
    first, second = (sheet_pdf(facts(surveyed()), READER, photo=photo) for _ in range(2))

    assert first == second


def test_markup_in_a_remark_is_printed_and_not_obeyed():
    story = surveyed()
    hostile = "<b>bold</b> & <img src='file:///etc/passwd'/> \u4e2d \u0142"
    story.say(InterferenceNoted("left_lingual", "other", remark=hostile))

    text = text_of(sheet_pdf(facts(story), READER))

    assert "<b>bold</b> & <img src='file:///etc/passwd'/>" in text


def test_a_photo_is_printed_beside_the_tripod(photo):
    without, with_photo = (
        rendered(sheet_pdf(facts(surveyed()), READER, photo=one)) for one in (None, photo)
    )

    greens = [
        {c: n for n, c in page.resize((200, 280), 0).getcolors(60_000)}
        for page in (without, with_photo)
    ]
    near = [
        sum(n for (r, g, b), n in found.items() if g > 150 and r < 80 and b < 80)
        for found in greens
    ]
    assert 0 == near[0] < near[1]


def test_the_page_says_in_its_title_which_case_it_is():
    pdf = sheet_pdf(facts(surveyed()), READER)

    assert f"Survey sheet 26-0101 {shown_code(CODE)}" == opened(pdf).get_metadata_value("Title")


def test_a_page_opens_as_a_pdf_of_a_modest_size(photo):
    pdf = sheet_pdf(facts(fullest()), READER, photo=photo)

    assert pdf.startswith(b"%PDF-")
    assert len(pdf) < 400_000
