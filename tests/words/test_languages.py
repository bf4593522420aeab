from __future__ import annotations

import re
from importlib.resources import files
from string import Formatter

import pytest

from bench.words import FIRST, Words, language_for, languages

ENGLISH = Words(FIRST).own()
OTHERS = [language for language in languages() if language != FIRST]
CATALOGUE = files("bench.words")


def gaps(sentence: str) -> list[tuple[str, str | None, str | None]]:
    """Return the gaps of a sentence, each with how it is filled, in no order.

    A gap that chooses a word by a number is left out: not every language needs one in the same place.
    """
    parts = Formatter().parse(sentence)
    return sorted(
        (name, form, turn) for _, name, form, turn in parts if name and "|" not in (form or "")
    )


def rooms(language: str) -> set[str]:
    return {room.name for room in CATALOGUE.joinpath(language).iterdir()}


def test_there_is_more_than_one_language():
    assert "de" in OTHERS


@pytest.mark.parametrize("language", OTHERS)
def test_a_language_has_a_file_for_every_room(language):
    assert rooms(FIRST) == rooms(language)


@pytest.mark.parametrize("language", OTHERS)
def test_a_language_lacks_no_key_and_has_none_of_its_own(language):
    own = Words(language).own()

    assert [] == sorted(ENGLISH.keys() - own.keys()), f"lacking in {language}"
    assert [] == sorted(own.keys() - ENGLISH.keys()), f"only in {language}"


@pytest.mark.parametrize("language", OTHERS)
def test_a_language_fills_the_same_gaps(language):
    own = Words(language).own()
    differing = {
        key: (gaps(ENGLISH[key]), gaps(own[key]))
        for key in ENGLISH.keys() & own.keys()
        if gaps(ENGLISH[key]) != gaps(own[key])
    }

    assert differing == {}


@pytest.mark.parametrize("language", OTHERS)
def test_what_begins_or_ends_with_a_space_does_so_in_every_language(language):
    own = Words(language).own()

    def edges(text: str) -> tuple[bool, bool]:
        return text[:1].isspace(), text[-1:].isspace()

    assert [] == [key for key in ENGLISH if edges(ENGLISH[key]) != edges(own.get(key, ""))]


def test_nothing_in_german_calls_a_design_good_or_safe():
    rooms_of_findings = ("rules.", "retention.", "kennedy.", "steps.", "entries.", "choices.")
    praise = {"gut", "gute", "sicher", "sichere", "ideal", "optimal", "perfekt", "einwandfrei"}
    said = {
        key: set(text.lower().split()) & praise
        for key, text in Words("de").own().items()
        if key.startswith(rooms_of_findings)
    }

    assert {} == {key: words for key, words in said.items() if words}


def test_german_addresses_nobody_by_sie():
    addressed = re.compile(r"(?<=[a-zäöüß,;] )(?:Ihnen|Ihre?[nmrs]?|Sie)\b")

    assert {} == {k: text for k, text in Words("de").own().items() if addressed.search(text)}


# RFC 4647, 3.4: lookup leaves out the last part of a tag until something fits.
@pytest.mark.parametrize(
    ("tags", "language"),
    [((), "en"), (("de-AT",), "de"), (("DE",), "de"), (("fr", "de"), "de"), (("*",), "en")],
)
def test_the_language_is_that_of_the_first_tag_that_fits(tags, language):
    assert language_for(tags) == language
