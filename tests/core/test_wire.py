"""Canonical bytes: RFC 8785 JSON, compared with another implementation of it, and their digests."""

from __future__ import annotations

import hashlib
import json
import string
from dataclasses import replace

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from bench.core.bounds import BadEntry
from bench.core.entries import Entry, SettingTaken, Unknown
from bench.core.wire import WIRE_VERSION, body_document, canonical, digest_of, document, plain, seal
from tests.core.bench_story import a_ready_cast, lab_at_work

names = st.text(string.ascii_letters + string.digits + "_", min_size=1, max_size=12)
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
fractions = st.floats(-1e9, 1e9, exclude_min=True, exclude_max=True).map(plain)
wholes = st.integers(-(2**53) + 1, 2**53 - 1)
documents = st.recursive(
    st.none() | st.booleans() | wholes | fractions | texts,
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(names, inner, max_size=5),
    max_leaves=25,
)


@given(documents)
def test_documents_are_written_as_rfc_8785_wants(value: object) -> None:
    assert rfc8785.dumps(value) == canonical(value)  # type: ignore[arg-type]


@given(documents)
def test_what_is_written_is_read_back_as_it_was(value: object) -> None:
    assert value == json.loads(canonical(value))  # type: ignore[arg-type]


@given(st.dictionaries(names, fractions, min_size=2, max_size=8))
def test_the_order_of_names_does_not_matter(value: dict[str, int | float]) -> None:
    turned = dict(reversed(value.items()))

    assert canonical(value) == canonical(turned)  # type: ignore[arg-type]


@pytest.mark.parametrize("entry", [*lab_at_work(), *a_ready_cast().entries], ids=lambda e: e.kind)
def test_every_entry_of_a_case_is_written_as_rfc_8785_wants(entry: Entry) -> None:
    assert rfc8785.dumps(document(entry)) == seal(entry)[1]  # type: ignore[arg-type]


# That -0 is written 0 and whole numbers without a point: RFC 8785, section 3.2.2.3.
@pytest.mark.parametrize(
    ("value", "written"),
    [
        (2.5, b"2.5"),
        (0.00004, b"0"),
        (0.00006, b"0.0001"),
        (123456789.12346, b"123456789.1235"),
        (-0.0, b"0"),
        (3.0, b"3"),
        (1e8, b"100000000"),
        (True, b"true"),
    ],
)
def test_numbers_have_four_decimals_and_no_needless_sign(value: float, written: bytes) -> None:
    assert written == canonical(plain(value))


@pytest.mark.parametrize("value", [1e9, -1e9, float("inf"), float("-inf"), float("nan")])
def test_a_number_beyond_the_limits_is_refused(value: float) -> None:
    with pytest.raises(BadEntry) as caught:
        plain(value)

    assert caught.value.code == "out_of_range"


def test_a_value_json_does_not_know_is_refused() -> None:
    with pytest.raises(TypeError, match="set has no canonical form"):
        plain({1})


def a_setting() -> Entry:
    return Entry(
        id="019b8d0c-0000-7000-8000-000000000001", kind="setting_taken",
        body=SettingTaken(3.0, -1.25, "T1", 0.5), person="AM", device="bench",
        at="2026-01-05T08:00:00.000Z", seq=7, prev="", case="2222EV9H",
        setting="019b8d0c-0000-7000-8000-000000000000", reason="für den Steg",
    )  # fmt: skip


PINNED = (
    '{"at":"2026-01-05T08:00:00.000Z","body":{"ap_deg":3,"instrument":"T1","lat_deg":-1.25,'
    '"resolution_deg":0.5},"case":"2222EV9H","device":"bench",'
    '"id":"019b8d0c-0000-7000-8000-000000000001","kind":"setting_taken","person":"AM","prev":"",'
    '"reason":"für den Steg","seq":7,"setting":"019b8d0c-0000-7000-8000-000000000000",'
    '"supersedes":[],"v":1}'
)


def test_one_entry_is_written_to_the_letter_as_ever() -> None:
    entry, stored = seal(a_setting())

    assert PINNED.encode() == stored
    assert entry.digest == "f7d85e4d80b3340d940e798733dcc41109553249fc2c4a988de10fd4c425c116"
    assert WIRE_VERSION == 1


def test_the_digest_is_sha_256_of_the_stored_bytes() -> None:
    # SHA-256 of nothing: FIPS 180-4 examples
    assert digest_of(b"") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    assert hashlib.sha256(PINNED.encode()).hexdigest() == seal(a_setting())[0].digest


def test_a_digest_does_not_cover_itself() -> None:
    assert seal(a_setting()) == seal(seal(a_setting())[0])


@pytest.mark.parametrize("field", ["person", "device", "at", "prev", "reason", "kind"])
def test_a_change_of_any_field_changes_the_digest(field: str) -> None:
    changed = replace(a_setting(), **{field: "other"})

    assert seal(a_setting())[0].digest != seal(changed)[0].digest


def test_a_body_of_an_unknown_kind_is_written_as_it_was_received() -> None:
    body = Unknown('{"shade":"A\\u0033","steps":[1,2.5,null]}')

    assert body_document(body) == {"shade": "A3", "steps": [1, 2.5, None]}
