from __future__ import annotations

import io

import pypdfium2
import pytest
from PIL import Image

from bench.core.ids import case_code, shown_code
from bench.pictures.scan import ScanResult, read_label
from tests.web.castroom import opened


def test_the_label_of_a_case_is_a_picture_that_a_camera_reads(reader, state):
    code = opened(state)

    answer = reader.get(f"/case/{code}/label.png?mm=25")

    assert "image/png" == answer.headers["Content-Type"]
    assert ScanResult(code) == read_label(answer.data)


@pytest.mark.parametrize("mm", [20, 25, 30])
def test_the_label_is_a_page_of_its_own_size(reader, state, mm):
    code = opened(state)

    page = pypdfium2.PdfDocument(reader.get(f"/case/{code}/label.pdf?mm={mm}").data)[0]

    # 5 mm of light on each side of the square and 3 mm for the cut marks, as the label is laid out.
    assert mm + 16 == pytest.approx(page.get_height() / 72 * 25.4, abs=0.2)


@pytest.mark.parametrize("mm", ["21", "abc", "-20", "99999999"])
def test_another_size_is_refused_with_the_sizes_there_are(reader, state, mm):
    answer = reader.get(f"/case/{opened(state)}/label.png?mm={mm}")

    assert 422 == answer.status_code
    assert "squares of 20, 25, 30 mm" in answer.text


def test_a_case_that_was_never_opened_has_no_label(reader):
    assert 404 == reader.get(f"/case/{case_code(50)}/label.png").status_code


def test_the_page_lists_cases_the_last_opened_first(reader, state):
    opened(state, "26-0101", at=1)
    opened(state, "26-0102", at=2)

    page = reader.get("/labels").text

    assert page.index("26-0102") < page.index("26-0101")
    assert shown_code(case_code(1)) in page


def test_the_page_without_cases_says_what_to_do(technician):
    assert 'href="/case/new"' in technician.get("/labels").text


def test_a_case_is_found_by_its_number(reader, state):
    opened(state, "26-0101", at=1)
    opened(state, "26-0102", at=2)

    page = reader.get("/labels?q=26-0102").text

    assert "26-0102" in page
    assert "26-0101" not in page


@pytest.mark.parametrize(("paper", "width_mm"), [("A4", 210.0), ("Letter", 215.9)])
def test_chosen_cases_are_printed_as_a_sheet(reader, state, paper, width_mm):
    codes = [opened(state, f"26-010{n}", at=n) for n in (1, 2)]
    asked = "&".join(f"code={code}" for code in codes)

    answer = reader.get(f"/labels/sheet?{asked}&paper={paper}&mm=20&as=pdf")

    document = pypdfium2.PdfDocument(answer.data)
    assert "application/pdf" == answer.headers["Content-Type"]
    assert 1 == len(document)
    assert width_mm == pytest.approx(document[0].get_width() / 72 * 25.4, abs=0.2)


def test_a_sheet_as_a_picture_shows_the_labels_chosen(reader, state):
    code = opened(state)

    answer = reader.get(f"/labels/sheet?code={code}&as=png")

    sheet = Image.open(io.BytesIO(answer.data))
    assert (2480, 3508) == sheet.size  # A4 at 300 dots per inch
    assert ScanResult(code) == read_label(answer.data)


def test_nothing_chosen_is_refused_with_what_to_do(reader, state):
    opened(state)

    answer = reader.get("/labels/sheet")

    assert 422 == answer.status_code
    assert "Choose at least one case" in answer.text


def test_a_strange_paper_is_refused_and_the_choice_kept(reader, state):
    code = opened(state)

    answer = reader.get(f"/labels/sheet?code={code}&paper=Poster")

    assert 422 == answer.status_code
    assert "There is no sheet called Poster" in answer.text
    assert f'value="{code}" checked' in answer.text


def test_a_stranger_prints_nothing(stranger, state):
    code = opened(state)

    assert "/who" in stranger.get(f"/case/{code}/label.png").headers["Location"]
