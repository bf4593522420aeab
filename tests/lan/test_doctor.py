from __future__ import annotations

import re
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bench import lan
from bench.core.entries import DeviceRevoked
from bench.lan import doctor
from bench.lan.authority import Authority
from bench.store.contacts import note_contact
from bench.words import Words
from tests.conftest import START_MS

NAMES = ("tiltbook-pc.local", "pc.local", "pc", "192.168.1.7")
NOW = datetime.fromtimestamp(START_MS / 1000, UTC) + timedelta(hours=1)


@pytest.fixture
def look(app, settings):
    def found(now=NOW, names=NAMES):
        store = app.extensions["store"]
        return {
            (one.part, one.code): one
            for one in doctor.look_over(settings, store, now, lambda: names)
        }

    return found


def test_a_bench_at_work_is_well(look, settings):
    Authority(settings.data).ready(NAMES, NOW)

    found = look()

    for part in (
        ("clock", "fits"),
        ("certificate", "good"),
        ("disk", "writable"),
        ("share", "on_this_pc"),
    ):
        assert found[part].state == "well"


@pytest.mark.parametrize("hours", [-24, -24 * 800])
def test_a_clock_behind_the_records_is_ill(look, hours):
    assert look(NOW + timedelta(hours=hours))["clock", "behind"].state == "ill"


@pytest.mark.parametrize(
    ("days", "names", "found", "how"),
    [
        (380, NAMES, "ends_soon", "look"),
        (400, NAMES, "ended", "ill"),
        (0, (*NAMES, "192.168.1.8"), "moved", "look"),
        (0, ("other.local", *NAMES), "renamed", "ill"),
    ],
)
def test_a_certificate_that_will_not_do_is_told(look, settings, days, names, found, how):
    Authority(settings.data).ready(NAMES, NOW)

    assert look(NOW + timedelta(days=days), names)["certificate", found].state == how


def test_without_a_certificate_tablets_cannot_come_yet(look):
    assert look()["certificate", "none"].state == "look"


@pytest.mark.parametrize(("free_gb", "said"), [(0.4, "full"), (3, "short"), (80, "enough")])
def test_room_is_told_in_time(look, monkeypatch, free_gb, said):
    usage = shutil._ntuple_diskusage(1, 1, int(free_gb * 1e9))
    monkeypatch.setattr(doctor.shutil, "disk_usage", lambda _: usage)

    assert ("room", said) in look()


def test_records_on_a_share_are_ill(look, monkeypatch):
    monkeypatch.setattr(doctor, "share_of", lambda _: "nfs4")

    assert look()["share", "on_a_share"].state == "ill"


def test_a_folder_that_cannot_be_written_is_ill(look, monkeypatch):
    from bench.store.refusals import FolderNotWritable

    def refuse(folder):
        raise FolderNotWritable(folder=str(folder), reason="no rights")

    monkeypatch.setattr(doctor, "made_ready", refuse)

    assert look()["disk", "not_writable"].state == "ill"


def test_tablets_that_fell_silent_or_hold_something_are_named(look, app, device, hands):
    silent = look()
    note_contact(app.extensions["store"], device.device, START_MS, 4)

    holding = look()

    assert silent["devices", "silent"].figures["name"] == "table by the window"
    assert holding["devices", "unsent"].figures["count"] == 4
    assert holding["devices", "paired"].figures["count"] == 1


def test_a_tablet_out_of_use_is_no_longer_looked_at(look, device, state):
    state(DeviceRevoked(device.device), person="SUP", reason="lost")

    assert [key for key in look() if key[0] == "devices"] == [("devices", "paired")]


def test_everything_the_doctor_can_find_has_words():
    source = (Path(lan.__file__).parent / "doctor.py").read_text("utf-8")
    found = set(re.findall(r'Finding\(\s*"(\w+)", "(\w+)"', source))

    missing = [key for part, code in found if not Words("en").has(key := f"doctor.{part}.{code}")]

    assert len(found) > 12
    assert missing == []
