"""The whole job by touch, from the first start to a release, and again after the table moved on."""

from __future__ import annotations

from io import BytesIO
from urllib.parse import urlsplit

import cv2
import numpy as np
import pypdfium2
import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import expect

from bench.core.entries import PhotoKept
from tests.browser import job
from tests.browser.conftest import NewHand, Served
from tests.browser.hand import Hand, say

SUPERVISOR, TECHNICIAN = ("HB", "7294"), ("AM", "8351")


@pytest.mark.parametrize("size", [(1024, 768), (820, 1180)], ids=["on its side", "upright"])
def test_a_cast_goes_from_first_start_to_release_by_touch(
    size: tuple[int, int], hand: NewHand, new_bench: Served
) -> None:
    supervisor = hand(size)
    job.begin(supervisor, *SUPERVISOR)
    job.add_technician(supervisor, *TECHNICIAN)
    technician = hand(size).sign_in(*TECHNICIAN)
    code = job.open_case(technician, "26-0077")
    opens_from_its_label(technician, code)
    job.receive(technician)
    to_a_final_setting(technician, code)
    survey(technician, code)
    released(technician, code)
    photo_tells_nothing_else(technician, new_bench, code)
    sheet_says(technician, code, "released")

    at(technician, code, "tilt")
    job.take_tilt(technician, "5", "-1.5")
    stopped_by_what_is_stale(technician, code)
    sheet_says(technician, code, "recalled")
    at(technician, code, "tilt")
    job.make_final(technician)
    assert job.confirm_all_but_the_tripod(technician) == 8
    mark_anew(technician, code)
    supervisor.goto(f"/case/{code}/release")
    supervisor.record(supervisor.button("releasepage.taken"))
    at(technician, code, "release")
    assert against(technician) == []
    technician.record(technician.button("releasepage.again"))
    technician.sees("releasepage.released")
    sheet_says(technician, code, "released")


def at(hand: Hand, code: str, step: str) -> None:
    """Go to a step by its rung of the rail."""
    hand.open(hand.page.locator(f'.rail a[href$="/case/{code}/{step}"]'))


def opens_from_its_label(hand: Hand, code: str) -> None:
    """Read the printed label with two readers of other makers, and open the address it holds."""
    png = hand.page.request.get(f"/case/{code}/label.png").body()
    with Image.open(BytesIO(png)) as label:
        (read,) = zxingcpp.read_barcodes(label.convert("L"))
    grey = cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_GRAYSCALE)
    by_opencv, _, _ = cv2.QRCodeDetector().detectAndDecode(grey)
    assert read.text == by_opencv
    hand.goto(urlsplit(read.text).path)
    expect(hand.page).to_have_url(hand.page.url.split("/case/")[0] + f"/case/{code}/receive")


def to_a_final_setting(hand: Hand, code: str) -> None:
    at(hand, code, "mount")
    job.mount(hand)
    at(hand, code, "undercuts")
    assert [job.undercut(hand, *site) for site in job.CLASPS] == [3, 3]
    at(hand, code, "tilt")
    job.take_tilt(hand, "4", "-1.5")
    job.make_final(hand)


def survey(hand: Hand, code: str) -> None:
    at(hand, code, "guide_planes")
    job.guide_planes(hand)
    at(hand, code, "undercuts")
    assert [job.undercut(hand, *site) for site in job.CLASPS] == [3, 3]
    at(hand, code, "interferences")
    hand.record(hand.button("interferences.none"))
    at(hand, code, "survey_lines")
    job.lines(hand)
    at(hand, code, "tripod")
    job.tripod(hand)
    job.photo(hand)
    at(hand, code, "retention")
    job.tips(hand)


def released(hand: Hand, code: str) -> None:
    at(hand, code, "release")
    assert against(hand) == []
    hand.record(hand.button("releasepage.go"))
    hand.sees("releasepage.released")


def against(hand: Hand) -> list[str]:
    """Return what stops the release, as the page says it."""
    return hand.page.locator(".finding.blocks .sentence").all_inner_texts()


def photo_tells_nothing_else(hand: Hand, bench: Served, code: str) -> None:
    """The photo was turned upright, and neither its place nor its maker is kept."""
    (kept,) = [one.body for one in entries(bench, code) if isinstance(one.body, PhotoKept)]
    assert (900, 1200) == (kept.width_px, kept.height_px)
    for variant in ("display", "thumb"):
        data = hand.page.request.get(f"/photo/{kept.sha256}/{variant}").body()
        with Image.open(BytesIO(data)) as picture:
            assert dict(picture.getexif()) == {}


def sheet_says(hand: Hand, code: str, status: str) -> None:
    """The survey sheet on paper is one page, and says whether the cast is released."""
    pdf = pypdfium2.PdfDocument(hand.page.request.get(f"/case/{code}/sheet.pdf").body())
    page = pdf[0].get_textpage()
    text = " ".join(page.get_text_bounded().split())
    pages = len(pdf)
    page.close()
    pdf.close()
    assert pages == 1
    assert "26-0077" in text
    assert say(f"sheet.status.{status}", at="\0", person=TECHNICIAN[0]).split("\0")[0] in text


def stopped_by_what_is_stale(hand: Hand, code: str) -> None:
    """The release is taken back, and everything found at the earlier setting is named."""
    at(hand, code, "release")
    hand.sees("releasepage.recalled")
    assert sum(sentence.endswith("S2") for sentence in against(hand)) == 9
    assert hand.button("releasepage.go").count() == 0


def mark_anew(hand: Hand, code: str) -> None:
    """Mark the tripod at the setting of now; the marks of before stay readable."""
    at(hand, code, "tripod")
    job.tripod(hand)
    job.photo(hand)


def entries(bench: Served, code: str) -> list[object]:
    return list(bench.app.extensions["log"].entries_of(code))
