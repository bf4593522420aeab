"""Every page in another language: what a reader reads comes from that language's own words, or was typed."""

from __future__ import annotations

import re
from dataclasses import fields
from html.parser import HTMLParser

import pytest
from argon2 import PasswordHasher

import bench.words
from bench.app import create_app
from bench.core.steps import STEPS
from bench.demo.fill import fill
from bench.demo.stories import STORIES
from bench.settings import Settings
from bench.web import shellfiles
from bench.words import FIRST, Words, languages
from tests.conftest import Tablet

OTHERS = [language for language in languages() if language != FIRST]
OPENED, CLOSED = "\u27e6", "\u27e7"
SPOKEN = ("aria-label", "alt", "title", "placeholder", "data-ask", "data-label", "data-range")
CODE = r"[0-9A-Z]{4}-[0-9A-Z]{4}"
CHOICE = re.compile("[a-z_]+")
# Names and marks that are the same in every language, and the names of the languages themselves.
SAME = {"Tiltbook", "Kennedy", "mod", "III", "Letter", "English", "Deutsch", "Sprache", "Language"}
OF_THE_LAB = (
    "/", "/?layout=list", "/case/new", "/scan", "/labels", "/display", "/about", "/outbox", "/pin",
    "/offline/label", "/instruments", "/desk", "/audit", "/audit/gauges", "/audit/entries", "/drills",
    "/drills/new", "/predictions", "/policy", "/people", "/devices", "/who", "/nowhere", "/case/XXXX",
)  # fmt: skip
OF_A_CASE = ("trail", "sheet", "remount", "offline", "hold", "photos")
ASKING = (
    "receive?sheet=arrival", "receive?sheet=teeth", "receive?sheet=wishes&wish=clasp&tooth={t}",
    "receive?sheet=wishes&wish=rest&tooth={t}", "undercuts?tooth={t}&surface=MB", "tilt?disturbed=1",
    "guide_planes?tooth={t}&surface=M", "tripod?again=1", "retention?tooth={t}&surface=MB",
    "interferences?place=left_lingual", "survey_lines?lines={t}B&tooth={t}",
)  # fmt: skip
PEOPLE = ("supervisor", "technician", "reader")


class Spoken(HTMLParser):
    """What a page says: its text, and what it says of pictures and keys."""

    def __init__(self) -> None:
        super().__init__()
        self.pieces: list[str] = []
        self.unspoken = 0

    def handle_starttag(self, tag, attrs):
        self.unspoken += tag in ("script", "style", "option")
        self.pieces += [value for name, value in attrs if name in SPOKEN and value]

    def handle_endtag(self, tag):
        self.unspoken -= tag in ("script", "style", "option")

    def handle_data(self, data):
        if data.strip() and not self.unspoken:
            self.pieces.append(data.strip())


def spoken(html: str) -> list[str]:
    page = Spoken()
    page.feed(html)
    return page.pieces


def beside(piece: str) -> str:
    """Return what of a piece does not stand between marks, which may stand in each other."""
    depth, left = 0, []
    for sign in piece:
        depth += sign == OPENED
        left += [" " if depth else sign]
        depth -= sign == CLOSED
    return "".join(left)


def typed(app) -> list[str]:
    """Return what people typed: no catalogue can put that into another language."""
    log = app.extensions["log"]
    found = set()
    for entry in (
        *log.lab_entries(),
        *(one for code in log.codes() for one in log.entries_of(code)),
    ):
        values = [getattr(entry.body, field.name) for field in fields(entry.body)]
        found |= {entry.reason, entry.person, entry.device}
        found |= {
            one for value in values for one in (value if isinstance(value, tuple) else [value])
        }
    texts = (one for one in found if isinstance(one, str) and one and not CHOICE.fullmatch(one))
    return sorted(texts, key=len, reverse=True)


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("languages")
    hasher = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    app = create_app(Settings(data=folder), hasher=hasher)
    app.test_client_class = Tablet
    filled = fill(app.extensions["store"], len(STORIES))
    yield app, filled
    app.extensions["store"].close()


def paths(app, filled) -> list[str]:
    cases = {case.story: case.code for case in filled.cases}
    code = cases["stale"]
    tooth = app.extensions["log"].case(code).present[2]
    asking = [f"/case/{code}/{path.format(t=tooth)}" for path in ASKING]
    steps = [f"/case/{one}/{step}" for one in (code, cases["released"]) for step in STEPS]
    beside_steps = [
        f"/case/{cases[story]}/{path}" for story in ("stale", "contradiction", "recalled") if story in cases
        for path in OF_A_CASE
    ]  # fmt: skip
    return [*OF_THE_LAB, *steps, *asking, *beside_steps, *told(app.extensions["log"], filled)]


def told(log, filled) -> list[str]:
    """Return the pages of single people, instruments, drills and photos."""
    photo = log.of_kinds("photo_kept")[0]
    of_photo = f"/case/{photo.case}/photo/{photo.body.sha256}"
    drills = [f"/drills/{one.id}" for one in log.of_kinds("drill_planned")]
    return [
        *(f"/trail/person/{one.initials}" for one in filled.people[:2]),
        *(f"/trail/instrument/{one.body.tag}" for one in log.of_kinds("instrument_added")[:4]),
        *drills, *(f"{one}/next" for one in drills), of_photo, f"{of_photo}/draw",
        f"/case/{photo.case}/photo/camera?shows=tripod",
    ]  # fmt: skip


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("role", PEOPLE)
def test_every_page_says_what_it_says_in_that_language(demo, monkeypatch, language, role):
    app, filled = demo
    marked = {key: f"{OPENED}{text}{CLOSED}" for key, text in Words(language).own().items()}
    lent = dict(Words(FIRST).own())
    monkeypatch.setattr(bench.words, "_sentences", lambda _: {**lent, **marked})
    shellfiles.tablet_words.cache_clear()
    who = next(one for one in filled.people if one.role == role)
    tablet = app.test_client().sit(who.initials)
    known = [CODE, *(re.escape(text) for text in typed(app))]
    data = re.compile(rf"(?<!\w)(?:{'|'.join(known)})(?!\w)")

    found = {}
    for path in paths(app, filled):
        html = tablet.get(path, headers={"Accept-Language": language}, follow_redirects=True).text
        assert f'<html lang="{language}"' in html, path
        for piece in spoken(html):
            left = re.findall(r"[^\W\d_]{3,}", data.sub(" ", beside(piece)))
            if words := [word for word in left if word not in SAME]:
                found.setdefault(" ".join(words), (path, piece))
    shellfiles.tablet_words.cache_clear()

    assert found == {}
