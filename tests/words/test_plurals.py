"""Words chosen by a number, and that no sentence of the catalogue reads wrongly at one."""

from __future__ import annotations

import re
from string import Formatter

import pytest

from bench.words import Words, languages
from bench.words.plurals import ASKING, filled

# Names under which the catalogue is given whole numbers; seconds are mostly set by the code.
COUNTED = {
    *(
        "casts",
        "cases",
        "count",
        "days",
        "devices",
        "entries",
        "have",
        "judged",
        "labels",
        "length",
    ),
    *("missing", "need", "photos", "readings", "repeats", "spare", "taken", "wanted"),
    "years",
}
# "1 of" and "1 stands" read well.
ONE_THEN_MANY = re.compile(
    r"\b1 (?:(?!of )[a-z-]+ )?(?!(?:is|was|lies|drifts|fights|needs|stands)\b)[a-z-]+s\b"
)
# Sentences that are said only of two or more, or of a number that the code sets.
NEVER_OF_ONE = {
    "board.group.count_most": "as many as are counted at most",
    "board.group.more": "more than the column shows",
    "board.pages.now": "more than a page",
    "board.pages.now_most": "more than a page",
    "camera.hint.marks.many": "more than three",
    "cli.many_sheets": "more than one",
    "labels.refused.many.what": "more than a file holds",
    "labels.typed.length.why": "eight",
}


def choices(sentence: str) -> list[tuple[str, list[str]]]:
    """Return the gaps of a sentence that choose a word: the number's name and the words."""
    parts = Formatter().parse(sentence)
    return [(name, form.split("|")) for _, name, form, _ in parts if name and "|" in (form or "")]


def test_a_word_is_chosen_by_a_number():
    sentence = "{count} {count:case is|cases are} open"

    told = [filled(sentence, "en", {"count": count}) for count in (0, 1, 2, 101)]

    assert ["0 cases are open", "1 case is open", "2 cases are open", "101 cases are open"] == told


# Unicode CLDR, Language Plural Rules, English and German: one is i = 1 and v = 0.
@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize(
    ("number", "word"), [(1, "a"), ("1", "a"), ("1.0", "b"), (1.5, "b"), (0, "b")]
)
def test_one_is_a_written_one_without_decimals(language, number, word):
    assert word == filled("{n:a|b}", language, {"n": number})


def test_a_chosen_word_may_hold_the_number_itself():
    sentence = "{count:The one|All {count}}"

    assert "The one" == filled(sentence, "en", {"count": 1})
    assert "All 3" == filled(sentence, "en", {"count": 3})


def test_the_catalogue_chooses_words():
    assert "1 site read twice, 1 more needed" == Words("en").say(
        "audit.missing.subjects", have=1, count=1
    )
    assert "1 Stelle zweimal gemessen, 1 fehlt noch" == Words("de").say(
        "audit.missing.subjects", have=1, count=1
    )


def test_every_language_says_what_its_numbers_ask_for():
    assert set(languages()) == set(ASKING)


@pytest.mark.parametrize("language", languages())
def test_every_choice_has_a_word_for_every_number(language):
    wanted = len(ASKING[language]) + 1
    wrong = {
        key: words
        for key, sentence in Words(language).own().items()
        for _, words in choices(sentence)
        if len(words) != wanted
    }

    assert {} == wrong


@pytest.mark.parametrize("language", languages())
def test_a_choice_is_made_by_a_number_that_the_sentence_is_given(language):
    english = Words("en").own()
    unknown = {
        key: name
        for key, sentence in Words(language).own().items()
        for name, _ in choices(sentence)
        if f"{{{name}}}" not in english[key]
    }

    assert {} == unknown


@pytest.mark.parametrize("language", languages())
def test_words_for_scripts_are_whole_sentences_for_each_number(language):
    # static/js/says.js fills names only; a number of its own has a sentence of its own, `key_1`.
    own = Words(language).own()

    assert [] == [key for key in own if key.startswith("strip.") and choices(own[key])]


def test_no_one_stands_before_a_word_for_many():
    words = Words("en")
    sentences = {key: one for key, one in words.own().items() if not key.endswith("_1")}
    told = {key: words.say(key, **of_one(one)) for key, one in sentences.items()}
    wrong = {key: one for key, one in told.items() if ONE_THEN_MANY.search(one)}
    own_for_one = {key for key in wrong if words.has(f"{key}_1")}

    assert sorted(NEVER_OF_ONE) == sorted(wrong.keys() - own_for_one)


def of_one(sentence: str) -> dict[str, object]:
    """Return what fills a sentence: one of everything counted, and a letter for the rest."""
    names = {name for _, name, _, _ in Formatter().parse(sentence) if name}
    return {name: 1 if name in COUNTED else "x" for name in names}
