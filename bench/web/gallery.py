"""The photos of a case: by what they show, newest first, each with what became of it and of its marks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from flask import Blueprint, abort, render_template, request

from bench.core.case import Case
from bench.core.casephotos import CasePhoto, check_of, photos_of
from bench.core.claims import LOOKED, stated_by, teeth_named_by
from bench.core.entries import CaseOpened, Entry, SurveyLinesDrawn
from bench.core.entries.vocabulary import SHOWS
from bench.core.surfaces import site_from
from bench.core.teeth import teeth_of
from bench.web import book, photos, seats, speech, telling
from bench.web.roles import RANK, least
from bench.words.photochecks import CheckWords, check_in_words
from bench.words.trail import entry_in_words, fate_in_words

blueprint = Blueprint("gallery", __name__)

REASONS = ("blurred", "unseen", "better")


@dataclass(frozen=True)
class Card:
    """One photo as the gallery shows it."""

    photo: CasePhoto
    at: str
    about: str
    fate: str
    kept: bool
    verdict: CheckWords | None

    @property
    def wants_marks(self) -> bool:
        """Whether its marks wait to be confirmed."""
        return (
            self.photo.body.shows == "tripod" and self.photo.aside is None and not self.photo.marks
        )


@dataclass(frozen=True)
class Wall:
    """The photos of one kind or of one tooth."""

    title: str
    cards: tuple[Card, ...]


@dataclass(frozen=True)
class GalleryView:
    """What the page of the photos shows; `again` is the photo that another is to replace."""

    case: Case

    @cached_property
    def photos(self) -> tuple[CasePhoto, ...]:
        """Every photo of the case, oldest first."""
        return photos_of(self.case)

    @property
    def walls(self) -> list[Wall]:
        """The tripod, then tooth by tooth, then the cast."""
        return [
            *_wall("tripod", self._of("tripod")), *self._teeth(), *_wall("cast", self._of("cast")),
        ]  # fmt: skip

    def _of(self, shows: str) -> list[Card]:
        return [_card(self.case, one) for one in self.photos[::-1] if one.body.shows == shows]

    def _teeth(self) -> Iterable[Wall]:
        cards = self._of("site")
        by_tooth: dict[int, list[Card]] = {}
        for card in cards:
            for tooth in _teeth_of(card.photo.about):
                by_tooth.setdefault(tooth, []).append(card)
        for tooth in (one for one in teeth_of(self.case.arch) if one in by_tooth):
            said = speech.say("gallery.tooth", tooth=telling.reader().tooth(tooth))
            yield Wall(said, tuple(by_tooth[tooth]))
        yield from _wall("site", [card for card in cards if not _teeth_of(card.photo.about)])

    @property
    def may(self) -> bool:
        """Whether the person signed in may add photos."""
        person = seats.person()
        return bool(person and RANK[person.role] >= RANK["technician"])

    @cached_property
    def again(self) -> CasePhoto | None:
        """The photo that is to be taken again, None for a further one."""
        asked = request.args.get("again", "")
        return next((one for one in self.photos if one.entry.id == asked and not one.aside), None)

    @property
    def recalls(self) -> bool:
        """Whether a standing release rests on the photo that is to be taken again."""
        release = self.case.release
        return bool(release and self.again and self.again.entry.id in release.body.grounds)

    @property
    def about(self) -> Entry | None:
        """The entry a new photo is to be about."""
        if self.again is not None:
            return self.again.about
        return self.case.by_id.get(request.args.get("about", ""))

    @property
    def about_words(self) -> str:
        """That entry as a sentence."""
        return entry_in_words(self.about, self.case, telling.reader()) if self.about else ""

    @property
    def kept(self) -> dict[str, str]:
        """What the form for a new photo has chosen already."""
        shows = self.again.body.shows if self.again else request.args.get("shows", "")
        return {
            "about": self.about.id if self.about else "", "setting": self.case.now.id if self.case.now else "",
            "shows": shows if shows in SHOWS else "site" if self.about else "cast",
            "supersedes": self.again.entry.id if self.again else "",
            "next": f"/case/{self.case.code}/photos",
        }  # fmt: skip

    @property
    def reasons(self) -> list[tuple[str, str]]:
        """Why a photo is taken again, as keys."""
        return [
            (speech.say(f"gallery.why.{one}"), speech.say(f"gallery.why.{one}")) for one in REASONS
        ]


@blueprint.get("/case/<code>/photos")
@least("reader")
def gallery(code: str) -> str:
    """Show all photos of a case; `about` names what a new one shows, `again` the one it replaces."""
    case = book.case_of(code)
    if not case.said(CaseOpened):
        abort(404)
    return render_template(
        "photos/gallery.html", view=GalleryView(case), case=case, shows=SHOWS,
        offline_code=case.code,
    )  # fmt: skip


@blueprint.app_template_global()
def photos_about(case: Case, entry_id: str) -> list[CasePhoto]:
    """Return the photos that stand of a finding, newest first.

    Those about its own entry, and those about others that state something of the same site.
    """
    entry = case.by_id.get(entry_id)
    return [
        one for one in photos_of(case)[::-1]
        if one.aside is None and entry and one.about and _of_one_site(one.about, entry)
    ]  # fmt: skip


@blueprint.app_template_global()
def verdict_of(case: Case, photo: CasePhoto) -> CheckWords | None:
    """Return in words what a photo's confirmed marks say; None while none are confirmed."""
    check = check_of(photo, case)
    return check_in_words(check, telling.reader()) if check else None


def _of_one_site(one: Entry, other: Entry) -> bool:
    claims = [{claim for claim, _ in stated_by(entry) if claim != LOOKED} for entry in (one, other)]
    return one.id == other.id or not claims[0].isdisjoint(claims[1])


def _wall(key: str, cards: list[Card]) -> list[Wall]:
    return [Wall(speech.say(f"gallery.wall.{key}"), tuple(cards))] if cards else []


def _card(case: Case, photo: CasePhoto) -> Card:
    reader = telling.reader()
    return Card(
        photo, telling.moment(photo.entry.at),
        entry_in_words(photo.about, case, reader) if photo.about else "",
        fate_in_words(photo.entry, case, reader), photos.shelf().has(photo.sha),
        verdict_of(case, photo) if photo.aside is None else None,
    )  # fmt: skip


def _teeth_of(about: Entry | None) -> list[int]:
    """Return the teeth an entry speaks of, each once; survey lines name them by their sites."""
    if about is None:
        return []
    if isinstance(about.body, SurveyLinesDrawn):
        return list(dict.fromkeys(site_from(site).tooth for site in about.body.sites))
    return [tooth for _, tooth in teeth_named_by(about.body)]
