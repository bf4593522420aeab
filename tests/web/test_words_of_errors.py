from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path
from string import Formatter

import pytest

from bench.core.entries import BODIES, KINDS
from bench.core.policy import NUMBERS, items
from bench.core.steps import STEPS
from bench.core.tripod import TripodRefused
from bench.store.credentials import LEAST_DIGITS, MOST_DIGITS
from bench.web.display import CHOICES
from bench.web.trouble import STATUSES
from bench.words import Words

ROOT = Path(__file__).parents[2] / "bench"
WORDS = Words("en")
SOURCES = "\n".join(
    path.read_text("utf-8")
    for room in ("core", "store", "web")
    for path in sorted((ROOT / room).rglob("*.py"))
)
CODES = sorted(
    set(re.findall(r'BadEntry\(\s*[^()]*?,\s*f?"([a-z_]+)"', SOURCES))
    | set(re.findall(r'bounds\.pattern\([^()]*(?:\([^()]*\)[^()]*)*"(bad_[a-z]+)"', SOURCES))
    | {code.code for code in TripodRefused.__subclasses__()}
)


def test_the_codes_are_found():
    assert {"missing", "out_of_range", "bad_initials", "bad_tag", "setting_has_changed"} <= set(
        CODES
    )
    assert {"bad_code", "collinear_marks", "no_triangle", "wrong_pin", "not_a_choice"} <= set(CODES)
    assert len(CODES) > 50


@pytest.mark.parametrize("code", CODES)
def test_every_refusal_has_words(code):
    assert WORDS.has(f"errors.entry.{code}")


@pytest.mark.parametrize("code", ["not_digits", "length", "same_digit", "run", "repeat", "year"])
def test_every_weak_pin_is_told_why(code):
    words = WORDS.say(f"errors.entry.pin_{code}", least=LEAST_DIGITS, most=MOST_DIGITS)

    assert words


def test_every_field_has_a_name_in_words():
    names = {field.name for body in BODIES for field in fields(body)}
    around = {"case", "setting", "supersedes", "reason", "entry_id", "pin", "pin_again", "pin_now"}

    assert [name for name in sorted(names | around) if not WORDS.has(f"fields.{name}")] == []


def test_every_field_that_code_refuses_by_name_has_a_name_in_words():
    named = set(re.findall(r'BadEntry\(\s*"([a-z_0-9]+)"', SOURCES))

    assert [name for name in sorted(named) if not WORDS.has(f"fields.{name}")] == []


@pytest.mark.parametrize("status", STATUSES)
def test_every_failed_page_says_what_why_and_what_to_do(status):
    for part in ("what", "why", "todo"):
        assert WORDS.say(f"errors.page.{status}.{part}")


def test_every_why_that_a_page_gives_has_words():
    given = set(re.findall(r'abort\(\d+, "([a-z_]+)"\)', SOURCES))
    given |= set(re.findall(r'NotAllowed\("([a-z_]+)"\)', SOURCES))

    assert given
    assert [code for code in sorted(given) if not WORDS.has(f"errors.why.{code}")] == []


def test_every_item_of_the_policy_has_words():
    assert [item for item in items() if not WORDS.has(f"policy.item.{item}")] == []
    assert all(WORDS.has(f"policy.unit.{number.unit}") for number in NUMBERS.values())


def test_every_kind_of_entry_and_every_step_has_words():
    assert [kind for kind in KINDS if not WORDS.has(f"recorded.kind.{kind}")] == []
    assert [step for step in STEPS if not WORDS.has(f"rail.{step}.title")] == []


def test_every_choice_of_display_has_words():
    for name, choices in CHOICES.items():
        assert WORDS.say(f"display.group.{name}")
        assert all(WORDS.say(f"display.{name}.{choice}") for choice in choices)


def test_no_sentence_of_a_refusal_asks_for_a_figure_nobody_gives():
    known = {"field", "value", "low", "high", "unit", "choices", "most", "least", "arch", "number"}
    known |= {"person", "total_deg", "count", "seconds", "initials", "misfit_mm"}
    known |= {"other", "camera_mm", "dh_mm"}
    asked = {
        name
        for key, text in WORDS._sentences.items()
        if key.startswith("errors.entry.")
        for _, name, _, _ in Formatter().parse(text)
        if name
    }

    assert asked <= known
