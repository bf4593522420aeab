"""The protocol as its document has it, spoken over TLS by a client that shares no code with the bench."""

from __future__ import annotations

import json
import time

import pytest

from bench.core.drills import drills_from
from bench.core.entries import (
    CaseOpened,
    DeviceRevoked,
    Draft,
    DrillPlanned,
    InstrumentAdded,
    PersonAdded,
)
from bench.core.ids import case_code
from bench.pictures.ingest import take_in
from bench.sync import pairing
from tests.lan.served import served
from tests.pictures import files
from tests.sync.plainclient import PlainClient
from tests.sync.sealing import remade, sha256_hex

CODE = case_code(4711)


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    with served(tmp_path_factory.mktemp("plain")) as held:
        for draft in (
            Draft(PersonAdded("SUP", "supervisor"), "SUP"),
            Draft(PersonAdded("TEC", "technician"), "SUP"),
            Draft(CaseOpened(CODE, "26-0001", "lower", "master"), "SUP", case=CODE),
        ):
            say(held, draft)
        yield held


def now_ms():
    return time.time_ns() // 1_000_000


def say(bench, draft):
    bits = bench.app.extensions["clock"].random_bits
    log = bench.app.extensions["log"]
    return log.record([draft], now_ms=now_ms(), random_bits=lambda: bits(74))[0]


@pytest.fixture
def client(bench):
    """A client that has paired with a code from a supervisor."""
    made = PlainClient(bench.settings.port, bench.trusting())
    digits = pairing.offer(bench.app.extensions["log"], "SUP", now_ms())
    assert made.pair(digits)[0] == 200
    return made


def rest(client, tooth, **fields):
    body = {"tooth": tooth, "seat": "mesial"}
    return client.own.seal("rest_wished", body, now_ms(), **{"case": CODE, **fields})


def test_a_device_is_named_for_its_key_and_told_the_epoch(bench):
    client = PlainClient(bench.settings.port, bench.trusting())
    digits = pairing.offer(bench.app.extensions["log"], "SUP", now_ms())

    status, answer = client.pair(digits)

    assert status == 200
    assert answer["device"] == client.own.device
    assert set(answer) == {"device", "epoch", "bench"}


def test_what_is_pushed_is_receipted_by_id_and_digest_and_read_back_to_the_letter(client):
    texts = [rest(client, tooth) for tooth in (34, 35, 44)]

    status, answer = client.push(texts, unsent=0)
    _, again = client.push(texts)
    _, cursors = client.signed("GET", "/sync/cursors")
    _, after = client.signed("GET", f"/sync/after?device={client.own.device}&seq=1&limit=10")

    assert status == 200
    assert [(one["id"], one["digest"], one["verdict"]) for one in answer["receipts"]] == [
        (json.loads(text)["id"], sha256_hex(text.encode()), "stored") for text in texts
    ]
    assert [one["verdict"] for one in again["receipts"]] == ["already"] * 3
    assert cursors["cursors"][client.own.device] == answer["cursor"]
    assert answer["cursor"] == {"seq": 3, "digest": sha256_hex(texts[-1].encode())}
    assert after["entries"] == texts[1:]


def test_every_kind_a_tablet_may_state_says_its_fields(client):
    _, kinds = client._asked("GET", "/sync/kinds", b"", {})

    assert kinds["rest_wished"] == {"tooth": "whole", "seat": "text"}
    assert "released" not in kinds


def test_an_entry_that_was_refused_is_left_out_and_the_rest_sealed_anew(client):
    wrong, right = rest(client, 99), rest(client, 36)
    _, answer = client.push([wrong, right])
    anew = remade(right, seq=1, prev="")

    _, second = client.push([anew])

    assert [one["code"] for one in answer["receipts"]] == ["no_such_tooth", "gap"]
    assert answer["cursor"] == {"seq": 0, "digest": ""}
    assert second["receipts"][0]["verdict"] == "stored"


# With what the camera stated of its lens, as a client says it that knows of it, and without.
@pytest.mark.parametrize(("piece", "lens"), [(1000, {}), (10**7, {"focal_px": 51.8})])
def test_a_photo_is_sent_in_pieces_and_named_by_an_entry(client, bench, piece, lens):
    photo = take_in(files.saved(files.four_corners())).original_bytes
    body = {"sha256": sha256_hex(photo), "media_type": "image/jpeg", "width_px": 64, "height_px": 48,
            "shows": "cast", "about": None, **lens}  # fmt: skip

    _, first = client.push([client.own.seal("photo_kept", body, now_ms(), case=CODE)])
    client.send_photo(photo, piece)

    assert first["receipts"][0]["verdict"] == "stored"
    assert client.held(photo) is None


