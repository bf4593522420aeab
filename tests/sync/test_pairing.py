from __future__ import annotations

import pytest

from bench.core.bounds import BadEntry
from bench.core.entries import DeviceRevoked, PersonAdded, PersonChanged
from bench.store.onetimecode import LIFE_MS, forget_code
from bench.store.refusals import CodeRefused, Throttled
from bench.sync import pairing
from tests.sync.sealing import Device


@pytest.fixture
def log(app):
    return app.extensions["log"]


@pytest.fixture
def pair(log, app, hands):
    def paired(code, device, name="table one"):
        bits = app.extensions["clock"].random_bits
        return pairing.pair(
            log, code, name, device.public_key, now_ms=hands.now_ms(), random_bits=lambda: bits(74)
        )

    return paired


@pytest.fixture
def offered(log, hands):
    return pairing.offer(log, "SUP", hands.now_ms())


def test_a_code_lets_one_device_in_and_the_entry_is_the_supervisors(log, pair, offered):
    tablet = Device()

    name = pair(offered, tablet)

    known = log.lab().devices[name]
    assert name == tablet.device
    assert (known.name, known.public_key, known.paired_by) == (
        "table one",
        tablet.public_key,
        "SUP",
    )
    assert (len(offered), offered.isdigit()) == (8, True)


def test_a_code_is_for_one_device(pair, offered):
    pair(offered, Device())

    with pytest.raises(CodeRefused):
        pair(offered, Device())


def test_the_same_device_may_ask_again_for_it_may_have_missed_the_answer(log, pair, offered):
    tablet = Device()
    pair(offered, tablet)
    before = log.cursors()

    assert pair(offered, tablet) == tablet.device
    assert log.cursors() == before


def test_a_code_ends_after_ten_minutes(pair, offered, hands):
    hands.forward(LIFE_MS / 1000 + 1)

    with pytest.raises(CodeRefused):
        pair(offered, Device())


def test_a_newer_code_ends_the_one_before(log, pair, offered, hands):
    newer = pairing.offer(log, "SUP", hands.now_ms())

    with pytest.raises(CodeRefused):
        pair(offered, Device())
    hands.forward(60)
    assert pair(newer, Device())


def test_a_forgotten_code_lets_nobody_in(log, pair, offered):
    forget_code(log.store)

    with pytest.raises(CodeRefused):
        pair(offered, Device())


def test_wrong_codes_are_slowed_down_and_at_last_end_the_code(pair, offered, hands):
    wrong = f"{(int(offered) + 1) % 10**8:08d}"
    for _ in range(3):
        with pytest.raises(CodeRefused):
            pair(wrong, Device())
    with pytest.raises(Throttled):
        pair(offered, Device())
    for _ in range(7):
        hands.forward(61)
        with pytest.raises(CodeRefused):
            pair(wrong, Device())
    hands.forward(61)

    with pytest.raises(CodeRefused):
        pair(offered, Device())


def test_the_code_is_not_kept_as_it_is(app, offered):
    app.extensions["store"].db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")

    assert offered.encode() not in app.extensions["store"].path.read_bytes()


def test_nobody_but_a_supervisor_offers_a_code(log, hands):
    for initials in ("TEC", "REA", "XX"):
        with pytest.raises(BadEntry):
            pairing.offer(log, initials, hands.now_ms())


def test_the_code_of_a_supervisor_who_left_lets_nobody_in(log, pair, offered, state):
    state(PersonAdded("SEC", "supervisor"), person="SUP")
    state(PersonChanged("SUP", "supervisor", False), person="SEC")

    with pytest.raises(CodeRefused):
        pair(offered, Device())


def test_a_revoked_key_never_comes_back(log, pair, offered, state, hands):
    tablet = Device()
    pair(offered, tablet)
    state(DeviceRevoked(tablet.device), person="SUP", reason="lost")

    with pytest.raises(pairing.RevokedKey):
        pair(pairing.offer(log, "SUP", hands.now_ms()), tablet)


@pytest.mark.parametrize(("name", "code"), [("", "missing"), ("x" * 61, "too_long")])
def test_a_name_that_cannot_be_leaves_the_code_unused(pair, offered, name, code):
    with pytest.raises(BadEntry) as bad:
        pair(offered, Device(), name)

    assert bad.value.code == code
    assert pair(offered, Device())
