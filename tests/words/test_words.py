from __future__ import annotations

import pytest

from bench.words import Words, languages


def test_a_key_is_room_then_tables():
    assert Words("en").say("labels.arch.upper") == "Upper arch"


def test_words_are_filled_from_what_is_passed():
    assert Words("en").say("labels.case", number="2417") == "Case 2417"


def test_braces_in_what_is_passed_stay_as_they_are():
    assert Words("en").say("labels.case", number="{number}") == "Case {number}"


@pytest.mark.parametrize("key", ["labels.nothing", "labels.arch", "nowhere.at.all"])
def test_a_missing_key_is_named(key):
    words = Words("en")

    assert not words.has(key)
    with pytest.raises(KeyError, match=key):
        words.say(key)


def test_every_key_listed_has_words():
    words = Words("en")

    assert words.keys()
    assert all(words.has(key) for key in words.keys())  # noqa: SIM118


def test_an_unknown_language_is_named():
    assert "en" in languages()
    with pytest.raises(KeyError, match="xx"):
        Words("xx")


def test_a_language_lends_from_the_first_one_what_it_lacks():
    german = Words("de")

    assert set(german.keys()) == set(Words("en").keys())
    assert german.own()["display.go"] == german.say("display.go") != Words("en").say("display.go")


def test_a_language_is_read_once():
    assert Words("en")._sentences is Words("en")._sentences