def test_who_is_not_known_or_no_longer_is_turned_away(client, bench):
    stranger = PlainClient(bench.settings.port, bench.trusting())
    stranger.epoch = client.epoch
    lost = rest(client, 34)
    revoked = Draft(DeviceRevoked(client.own.device), "SUP", reason="left in the van")
    say(bench, revoked)

    answers = stranger.push([]), client.push([lost]), client.signed("GET", "/sync/cursors")

    assert [(status, said["code"]) for status, said in answers] == [
        (401, "unknown_device"), (403, "revoked"), (403, "revoked"),
    ]  # fmt: skip


def test_an_unknown_device_that_sends_much_hears_why_it_is_turned_away(bench):
    stranger = PlainClient(bench.settings.port, bench.trusting())

    answers = (
        stranger.push(["x" * 900_000]),
        stranger.signed("PUT", f"/sync/photo/{'0' * 64}", bytes(4_000_000)),
    )

    assert [(status, said["code"]) for status, said in answers] == [(401, "unknown_device")] * 2


def test_too_much_at_once_is_refused_whole(client):
    many, heavy = client.push(["{}"] * 501), client.push(["x" * 1_000_000])

    assert [(status, said["code"]) for status, said in (many, heavy)] == [(413, "oversize")] * 2


def test_an_epoch_of_before_is_told_the_new_one_and_from_where_to_send_again(client):
    text = rest(client, 34)
    client.push([text])
    known, client.epoch = client.epoch, "0" * 16

    status, answer = client.push([text])
    reading, _ = client.signed("GET", "/sync/cursors")

    assert (status, answer["code"], answer["epoch"]) == (409, "other_epoch", known)
    assert answer["cursor"] == {"seq": 1, "digest": sha256_hex(text.encode())}
    assert reading == 409


def test_what_is_said_of_the_lab_has_no_case_and_neither_has_the_note_beside_it(client, bench):
    say(bench, Draft(InstrumentAdded("G1", "gauge", 0.25), "SUP"))
    body = {"tag": "G1", "passed": True, "reading": 0.26, "reference": 0.25, "unit": "mm",
            "remark": ""}  # fmt: skip
    check = client.own.seal("instrument_checked", body, now_ms())
    key = json.loads(check)["id"]
    said = {"check": key, "uncertainty_mm": 0.01, "uncertainty_deg": None}
    texts = [
        check,
        client.own.seal("uncertainty_stated", said, now_ms()),
        client.own.seal("person_unconfirmed", {"entries": [key]}, now_ms()),
        client.own.seal("instrument_checked", body, now_ms(), supersedes=[key], reason="again"),
    ]

    _, kinds = client._asked("GET", "/sync/kinds", b"", {})
    _, answer = client.push(texts)

    gauge = bench.app.extensions["log"].lab().instruments["G1"]
    assert kinds["uncertainty_stated"] == {
        "check": "text", "uncertainty_mm": "number?", "uncertainty_deg": "number?",
    }  # fmt: skip
    assert [one["verdict"] for one in answer["receipts"]] == [*["stored"] * 3, "refused"]
    assert answer["receipts"][3]["code"] == "only_at_the_bench"
    assert [(), key] == [gauge.checks, gauge.unproved[0].id]


def test_a_reading_of_a_drill_is_taken_and_only_the_first_of_a_turn_counts(client, bench):
    plan = say(bench, Draft(DrillPlanned("distance", ("P",), ("TEC",), 2, 8), "SUP"))
    body = {"drill": plan.id, "turn": 1, "cast": "P", "contact": "", "instrument": ""}
    texts = [
        client.own.seal("drill_reading", {**body, "values_mm": [mm]}, now_ms() + n)
        for n, mm in enumerate((40, 41))
    ]

    _, answer = client.push(texts)

    drill = drills_from(bench.app.extensions["log"].lab_entries())[plan.id]
    assert [one["verdict"] for one in answer["receipts"]] == ["stored"] * 2
    assert drill.read["TEC"][1].body.values_mm == (40.0,)
    assert [one.code for one in drill.uncounted] == ["said_meanwhile"]
