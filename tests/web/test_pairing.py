from __future__ import annotations

import pytest

from bench.core.entries import DeviceRevoked
from bench.sync import pairing
from tests.sync.sealing import Device


@pytest.fixture
def offered(app, hands):
    return pairing.offer(app.extensions["log"], "SUP", hands.now_ms())


def sent(client, code, device, name="table one"):
    return client.post("/pair", json={"code": code, "name": name, "public_key": device.public_key})


def test_a_tablet_pairs_without_anybody_signed_in(stranger, app, offered):
    tablet = Device()

    page = stranger.get("/pair")
    answer = sent(stranger, f"{offered[:4]} {offered[4:]}", tablet)

    assert "data-pair" in page.text
    assert answer.json == {
        "device": tablet.device,
        "epoch": app.extensions["store"].epoch,
        "bench": app.extensions["store"].device,
    }


def test_a_tablet_that_pairs_again_goes_on_under_its_name(stranger, app, offered, hands):
    tablet = Device()
    sent(stranger, offered, tablet)
    newer = pairing.offer(app.extensions["log"], "SUP", hands.now_ms())

    assert sent(stranger, newer, tablet).json["device"] == tablet.device


def test_what_is_refused_is_told_with_its_code(stranger, app, offered, state, hands):
    lost = Device()
    sent(stranger, offered, lost)
    state(DeviceRevoked(lost.device), person="SUP", reason="lost")
    newer = pairing.offer(app.extensions["log"], "SUP", hands.now_ms())
    bad = Device()
    bad.public_key = "AAAA"

    answers = [
        sent(stranger, newer, lost), sent(stranger, newer, Device()), sent(stranger, newer, bad),
        sent(stranger, newer, Device(), name=""), stranger.post("/pair", json=["x"]),
        stranger.post("/pair", data="x"),
    ]  # fmt: skip

    assert [(one.status_code, one.json["code"]) for one in answers] == [
        (409, "revoked_key"), (403, "code_refused"), (422, "bad_key"), (422, "missing"),
        (400, "bad_request"), (400, "bad_request"),
    ]  # fmt: skip
    assert all(one.json["words"] for one in answers)


def test_guessing_is_slowed_down(stranger, offered):
    for _ in range(3):
        sent(stranger, "00000000", Device())

    answer = sent(stranger, offered, Device())

    assert (answer.status_code, answer.json["code"]) == (429, "throttled")
    assert answer.json["seconds"] >= 1


def test_a_page_of_another_origin_pairs_nothing(stranger, offered):
    answer = stranger.post("/pair", json={}, headers={"Origin": "http://evil.example"})

    assert answer.status_code == 403
