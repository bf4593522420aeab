from __future__ import annotations

import random
import uuid
from datetime import datetime
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.ids import (
    CODE_ALPHABET,
    CODES,
    BadCode,
    case_code,
    code_from_scan,
    code_from_typed,
    entry_id,
    is_entry_id,
    number_of_code,
    shown_code,
    time_of_entry_id_ms,
)
from tests.facts import uuid7

numbers = st.integers(0, CODES - 1)
times_ms = st.integers(0, 2**48 - 1)
random_bits = st.integers(0, 2**74 - 1)


def refusal_of(text: str) -> BadCode:
    with pytest.raises(BadCode) as caught:
        code_from_typed(text)
    return caught.value


def many_codes() -> list[str]:
    dice = random.Random(31)
    return [case_code(dice.randrange(CODES)) for _ in range(300)]


def test_the_alphabet_leaves_out_what_is_misread():
    assert 31 == len(set(CODE_ALPHABET)) == len(CODE_ALPHABET)
    assert not set("01ILO") & set(CODE_ALPHABET)


def test_every_single_mistyped_character_is_caught():
    for code in many_codes():
        for place, right in enumerate(code):
            for wrong in set(CODE_ALPHABET) - {right}:
                mistyped = code[:place] + wrong + code[place + 1 :]

                assert "check" == refusal_of(mistyped).code


def test_every_swap_of_two_characters_is_caught():
    for code in many_codes():
        for i, j in combinations(range(8), 2):
            letters = list(code)
            letters[i], letters[j] = letters[j], letters[i]
            swapped = "".join(letters)

            assert swapped == code or "check" == refusal_of(swapped).code


@given(numbers)
def test_a_code_gives_its_number_back(number):
    code = case_code(number)

    assert number == number_of_code(code)


@given(numbers)
def test_a_code_may_be_typed_small_and_with_spaces_and_hyphens(number):
    code = case_code(number)

    assert code == code_from_typed(f" {shown_code(code).lower()} \u2013 ")
    assert code == code_from_typed(" ".join(code))


@pytest.mark.parametrize("number", [-1, CODES])
def test_a_number_that_fits_no_code_is_refused(number):
    with pytest.raises(ValueError, match="label code"):
        case_code(number)


def test_a_short_code_is_refused_with_both_lengths():
    refusal = refusal_of("K7Q2-M4X")

    assert "length" == refusal.code
    assert {"typed": "K7Q2-M4X", "length": 7, "wanted": 8} == refusal.params


@pytest.mark.parametrize("letter", ["0", "1", "I", "L", "O", "\u00df", "\u0131", "\uff17", "/"])
def test_a_foreign_character_is_named(letter):
    refusal = refusal_of("K7Q2-M4X" + letter)

    assert "foreign" == refusal.code
    assert letter == refusal.params["character"]


def test_a_code_is_shown_in_two_groups():
    assert "K7Q2-M4XD" == shown_code("K7Q2M4XD")


@given(st.text())
def test_typed_text_is_a_code_or_a_bad_code(text):
    try:
        outcome = case_code(number_of_code(text))
    except BadCode as refusal:
        outcome = refusal.code

    assert outcome in {"foreign", "length", "check"} or outcome == code_from_typed(text)


@pytest.mark.parametrize(
    "form",
    [
        "{code}",
        "HTTP://127.0.0.1:8480/C/{code}",
        "https://bench.example/c/{code}/",
        "HTTPS://[::1]:8480/C/{code}",
        "http://hub.example/lab/c/{code}?from=photo#top",
    ],
)
def test_a_scanned_address_gives_its_code_whatever_the_host(form):
    code = case_code(123_456_789)

    assert code == code_from_scan(form.format(code=code))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "https://shop.example/",
        "WIFI:S:BENCH;T:WPA;P:SECRET;;",
        "HTTP://127.0.0.1:8480/C/K7Q2M4XX",
        "HTTP://127.0.0.1:8480/D/{code}",
        "MAILTO:/C/{code}",
        "HTTP:///C/{code}",
        "HTTP://A/C/{code}/MORE",
        "HTTP://A/C/{code}" + "?" + "X" * 400,
    ],
)
def test_scanned_text_that_is_not_ours_gives_no_code(text):
    assert code_from_scan(text.format(code=case_code(5))) is None


def test_the_published_example_of_a_time_ordered_id():
    bits = uuid7.RAND_A << 62 | uuid7.RAND_B
    moment_ms = int(datetime.fromisoformat(uuid7.MOMENT).timestamp() * 1000)

    made = entry_id(moment_ms, bits)

    assert uuid7.UNIX_TS_MS == moment_ms
    assert uuid7.TEXT.lower() == made


@given(times_ms, random_bits)
def test_an_entry_id_is_a_version_7_uuid_that_keeps_its_time(at_ms, bits):
    text = entry_id(at_ms, bits)

    assert (7, uuid.RFC_4122) == (uuid.UUID(text).version, uuid.UUID(text).variant)
    assert is_entry_id(text)
    assert at_ms == time_of_entry_id_ms(text)


@given(times_ms, random_bits, times_ms, random_bits)
def test_entry_ids_sort_as_their_times_do(first_ms, first_bits, second_ms, second_bits):
    first, second = entry_id(first_ms, first_bits), entry_id(second_ms, second_bits)

    assert ((first_ms, first_bits) < (second_ms, second_bits)) == (first < second)


@pytest.mark.parametrize(("at_ms", "bits"), [(-1, 0), (2**48, 0), (0, -1), (0, 2**74)])
def test_a_time_or_chance_out_of_range_is_refused(at_ms, bits):
    with pytest.raises(ValueError, match="entry id"):
        entry_id(at_ms, bits)


@pytest.mark.parametrize(
    "text",
    [
        "",
        uuid7.TEXT,
        uuid7.TEXT.lower() + "\n",
        uuid7.TEXT.lower().replace("-", ""),
        "017f22e2-79b0-4cc3-98c4-dc0c0c07398f",
        "017f22e2-79b0-7cc3-18c4-dc0c0c07398f",
    ],
)
def test_other_text_is_no_entry_id(text):
    assert not is_entry_id(text)
    with pytest.raises(ValueError, match="no entry id"):
        time_of_entry_id_ms(text)
