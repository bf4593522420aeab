"""What places on a photo measure, in the words and figures of the reader who asks."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from bench.core.bounds import BadEntry
from bench.core.casephotos import CasePhoto, Measured, check_against, measured
from bench.core.entries import PhotoMarksConfirmed, TripodMarked
from bench.core.lens import USUAL, Lens
from bench.core.photocheck import SIDES, Check
from bench.core.refusal import Refusal
from bench.web import photoplaces, speech, telling
from bench.web.photolens import of_a_tablet
from bench.web.photoplaces import Places
from bench.words.photochecks import CheckWords, check_in_words

# Straight down within this, marks and label of one height are measured to a quarter millimetre.
MOST_TILT_DEG = 20.0
_NOBODY = "00000000-0000-7000-8000-000000000000"


@dataclass(frozen=True)
class Side:
    """One distance: by the caliper, on the photo, and how far apart; '' where it is not known."""

    name: str
    caliper: str
    photo: str
    off: str


@dataclass(frozen=True)
class Result:
    """Three distances with the verdict, remarks about the view, or what is still missing."""

    sides: tuple[Side, ...] = ()
    words: CheckWords | None = None
    notes: tuple[str, ...] = ()
    missing: str = ""


def result_of(places: Places, photo: CasePhoto, marked: TripodMarked | None) -> Result:
    """Return what places on a photo measure against recorded distances."""
    if not places.whole:
        return Result(missing=_missing(places))
    try:
        body = photoplaces.body_of(places, photo, _NOBODY)
        found = measured(body, photo.body.width_px, photo.body.height_px)
    except BadEntry as bad:
        return Result(missing=speech.say_fault(bad.field, (bad.code, bad.params)))
    except Refusal as refused:
        return Result(missing=speech.say_fault("dh_mm", (refused.code, refused.params)))
    check = check_against(marked, found) if marked else None
    words = check_in_words(check, telling.reader()) if check else None
    return Result(_sides(found, check), words, tuple(_notes(found, body, of_a_tablet(photo))))


def _missing(places: Places) -> str:
    marks = [spot.upper() for spot in photoplaces.MARKS if places.at[spot] is None]
    corners = [
        speech.say(f"photomarks.spot.{spot}")
        for spot in photoplaces.CORNERS
        if places.at[spot] is None
    ]
    return speech.say("photomarks.missing", which=telling.reader().listed([*marks, *corners]))


def _sides(found: Measured, check: Check | None) -> tuple[Side, ...]:
    reader = telling.reader()
    caliper = check.caliper_mm if check else (None, None, None)
    return tuple(
        Side(
            name, reader.length(by) if by is not None else "", reader.length(on),
            _signed(on - by) if by is not None else "",
        )
        for name, by, on in zip(SIDES, caliper, found.distances_mm, strict=True)
    )  # fmt: skip


def _signed(off_mm: float) -> str:
    return ("+" if off_mm >= 0 else "\u2212") + telling.reader().length(abs(off_mm))


def _notes(found: Measured, body: PhotoMarksConfirmed, of_a_tablet: bool) -> list[str]:
    reader, lens = telling.reader(), found.lens
    said = []
    if not found.guessed:
        height, tilt = reader.number(found.camera_mm, 0), reader.angle(round(found.tilt_deg))
        said.append(speech.say("photomarks.camera", height=height, tilt=tilt))
    if found.tilt_deg > MOST_TILT_DEG:
        said.append(speech.say("photomarks.tilted"))
    said.append(_lens(lens))
    if body.dh_mm and not lens.good:
        said.append(speech.say("photomarks.lens.rough", percent=_percent(lens)))
    if body.dh_mm and not lens.good and of_a_tablet:
        said.append(speech.say("photomarks.lens.better"))
    if found.mirrored:
        said.append(speech.say("photomarks.mirrored_picture"))
    return said


def _lens(lens: Lens) -> str:
    """Say what lens was measured with, and where it is from."""
    if lens == USUAL:
        return speech.say("photomarks.lens.usual")
    if not lens.photos:
        return speech.say("photomarks.lens.stated")
    key = "photomarks.lens.photo" if lens.photos == 1 else "photomarks.lens.photos"
    return speech.say(key, count=lens.photos, percent=_percent(lens))


def _percent(lens: Lens) -> int:
    return ceil(round(100 * lens.sd, 6))
