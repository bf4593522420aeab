from __future__ import annotations

import re

from bench.store.contacts import note_contact
from bench.sync import pairing
from tests.sync.sealing import Device


def test_nobody_but_a_supervisor_sees_the_devices(technician, reader):
    assert [one.get("/devices").status_code for one in (technician, reader)] == [403, 403]


def test_a_supervisor_lets_a_tablet_in_with_a_code(app, supervisor, stranger):
    page = supervisor.send("/devices/code")
    digits = "".join(re.search(r"(\d{4}) (\d{4})", page.text).groups())
    tablet = Device()

    answer = stranger.post(
        "/pair", json={"code": digits, "name": "one", "public_key": tablet.public_key}
    )

    assert answer.status_code == 200
    assert app.extensions["log"].lab().devices[tablet.device].paired_by == "SUP"
    assert "<svg" in page.text
    assert "/pair" in page.text


def test_each_device_is_shown_with_what_it_last_said(supervisor, device, app, hands):
    before = supervisor.get("/devices").text
    note_contact(app.extensions["store"], device.device, hands.now_ms(), 12)

    after = supervisor.get("/devices").text

    assert "table by the window" in before
    assert "not heard of yet" in before
    assert "12 still to send" in after


def test_a_lost_device_is_put_out_of_use_with_a_reason(supervisor, device, app):
    without = supervisor.send(f"/devices/{device.device}/revoke", {"reason": " "})
    answer = supervisor.send(f"/devices/{device.device}/revoke", {"reason": "left in the van"})

    assert without.status_code == 422
    assert answer.status_code == 303
    assert app.extensions["log"].lab().devices[device.device].revoked_at
    assert "out of use since" in supervisor.get("/devices").text


def test_a_device_out_of_use_stays_so(supervisor, device):
    supervisor.send(f"/devices/{device.device}/revoke", {"reason": "left in the van"})

    again = supervisor.send(f"/devices/{device.device}/revoke", {"reason": "once more"})

    assert again.status_code == 422
    assert supervisor.send("/devices/tablet-000000000000/revoke").status_code == 404


def test_entries_kept_aside_are_told(supervisor, device, app, hands):
    with app.extensions["store"].writing() as conn:
        row = ("x", device.device, 1, "d", "chain_forked", b"", "", "")
        conn.execute(
            "INSERT INTO quarantine (id, device, device_seq, digest, code, bytes, received_at, arrival) "
            "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            row,
        )

    assert "1 kept aside" in supervisor.get("/devices").text


def test_a_code_made_on_the_page_ends_the_one_before(app, supervisor, stranger, hands):
    first = pairing.offer(app.extensions["log"], "SUP", hands.now_ms())
    supervisor.send("/devices/code")

    answer = stranger.post(
        "/pair", json={"code": first, "name": "one", "public_key": Device().public_key}
    )

    assert answer.status_code == 403
