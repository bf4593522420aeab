from __future__ import annotations

import json
import re
import socket
import sqlite3
import threading
import urllib.request
from contextlib import closing
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from click.testing import CliRunner

import bench
from bench import serving
from bench.app import create_app
from bench.cli import WORDS, main
from bench.core.entries import CaseOpened, Draft, PersonAdded, PhotoKept
from bench.core.ids import case_code
from bench.settings import Settings
from bench.store.log import Log
from bench.store.open import FILE_NAME, open_store

CODE = case_code(77)


@pytest.fixture(autouse=True)
def no_variables(monkeypatch):
    for name in ("DATA", "HOST", "PORT", "ADDRESS"):
        monkeypatch.delenv(f"TILTBOOK_{name}", raising=False)


@pytest.fixture
def folder(tmp_path):
    """A logbook with one person and one case."""
    store = open_store(tmp_path / "data")
    for draft in (
        Draft(PersonAdded("SUP", "supervisor"), "SUP"),
        Draft(CaseOpened(CODE, "26-0001", "lower", "master"), "SUP", case=CODE),
    ):
        bits = iter(range(1, 99))
        Log(store).record([draft], now_ms=1_773_043_200_000, random_bits=lambda: next(bits))  # noqa: B023
    store.close()
    return tmp_path / "data"


def run(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def test_a_sound_logbook_is_told_with_its_counts(folder):
    result = run("check", "--data", folder)

    assert result.exit_code == 0
    assert "Nothing is wrong: 2 entries of 1 device, 1 case," in result.output


def test_a_damaged_logbook_is_told_in_words_and_exits_with_1(folder):
    with closing(sqlite3.connect(folder / FILE_NAME)) as conn, conn:
        conn.execute("DROP TRIGGER entries_are_never_changed")
        conn.execute(
            "UPDATE entries SET bytes = CAST(replace(CAST(bytes AS TEXT), '26-0001', '26-0002') AS BLOB)"
        )

    result = run("check", "--data", folder)

    assert result.exit_code == 1
    assert "is not what was recorded: its digest differs" in result.output
    assert "problems were found" in result.output


def test_a_photo_that_is_gone_is_told(folder):
    store = open_store(folder)
    kept = PhotoKept("a" * 64, "image/jpeg", 10, 10, "cast")
    Log(store).record(
        [Draft(kept, "SUP", case=CODE)], now_ms=1_773_043_300_000, random_bits=lambda: 1
    )
    store.close()

    result = run("check", "--data", folder)

    assert result.exit_code == 1
    assert "that an entry names is gone" in result.output


def test_every_problem_of_a_logbook_has_words():
    source = (Path(bench.__file__).parent / "store" / "integrity.py").read_text("utf-8")
    codes = set(re.findall(r'Problem\("([a-z_]+)"', source))

    assert len(codes) > 8
    assert [code for code in sorted(codes) if not WORDS.has(f"cli.problem.{code}")] == []


def test_a_folder_without_a_logbook_is_not_made_one_by_looking(tmp_path):
    result = run("check", "--data", tmp_path / "none")

    assert result.exit_code == 2
    assert "There is no logbook" in result.stderr
    assert not (tmp_path / "none").exists()


def test_labels_are_written_as_a_sheet(folder, tmp_path):
    pdf = run("labels", "--data", folder, CODE.lower(), "--out", tmp_path / "l.pdf")
    png = run("labels", "--data", folder, CODE, "--out", tmp_path / "l.png", "--paper", "Letter")

    assert (pdf.exit_code, png.exit_code) == (0, 0)
    assert (tmp_path / "l.pdf").read_bytes().startswith(b"%PDF")
    assert (tmp_path / "l.png").read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(
    ("code", "out", "words"),
    [
        ("ABC", "l.pdf", "is no label code"),
        (case_code(78), "l.pdf", "No case is opened"),
        (CODE, "l.txt", "neither in .pdf nor in .png"),
        (CODE, "none/l.pdf", "cannot be written"),
    ],
)
def test_labels_that_cannot_be_are_refused_in_words(folder, tmp_path, code, out, words):
    result = run("labels", "--data", folder, code, "--out", tmp_path / out)

    assert result.exit_code == 2
    assert words in result.stderr


def test_invented_cases_never_stand_among_real_ones(folder, monkeypatch):
    result = run("demo", "--data", folder)

    assert result.exit_code == 2
    assert "holds records already" in result.stderr


def test_an_empty_folder_is_filled_and_the_pins_are_told(tmp_path):
    result = run("demo", "--data", tmp_path / "demo", "--cases", 3, "--seed", 9)

    assert result.exit_code == 0
    assert "3 invented cases" in result.stdout
    assert re.search(r"[A-Z]{2,4}  technician, PIN \d{4,8}", result.stdout)
    assert run("check", "--data", tmp_path / "demo").exit_code == 0


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--host", "0.0.0.0"), "not this PC itself"),
        (("--port", "0"), "is no port"),
        (("--address", "bench"), "no base of a web address"),
    ],
)
def test_serving_refuses_nonsense_by_name(tmp_path, arguments, words):
    result = run("serve", "--data", tmp_path, *arguments)

    assert result.exit_code == 2
    assert words in result.stderr


# The server library drops the socket that could not be bound without closing it.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_port_in_use_is_told(tmp_path):
    with closing(socket.create_server(("127.0.0.1", 0))) as taken:
        result = run("serve", "--data", tmp_path, "--port", taken.getsockname()[1])

    assert result.exit_code == 2
    assert "in use by another program" in result.stderr


def test_the_server_answers_and_ends_cleanly(tmp_path):
    settings = Settings(tmp_path / "data", port=free_port())
    app = create_app(settings, hasher=PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    server = serving.server_of(app, settings)
    server.prepare()
    thread = threading.Thread(target=server.serve)
    thread.start()
    try:
        with urllib.request.urlopen(f"{settings.served_at}/health", timeout=5) as answer:
            health = json.load(answer)
    finally:
        server.stop()
        thread.join(10)
        app.extensions["store"].close()

    assert health["status"] == "ok"
    assert not thread.is_alive()


def free_port():
    with closing(socket.create_server(("127.0.0.1", 0))) as probe:
        return probe.getsockname()[1]


@pytest.mark.parametrize("command", [(), ("serve",), ("check",), ("demo",), ("labels",)])
def test_every_command_explains_itself(command):
    result = run(*command, "--help")

    assert result.exit_code == 0
    assert "Usage" in result.output
