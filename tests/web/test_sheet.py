from __future__ import annotations

import io
import re

import pypdfium2
import pytest

from bench.core.entries import CaseOpened, PhotoKept, PolicySet
from bench.core.ids import case_code
from bench.settings import Settings
from tests.pictures import files
from tests.sheets.story import CODE, surveyed
from tests.web.castroom import opened


@pytest.fixture
def code(app, state) -> str:
    """A case surveyed to the end, recorded into the bench entry by entry."""
    ids: dict[str, str] = {}
    for entry in surveyed().entries:
        if isinstance(entry.body, PhotoKept):
            continue
        setting = ids.get(entry.setting or "")
        ids[entry.id] = state(entry.body, case=CODE, setting=setting, reason=entry.reason).id
    return CODE


def text_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    assert 1 == len(document)
    return re.sub(r"[\s\u00a0]+", " ", document[0].get_textpage().get_text_bounded())


def plain(page: str) -> str:
    return re.sub(r"[\s\u00a0]+", " ", re.sub(r"<[^>]+>", " ", page))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_sheet_is_one_page_of_the_paper_asked_for(reader, code, paper):
    answer = reader.get(f"/case/{code}/sheet.pdf?paper={paper}")

    assert "application/pdf" == answer.headers["Content-Type"]
    assert "26-0101" in text_of(answer.data)


def test_page_and_paper_say_the_same(reader, code):
    page = plain(reader.get(f"/case/{code}/sheet").text)
    paper = text_of(reader.get(f"/case/{code}/sheet.pdf").data)

    for said in ("NOT RELEASED:", "45 D (second premolar): take off 0.30 mm", "45 MB", "Co-Cr",
                 "Balanced", "RX-101, 2026-03-02", "Prescribing dentist, signature"):  # fmt: skip
        assert said in page
        assert said in paper


def test_the_photo_of_the_tripod_is_on_the_page_and_on_the_paper(app, technician, code):
    before = len(technician.get(f"/case/{code}/sheet.pdf").data)
    photo = files.saved(files.four_corners(800, 600))
    technician.send(
        f"/case/{code}/photo", {"shows": "tripod", "photo": (io.BytesIO(photo), "m.jpg")}
    )
    (said,) = app.extensions["log"].case(code).said(PhotoKept)

    page, paper = (technician.get(f"/case/{code}/sheet{end}") for end in ("", ".pdf"))

    assert f"/photo/{said.body.sha256}/display" in page.text
    assert len(paper.data) > before + 2000


def test_a_photo_whose_file_is_gone_leaves_the_sheet_printable(app, technician, code, state):
    marks = next(e for e in app.extensions["log"].entries_of(code) if e.kind == "tripod_marked")
    state(PhotoKept("b" * 64, "image/jpeg", 10, 10, "tripod", marks.id), case=code)

    assert 200 == technician.get(f"/case/{code}/sheet.pdf").status_code


def test_a_strange_paper_is_refused(reader, code):
    assert 422 == reader.get(f"/case/{code}/sheet.pdf?paper=Poster").status_code


@pytest.mark.parametrize("end", ["sheet", "sheet.pdf"])
def test_a_case_that_was_never_opened_has_no_sheet(reader, end):
    assert 404 == reader.get(f"/case/{case_code(60)}/{end}").status_code


@pytest.mark.parametrize("end", ["sheet", "sheet.pdf"])
def test_a_case_just_opened_has_a_sheet_that_says_what_is_missing(reader, state, end):
    answer = reader.get(f"/case/{opened(state, at=61)}/{end}")

    said = plain(answer.text) if end == "sheet" else text_of(answer.data)
    assert "NOT RECORDED" in said
    assert "NOT RELEASED" in said


def test_a_stranger_sees_no_sheet(stranger, state):
    code = opened(state, at=62)

    assert "/who" in stranger.get(f"/case/{code}/sheet.pdf").headers["Location"]


def test_the_reader_chooses_the_numbering_of_the_sheet(reader, code):
    reader.set_cookie("tiltbook-display", "universal.inch.auto.normal.right")

    said = text_of(reader.get(f"/case/{code}/sheet.pdf").data)

    assert "29 MB" in said
    assert "0.010 in" in said


def test_a_number_in_another_script_is_printed_as_far_as_the_letters_go(reader, state):
    state(PolicySet("case_number_pattern", ".+"), person="SUP", reason="Any number")
    code = case_code(63)
    state(CaseOpened(code, "26-\u0141\u00f3d\u017a-\u4e2d", "lower", "master"), case=code)

    assert "26-" in text_of(reader.get(f"/case/{code}/sheet.pdf").data)


def test_an_address_no_square_holds_is_refused_and_not_a_failure(app, reader, code):
    app.config["SETTINGS"] = Settings(
        data=app.config["SETTINGS"].data, address="http://bench_pc.example"
    )

    assert 422 == reader.get(f"/case/{code}/sheet").status_code
