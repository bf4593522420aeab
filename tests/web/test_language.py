from __future__ import annotations

import pytest

from bench.lan.trustpage import trust_app
from bench.web import chosen, frame, speech, telling
from bench.web.chosen import CHOICES, COOKIE, Display
from bench.words import FIRST, Words, languages

GERMAN = Words("de")


@pytest.mark.parametrize(
    ("asked", "language"),
    [
        ("", "en"),
        ("de", "de"),
        ("de-CH,de;q=0.9,en;q=0.8", "de"),
        ("en-GB,de;q=0.9", "en"),
        ("fr,de;q=0.5,en;q=0.3", "de"),
        ("fr", "en"),
        ("*", "en"),
        ("ü;q=x", "en"),
    ],
)
def test_until_it_is_chosen_the_language_is_what_the_browser_asks_for(app, asked, language):
    with app.test_request_context(headers={"Accept-Language": asked}):
        assert chosen.language() == language


def test_what_was_chosen_goes_before_what_the_browser_asks_for(app):
    cookie = f"{COOKIE}={Display(language='en').text}"

    with app.test_request_context(headers={"Accept-Language": "de", "Cookie": cookie}):
        assert chosen.language() == "en"


def test_a_cookie_of_before_there_was_a_language_keeps_its_choices(app):
    headers = {"Accept-Language": "de", "Cookie": f"{COOKIE}=universal.inch.dark.large.left"}

    with app.test_request_context(headers=headers):
        assert chosen.display() == Display("universal", "inch", "dark", "large", "left", "auto")
        assert chosen.language() == "de"


def test_every_language_of_the_catalogue_can_be_chosen():
    assert CHOICES["language"] == ("auto", FIRST, *(x for x in languages() if x != FIRST))


def test_the_page_names_its_language_and_speaks_it(stranger):
    stranger.send("/display", {"language": "de"})

    answer = stranger.get("/display")
    page = answer.text
    assert '<html lang="de"' in page
    assert answer.headers["Content-Language"] == "de"
    assert GERMAN.say("display.title") in page
    assert stranger.get("/manifest.webmanifest").json["lang"] == "de"


def test_each_reader_reads_their_own_language(app):
    said = {}
    for language in ("de", "en", "de"):
        with app.test_request_context(headers={"Accept-Language": language}):
            said.setdefault(language, set()).add(speech.say("display.go"))

    assert said == {"de": {GERMAN.say("display.go")}, "en": {Words("en").say("display.go")}}


# DIN 5008 and ISO 80000-1: German writes a decimal comma.
def test_figures_are_written_with_the_decimal_sign_of_the_language(app):
    with app.test_request_context(headers={"Accept-Language": "de"}):
        german = telling.reader().length(0.25), frame.gauge_text(0.25), telling.reader().angle(1.5)
    with app.test_request_context():
        english = telling.reader().length(0.25), frame.gauge_text(0.25)

    assert german == ("0,25\u00a0mm", "0,25 mm", "1,5°")
    assert english == ("0.25\u00a0mm", "0.25 mm")


def test_without_a_request_the_first_language_is_spoken(app):
    with app.app_context():
        assert speech.say("display.go") == Words(FIRST).say("display.go")


def test_the_page_of_trust_speaks_what_the_browser_asks_for():
    class Held:
        fingerprint = "AB CD"

    asked = trust_app(lambda: Held(), "https://bench:8480", "http://bench:8481").test_client()  # type: ignore[arg-type, return-value]

    assert '<html lang="de"' in asked.get("/", headers={"Accept-Language": "de-AT"}).text
    assert '<html lang="en"' in asked.get("/").text
