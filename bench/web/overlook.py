"""The record's photo beside the cast on the table, and what a new photo says of the marks."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from flask import Blueprint

from bench.core.casephotos import CasePhoto
from bench.core.remountphotos import LETTERS, Recognised, RemountPhotos, remount_photos
from bench.core.rules.records import same_marks
from bench.web import photos, speech, telling
from bench.web.steps import StepPage

blueprint = Blueprint("overlook", __name__)

# Of a shape and a word each: done, to be looked at again, not to go on with.
LOOKS = {"same": "done", "longer": "stale", "shorter": "stale", "letters": "stale"}


@dataclass(frozen=True)
class Overlook:
    """What the page of a re-mount shows of the photos of its marks."""

    page: StepPage
    found: RemountPhotos

    @property
    def record(self) -> CasePhoto:
        """The photo of the record."""
        assert self.found.record is not None
        return self.found.record

    @property
    def letters(self) -> list[tuple[str, float, float]]:
        """The confirmed marks of the record: letter, and where in pixels; none while not confirmed."""
        marks = self.record.marks
        places = marks.body.marks if marks else ()
        return [(letter, x, y) for letter, (x, y) in zip(LETTERS, places, strict=False)]

    @property
    def tripod(self) -> str:
        """The entry of the marks that a new photo is about."""
        tripod = self.page.survey.tripod
        return tripod.entry.id if tripod else ""

    @property
    def unconfirmed(self) -> CasePhoto | None:
        """The photo whose marks are still to be confirmed: the record's before the newer one."""
        if self.record.marks is None:
            return self.record
        later = self.found.later
        return later if later is not None and later.marks is None else None

    @cached_property
    def told(self) -> Recognised | None:
        """What the two photos say of each other."""
        return self.found.recognised

    @property
    def look(self) -> str:
        """The mark that goes with the words."""
        return LOOKS.get(self.told.finding, "stopped") if self.told else ""

    @property
    def words(self) -> str:
        """What the two photos say of each other, in words."""
        if self.told is None:
            return ""
        reader = telling.reader()
        return speech.say(
            f"overlook.finding.{self.told.finding}", mark=self.told.odd,
            mm=_tenths(self.told.odd_mm or max(self.told.by_mm)),
            letters=reader.listed(self.told.letters),
        )  # fmt: skip

    @property
    def by_mark(self) -> list[tuple[str, str]]:
        """How far each mark lies from its place after the best fit of all three."""
        by_mm = self.told.by_mm if self.told else ()
        return [(letter, _tenths(mm)) for letter, mm in zip(LETTERS, by_mm, strict=False)]

    @property
    def taken(self) -> str:
        """When the newer photo was kept, and by whom."""
        later = self.found.later
        return f"{telling.lately(later.entry.at)} {later.entry.person}" if later else ""


def _tenths(length_mm: float) -> str:
    """Return a length to a tenth of a millimetre: two photos by hand tell nothing finer."""
    reader = telling.reader()
    if reader.unit == "inch":
        return reader.length(length_mm)
    return speech.say("choices.figure.mm", value=reader.number(length_mm, 1))


@blueprint.app_template_global()
def overlook_of(page: StepPage) -> Overlook | None:
    """Return what a re-mount may be recognised by, None where no photo of its marks is at hand."""
    found = remount_photos(page.case, same_marks(page.survey))
    at_hand = found.record is not None and photos.shelf().has(found.record.sha)
    return Overlook(page, found) if at_hand else None
