"""Files as Pillow writes them, with what each states of its lens: read by the tests of the tablet's scripts.

`python -m tests.pictures.lensfiles` writes them to tests/js/lensfiles.json anew.
"""

from __future__ import annotations

import base64
import json
from dataclasses import dataclass, field
from math import hypot
from pathlib import Path

from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from tests.pictures import files

FILE = Path(__file__).parents[1] / "js" / "lensfiles.json"
OWN, FILM, ZOOM, LENGTH = 0x8769, 0xA405, 0xA404, 0x920A
SENSOR, UNIT, WIDE, HIGH = 0xA20E, 0xA210, 0xA002, 0xA003
SIZE_PX = (48, 36)
CUT_AT_BYTES = 90
TOLD_28 = 28 / hypot(36, 24) * hypot(*SIZE_PX)


@dataclass(frozen=True)
class Stating:
    """What a file states beside the usual chatter, and the focal length in pixels that is to be read."""

    tags: dict[int, int | IFDRational] = field(default_factory=dict)
    focal_px: float | None = None
    film_mm: int | None = None
    endian: str = "<"
    cut: bool = False
    talkative: bool = True


STATING = {
    "length on film, little end first": Stating({FILM: 28}, TOLD_28, 28),
    "length on film, big end first": Stating({FILM: 28}, TOLD_28, 28, endian=">"),
    "nothing else stated": Stating({FILM: 28}, TOLD_28, 28, talkative=False),
    "nothing": Stating(),
    "nothing at all": Stating(talkative=False),
    "length of nought": Stating({FILM: 0}),
    "length beyond reason": Stating({FILM: 10_000}),
    "cut short": Stating({FILM: 28}, cut=True),
    "cut short, big end first": Stating({FILM: 28}, cut=True, endian=">"),
    "digital zoom": Stating({FILM: 28, ZOOM: IFDRational(5, 2)}),
    "digital zoom, big end first": Stating({FILM: 28, ZOOM: IFDRational(5, 2)}, endian=">"),
    "zoom not used": Stating({FILM: 28, ZOOM: IFDRational(0, 1)}, TOLD_28, 28),
    "zoom of one": Stating({FILM: 28, ZOOM: IFDRational(1, 1)}, TOLD_28, 28),
    "size in pixels": Stating({FILM: 28, WIDE: 48, HIGH: 36}, TOLD_28, 28),
    # By hand: 4 mm at 254 pixels an inch are 40 of 96 pixels, and 20 of the 48 that are left.
    "pixels of the sensor": Stating(
        {LENGTH: IFDRational(4, 1), SENSOR: IFDRational(254, 1), UNIT: 2, WIDE: 96, HIGH: 72}, 20.0
    ),
    "pixels a centimetre, big end first": Stating(
        {LENGTH: IFDRational(4, 1), SENSOR: IFDRational(100, 1), UNIT: 3, WIDE: 96, HIGH: 72}, 20.0,
        endian=">",
    ),
    "pixels in no unit": Stating(
        {LENGTH: IFDRational(4, 1), SENSOR: IFDRational(254, 1), UNIT: 1, WIDE: 96, HIGH: 72}
    ),
}  # fmt: skip


def written(stating: Stating) -> bytes:
    """Return the file."""
    data = Image.Exif()
    data.endian = stating.endian
    if stating.talkative:
        data[files.MAKE] = "Invented Camera Works"
        data.get_ifd(files.GPS_IFD).update({1: "N", 2: (48.0, 12.0, 30.0)})
    if stating.tags:
        data.get_ifd(OWN).update(stating.tags)
    exif = data.tobytes() if stating.tags or stating.talkative else b""
    file = files.saved(files.four_corners(*SIZE_PX), exif=exif)
    return file[:CUT_AT_BYTES] if stating.cut else file


def vectors() -> list[dict[str, object]]:
    """Return each file as base64 with the focal length to be read."""
    return [
        {
            "name": name,
            "file": base64.b64encode(written(one)).decode(),
            "focal_px": None if one.focal_px is None else round(one.focal_px, 6),
        }
        for name, one in STATING.items()
    ]


def text() -> str:
    """Return the vectors as they are kept in the file."""
    return json.dumps({"size_px": SIZE_PX, "files": vectors()}, indent=1) + "\n"


if __name__ == "__main__":
    FILE.write_text(text(), "utf-8")
