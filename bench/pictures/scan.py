"""Reading the label in a photo."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from PIL import Image

from bench.core.ids import code_from_scan
from bench.pictures.ingest import upright_grey

Reason = Literal["foreign", "unreadable", "several"]

# 12 million pixels take 40 ms; more of them do not make a label easier to read.
READ_AT_PX = 4000


@dataclass(frozen=True)
class ScanResult:
    """The label code in a photo, or the reason why there is none.

    'foreign': a square that is not one of ours; 'several': more than one of our labels;
    'unreadable': no square at all. The words are `labels.scan.<reason>`.
    """

    code: str | None
    reason: Reason | None = None


def read_label(image_bytes: bytes) -> ScanResult:
    """Return the one label code in a photo; raise PictureRefused for a file that is no picture.

    A square that is not ours does not count beside one that is; the same label seen twice is one.
    """
    texts = _texts_in(upright_grey(image_bytes, READ_AT_PX))
    codes = {code for text in texts if (code := code_from_scan(text))}
    if len(codes) == 1:
        return ScanResult(codes.pop())
    if codes:
        return ScanResult(None, "several")
    return ScanResult(None, "foreign" if texts else "unreadable")


def _texts_in(image: Image.Image) -> list[str]:
    import zxingcpp  # stays out of the server

    squares = zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode)
    found = zxingcpp.read_barcodes(image, formats=squares)
    return [square.text for square in found]
