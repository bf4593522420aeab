from __future__ import annotations

import re

import pytest
from argon2 import PasswordHasher
from click.testing import CliRunner

from bench.cli import main
from bench.core.entries import Draft, PersonAdded
from bench.lan.authority import Authority, utc_now
from bench.lan.names import names_now
from bench.store.credentials import Credentials
from bench.store.log import Log
from bench.store.onetimecode import redeem
from bench.store.open import open_store
from tests.lan.served import free_ports


@pytest.fixture
def folder(tmp_path):
    """A logbook with a supervisor and a technician who have PINs."""
    store = open_store(tmp_path / "data")
    quick = Credentials(store, hasher=PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    for number, (initials, role) in enumerate((("SUP", "supervisor"), ("TEC", "technician"))):
        draft = Draft(PersonAdded(initials, role), "SUP")
        Log(store).record([draft], now_ms=1_773_043_200_000 + number, random_bits=lambda: 1)
        quick.set_pin(initials, "7294")
    store.close()
    return tmp_path / "data"


def run(*arguments, typed=""):
    return CliRunner().invoke(main, [str(argument) for argument in arguments], input=typed)


def test_a_supervisor_makes_a_code_at_the_bench_pc(folder):
    said = run("pair", "--data", folder, "--as", "sup", typed="7294\n")

    digits = "".join(re.search(r"(\d{4}) (\d{4})", said.output).groups())
    store = open_store(folder)
    made_at = store.db.conn.execute("SELECT made_at_ms FROM pairing_code").fetchone()[0]
    assert said.exit_code == 0
    assert "7294" not in said.output.replace(digits, "")
    assert redeem(store, digits, "tablet-00aa11bb22cc", made_at + 1) == "SUP"
    store.close()


@pytest.mark.parametrize(
    ("initials", "typed", "words"),
    [("SUP", "8351\n", "PIN is wrong"), ("TEC", "", "no supervisor"), ("XX", "", "no supervisor")],
)
def test_nobody_else_makes_one(folder, initials, typed, words):
    said = run("pair", "--data", folder, "--as", initials, typed=typed)

    assert said.exit_code == 2
    assert words in said.stderr


def test_guessing_the_pin_is_slowed_down_here_too(folder):
    for _ in range(3):
        run("pair", "--data", folder, "--as", "SUP", typed="8351\n")

    said = run("pair", "--data", folder, "--as", "SUP", typed="7294\n")

    assert "Wait" in said.stderr


def test_where_to_trust_and_what_to_compare_are_told(folder):
    held = Authority(folder).ready(names_now(), utc_now())

    said = run("trust", "--data", folder, "--port", 9000)

    assert said.exit_code == 0
    assert ":9001" in said.output
    assert ":9000" in said.output
    assert held.fingerprint in said.output


def test_before_the_first_start_there_is_nothing_to_trust(folder):
    said = run("trust", "--data", folder)

    assert said.exit_code == 2
    assert "serve --lan" in said.stderr


def test_the_authority_is_made_anew_on_demand(folder):
    Authority(folder).ready(names_now(), utc_now())

    said = run("trust", "--data", folder, "--anew")

    assert "trust it anew" in said.output
    assert Authority(folder).held() is None


def test_without_the_library_the_missing_name_is_said_with_its_licence(folder, monkeypatch):
    Authority(folder).ready(names_now(), utc_now())
    monkeypatch.setattr("bench.commands.tablets.can_announce", lambda: False)

    said = run("trust", "--data", folder)

    assert "LGPL" in said.output


def test_the_doctor_says_that_a_bench_is_well(folder):
    Authority(folder).ready(names_now(), utc_now())

    said = run("doctor", "--data", folder, "--port", free_ports())

    assert said.exit_code == 0, said.output
    for part in (
        "Clock:",
        "Certificate: good",
        "Name:",
        "Records:",
        "Disk:",
        "Room:",
        "Port:",
        "Tablets: 0",
    ):
        assert part in said.output
    assert "The bench PC is well." in said.output


def test_the_doctor_names_what_is_ill_and_exits_with_1(tmp_path):
    said = run("doctor", "--data", tmp_path / "none")

    assert said.exit_code == 1
    assert "ILL    Records: there is no logbook" in said.output
    assert not (tmp_path / "none").exists()
