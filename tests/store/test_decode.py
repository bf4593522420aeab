from __future__ import annotations

import hashlib
import json
import time
from dataclasses import replace

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from bench.core.bounds import BadEntry
from bench.core.entries import BODIES, Draft, Entry, PhotoKept, UndercutRead, Unknown
from bench.core.wire import canonical, document, seal
from bench.store.decode import decode
from bench.store.intake import accept
from tests import strategies

READING = Draft(
    UndercutRead(34, "MB", 0.25, "both", 1.5), "AB", "22222222", strategies.entry_id(1, 1)
)


def stored_with(**changes: object) -> bytes:
    """Return a stored reading with some of its fields changed."""
    entry, _ = strategies.chained("tablet-1", [READING])[0]
    return canonical({**document(entry), **changes})  # type: ignore[dict-item]


@given(strategies.entries())
def test_a_sealed_entry_is_read_back_equal(made: tuple[Entry, bytes]) -> None:
    entry, stored = made

    assert entry == decode(stored)


@given(strategies.entries())
def test_what_was_read_seals_to_the_same_bytes(made: tuple[Entry, bytes]) -> None:
    entry, stored = made

    assert (entry, stored) == seal(replace(decode(stored), digest=""))


# Source: RFC 8785 as the `rfc8785` library writes it.
@given(strategies.entries())
def test_canonical_bytes_are_those_of_rfc_8785(made: tuple[Entry, bytes]) -> None:
    entry, stored = made

    assert rfc8785.dumps(document(entry)) == stored  # type: ignore[arg-type]


@pytest.mark.parametrize("kind", BODIES)
def test_every_kind_has_a_strategy(kind: type) -> None:
    assert kind in strategies.BODY_OF


def test_a_photo_kept_before_lenses_were_stated_is_read_and_keeps_its_digest() -> None:
    body = {
        "about": None, "height_px": 48, "media_type": "image/jpeg", "sha256": "a" * 64,
        "shows": "cast", "width_px": 64,
    }  # fmt: skip
    stored = stored_with(kind="photo_kept", body=body)

    entry = decode(stored)

    assert PhotoKept("a" * 64, "image/jpeg", 64, 48, "cast") == entry.body
    assert entry == accept(stored)
    assert hashlib.sha256(stored).hexdigest() == entry.digest


def test_an_unknown_kind_is_kept_to_the_letter() -> None:
    stored = stored_with(kind="wax_tried", body={"b": [1e-07, 1.5], "a": "é"})

    entry = decode(stored)

    assert ("wax_tried", Unknown('{"a":"é","b":[1e-07,1.5]}')) == (entry.kind, entry.body)


@pytest.mark.parametrize(
    "body",
    [{"tooth": 99}, {"tooth": 34, "surface": "MB", "gauge_mm": 9, "contact": "both"}, [], 7, None],
)
def test_a_body_that_breaks_its_bounds_is_read_as_unknown(body: object) -> None:
    entry = decode(stored_with(body=body))

    assert Unknown(json.dumps(body, separators=(",", ":"), sort_keys=True)) == entry.body


def test_a_newer_wire_version_is_read_as_unknown() -> None:
    assert isinstance(decode(stored_with(v=2)).body, Unknown)


@pytest.mark.parametrize("stored", [b"", b"{}", b"[1]", b"\xff", b"[" * 9000, b'{"v":1}', b"null"])
def test_bytes_without_a_header_are_refused(stored: bytes) -> None:
    with pytest.raises(BadEntry) as caught:
        decode(stored)

    assert "unreadable" == caught.value.code


@given(st.binary(max_size=300))
def test_no_bytes_are_met_with_another_error(stored: bytes) -> None:
    with pytest.raises(BadEntry):
        decode(stored)


def test_ten_thousand_entries_are_read_in_well_under_a_second() -> None:
    chain = [stored for _, stored in strategies.chained("tablet-1", [READING] * 10_000)]

    start = time.process_time()
    for stored in chain:
        decode(stored)
    taken_s = time.process_time() - start

    assert taken_s < 1.0
