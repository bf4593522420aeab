"""Names of things: the code printed on a label and the time-ordered id of an entry."""

from __future__ import annotations

import re
from collections.abc import Mapping

CODE_ALPHABET = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
CODE_LENGTH = 8
CODES = len(CODE_ALPHABET) ** (CODE_LENGTH - 1)
RANDOM_BITS = 74

_BASE = len(CODE_ALPHABET)
_VALUE_OF = {letter: value for value, letter in enumerate(CODE_ALPHABET)}
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 1)
_HYPHENS = "-\u00ad\u2010\u2011\u2012\u2013\u2014\u2015\u2212"
_TIME_LIMIT_MS = 1 << 48
_ENTRY_ID = re.compile(
    "[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}", re.ASCII
)
_LONGEST_ADDRESS = 400
_ADDRESS = re.compile(
    r"HTTPS?://[^/\\?#\s]+(?:/[^/\\?#\s]+)*/C/([^/\\?#\s]+)/?(?:[?#]\S*)?", re.ASCII
)


class BadCode(ValueError):
    """Text that is no label code; `code` is 'foreign', 'length' or 'check'.

    The words for what, why and what to do are `labels.typed.<code>`, filled from `params`:
    `typed` always; 'foreign' adds `character`; 'length' adds `length` and `wanted`.
    """

    def __init__(self, code: str, params: Mapping[str, str | int]) -> None:
        super().__init__(code, dict(params))
        self.code = code
        self.params = dict(params)


def _weighted_sum(letters: str) -> int:
    pairs = zip(_WEIGHTS, letters, strict=False)
    return sum(weight * _VALUE_OF[letter] for weight, letter in pairs) % _BASE


def case_code(number: int) -> str:
    """Return the label code of a number in 0..CODES-1: seven data characters and a check character.

    With letter values c1..c8 (0-30) and weights w = 8, 7, ..., 1, the check character makes
    w1*c1 + ... + w8*c8 = 0 mod 31. One mistyped character changes the sum by wi*d with
    0 < |d| < 31; 31 is prime and wi is no multiple of it, so the sum cannot stay 0. Swapping
    characters i and j changes it by (wi - wj)*(cj - ci): both factors lie between -30 and 30
    and neither is 0 when the characters differ, so it cannot stay 0 either. Hence every single
    mistyped character and every swap of two different characters, next to each other or not,
    is caught.

    Raises ValueError outside the range.
    """
    if not 0 <= number < CODES:
        raise ValueError(f"a label code holds a number from 0 to {CODES - 1}, not {number}")
    data = ""
    for _ in range(CODE_LENGTH - 1):
        number, value = divmod(number, _BASE)
        data = CODE_ALPHABET[value] + data
    return data + CODE_ALPHABET[-_weighted_sum(data) % _BASE]


def number_of_code(code: str) -> int:
    """Return the number a label code was made from; raise BadCode when it is no label code."""
    number = 0
    for letter in code_from_typed(code)[:-1]:
        number = number * _BASE + _VALUE_OF[letter]
    return number


def code_from_typed(text: str) -> str:
    """Return the label code a person typed, in upper case and without spaces and hyphens.

    Raises BadCode for a character no code contains, a wrong length, or a check character that
    does not fit. Only A-Z are upper-cased, so that no foreign letter turns into two of ours.
    """
    kept = [letter for letter in text if not letter.isspace() and letter not in _HYPHENS]
    code = "".join(letter.upper() if letter.isascii() else letter for letter in kept)
    typed = text.strip()[:40]
    for letter in code:
        if letter not in _VALUE_OF:
            raise BadCode("foreign", {"typed": typed, "character": letter})
    if len(code) != CODE_LENGTH:
        raise BadCode("length", {"typed": typed, "length": len(code), "wanted": CODE_LENGTH})
    if _weighted_sum(code):
        raise BadCode("check", {"typed": typed})
    return code


def code_from_scan(text: str) -> str | None:
    """Return the label code in text that a camera read, or None when it is not one of ours.

    Ours are the plain code and any web address, whatever its host, whose path ends in /C/<code>.
    """
    shown = text.strip()
    if len(shown) > _LONGEST_ADDRESS:
        return None
    address = _ADDRESS.fullmatch(shown.upper())
    try:
        return code_from_typed(address[1] if address else shown)
    except BadCode:
        return None


def shown_code(code: str) -> str:
    """Return a label code as people read it: two groups of four."""
    return f"{code[:4]}-{code[4:]}"


def entry_id(at_ms: int, random_bits: int) -> str:
    """Return the time-ordered id of an entry: a UUID version 7 in lower-case text.

    `at_ms` is Unix time in milliseconds (48 bits), `random_bits` an integer of 74 bits; ids made
    at different milliseconds sort as text in the order of their times. Raises ValueError outside
    those ranges. Source: RFC 9562, section 5.7 (unix_ts_ms, ver, rand_a, var, rand_b).
    """
    if not 0 <= at_ms < _TIME_LIMIT_MS:
        raise ValueError(f"an entry id holds a time from 0 to {_TIME_LIMIT_MS - 1} ms, not {at_ms}")
    if not 0 <= random_bits < 1 << RANDOM_BITS:
        raise ValueError(f"an entry id takes {RANDOM_BITS} random bits")
    rand_a, rand_b = divmod(random_bits, 1 << 62)
    digits = f"{at_ms << 80 | 7 << 76 | rand_a << 64 | 2 << 62 | rand_b:032x}"
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))


def is_entry_id(text: str) -> bool:
    """Say whether text is an entry id: a UUID version 7 in lower case with its four hyphens."""
    return _ENTRY_ID.fullmatch(text) is not None


def time_of_entry_id_ms(text: str) -> int:
    """Return the Unix time in milliseconds held in an entry id; raise ValueError for other text."""
    if not is_entry_id(text):
        raise ValueError("this is no entry id: a UUID version 7 in lower case is wanted")
    return int(text[:8] + text[9:13], 16)
