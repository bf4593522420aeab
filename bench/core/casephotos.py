"""The photos of a case: what each shows, what replaced it, where its marks are and what they measure."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bench.core.case import Case, Said
from bench.core.entries import (
    Entry,
    PhotoDrawn,
    PhotoKept,
    PhotoMarksConfirmed,
    TripodMarked,
    Withdrawn,
)
from bench.core.lens import USUAL, Lens, stated
from bench.core.photocheck import Check, checked
from bench.core.photoplane import (
    Plane,
    Three,
    camera_of,
    distances_mm,
    height_factor,
    mirrored,
    places_mm,
    plane_from,
    sense_from_above,
)
from bench.core.refusal import Refusal
from bench.core.rules.records import same_marks
from bench.core.survey import Survey
from bench.core.tripod import Marks, Sense


@dataclass(frozen=True)
class Measured:
    """Marks of a photo in mm on the label's plane (Y down), their distances and turning sense.

    `camera_mm` is how far above the label the camera was, `tilt_deg` how far from straight down;
    both rest on `lens`.
    """

    marks_mm: Marks
    distances_mm: Three
    sense: Sense
    camera_mm: float
    tilt_deg: float
    lens: Lens
    mirrored: bool

    @property
    def guessed(self) -> bool:
        """Whether nothing told the lens, so that a usual one had to do."""
        return self.lens == USUAL


@dataclass(frozen=True)
class CasePhoto:
    """One photo of a case with the newest that stands of what was said of it.

    `about` is the entry it shows; `aside` the one that replaced it or took it back.
    """

    entry: Entry
    body: PhotoKept
    about: Entry | None
    aside: Entry | None
    marks: Said[PhotoMarksConfirmed] | None
    drawn: Said[PhotoDrawn] | None

    @property
    def sha(self) -> str:
        """The digest under which its bytes are kept."""
        return self.body.sha256

    @property
    def replaced(self) -> bool:
        """Whether a later photo was taken in its place."""
        return self.aside is not None and not isinstance(self.aside.body, Withdrawn)

    @property
    def taken_back(self) -> bool:
        """Whether somebody took it back."""
        return self.aside is not None and isinstance(self.aside.body, Withdrawn)


def photos_of(case: Case) -> tuple[CasePhoto, ...]:
    """Return every photo of a case, oldest first; those replaced and taken back too."""
    marks = {said.body.sha256: said for said in case.said(PhotoMarksConfirmed)}
    drawn = {said.body.sha256: said for said in case.said(PhotoDrawn)}
    return tuple(
        CasePhoto(
            entry, entry.body, case.by_id.get(entry.body.about or ""), case.aside.get(entry.id),
            marks.get(entry.body.sha256), drawn.get(entry.body.sha256),
        )
        for entry in case.entries if isinstance(entry.body, PhotoKept)
    )  # fmt: skip


def photo_of(case: Case, sha: str) -> CasePhoto | None:
    """Return the photo of that digest; None where there is none.

    Of the same picture kept more than once, one that stands goes first, then one of the tripod.
    """
    found = [photo for photo in photos_of(case) if photo.sha == sha]
    return max(found, key=_which_goes_first, default=None)


def _which_goes_first(photo: CasePhoto) -> tuple[bool, bool, str]:
    return photo.aside is None, photo.body.shows == "tripod", photo.entry.id


def measured(marks: PhotoMarksConfirmed, width_px: float, height_px: float) -> Measured:
    """Return what the confirmed places of a picture of this size measure.

    Raises TooNear where the height difference cannot be; the places themselves are in one plane.
    """
    plane = plane_from(marks.corners, marks.label_mm)
    lens = lens_of(marks, width_px, height_px)
    camera = camera_of(plane, lens.focal_px(width_px, height_px), width_px, height_px)
    places = places_mm(plane, marks.marks, height_factor(camera.height_mm, marks.dh_mm))
    return Measured(
        places, distances_mm(places), sense_from_above(places), camera.height_mm, camera.tilt_deg,
        lens, mirrored(marks.corners),
    )  # fmt: skip


def lens_of(marks: PhotoMarksConfirmed, width_px: float, height_px: float) -> Lens:
    """Return the lens that confirmed places are measured with, the usual one where nothing told it."""
    if marks.focal_px is None:
        return USUAL
    lens = stated(marks.focal_px, width_px, height_px)
    if not marks.lens_photos or marks.focal_sd_px is None:
        return lens
    return replace(lens, sd=marks.focal_sd_px / marks.focal_px, photos=marks.lens_photos)


def measured_of(photo: CasePhoto) -> Measured | None:
    """Return what a photo's confirmed marks measure; None while there are none to measure."""
    if photo.marks is None:
        return None
    try:
        return measured(photo.marks.body, photo.body.width_px, photo.body.height_px)
    except Refusal:
        return None


def check_of(photo: CasePhoto, case: Case) -> Check | None:
    """Return what a photo's confirmed marks say of the caliper's distances; None while there are none."""
    found = measured_of(photo)
    marked = tripod_of(photo.marks.body.about, case) if photo.marks else None
    return check_against(marked, found) if found and marked else None


def tripod_photos_of(survey: Survey) -> tuple[CasePhoto, ...]:
    """Return the standing photos of the tripod that counts, newest last, as `records.tripod_photos` has them."""
    marked = same_marks(survey)
    return tuple(
        photo for photo in photos_of(survey.case)
        if photo.aside is None and photo.body.shows == "tripod" and photo.body.about in marked
    )  # fmt: skip


def tripod_check(survey: Survey) -> Check | None:
    """Return what the newest photo with confirmed marks says of the tripod that counts; None without one."""
    found = (check_of(photo, survey.case) for photo in reversed(tripod_photos_of(survey)))
    return next((check for check in found if check is not None), None)


def check_against(marked: TripodMarked, found: Measured) -> Check:
    """Return what marks measured in a photo say of recorded distances and turning sense."""
    caliper = (marked.d_ab_mm, marked.d_ac_mm, marked.d_bc_mm)
    sense: Sense = "clockwise" if marked.sense == "clockwise" else "anticlockwise"
    return checked(caliper, sense, found.distances_mm, found.sense)


def tripod_of(entry_id: str | None, case: Case) -> TripodMarked | None:
    """Return the distances that count of the marks an entry speaks of: its own, or their correction."""
    entry = case.by_id.get(entry_id or "")
    if entry is None or not isinstance(entry.body, TripodMarked):
        return None
    for said in reversed(case.said(TripodMarked)):
        if entry.id in _corrected_by(said.entry, case):
            return said.body
    return entry.body


def plane_of(marks: PhotoMarksConfirmed) -> Plane:
    """Return the label's plane in the photo."""
    return plane_from(marks.corners, marks.label_mm)


def _corrected_by(entry: Entry, case: Case) -> frozenset[str]:
    """Return an entry and all that it corrects, however often."""
    found: set[str] = set()
    waiting = [entry.id]
    while waiting:
        one = case.by_id.get(waiting.pop())
        if one is not None and one.id not in found and isinstance(one.body, TripodMarked):
            found.add(one.id)
            waiting += one.supersedes
    return frozenset(found)
