from __future__ import annotations

import pytest
from argon2 import PasswordHasher
from click.testing import CliRunner

from bench.cli import main
from bench.core.entries import CaseOpened, Draft, PersonAdded, PhotoKept
from bench.core.ids import case_code
from bench.pictures.ingest import take_in
from bench.store.credentials import Credentials
from bench.store.log import Log
from bench.store.open import open_store
from bench.store.photos import PhotoShelf
from tests.pictures import files

CODE = case_code(77)


@pytest.fixture
def folder(tmp_path):
    """A logbook with a supervisor, a case and its photo."""
    store = open_store(tmp_path / "data")
    picture = take_in(files.saved(files.four_corners()))
    PhotoShelf(store.folder / "photos").keep(picture)
    kept = PhotoKept(
        picture.sha256_hex, picture.media_type, picture.width_px, picture.height_px, "cast"
    )
    drafts = (
        Draft(PersonAdded("SUP", "supervisor"), "SUP"),
        Draft(CaseOpened(CODE, "26-0001", "lower", "master"), "SUP", case=CODE),
        Draft(kept, "SUP", case=CODE),
    )
    for number, draft in enumerate(drafts):
        Log(store).record([draft], now_ms=1_773_043_200_000 + number, random_bits=lambda: 1)
    store.close()
    return tmp_path / "data"


def run(*arguments, typed=""):
    return CliRunner().invoke(main, [str(argument) for argument in arguments], input=typed)


def test_what_is_exported_is_brought_into_an_empty_bench_and_checks_clean(folder, tmp_path):
    out = run("export", "--data", folder, "--out", tmp_path / "out")
    new = run(
        "import", "--data", tmp_path / "new", tmp_path / "out", "--as", "sup", typed="7294\n7294\n"
    )
    checked = run("check", "--data", tmp_path / "new")

    assert (out.exit_code, new.exit_code, checked.exit_code) == (0, 0, 0), new.output
    assert "3 entries and 1 photo were" in out.output
    assert "3 entries of 1 device and 1 photo " in new.output
    assert "Nothing is wrong: 3 entries" in checked.output


def test_the_supervisor_named_signs_in_with_the_new_pin(folder, tmp_path):
    run("export", "--data", folder, "--out", tmp_path / "out")
    run("import", "--data", tmp_path / "new", tmp_path / "out", "--as", "SUP", typed="7294\n7294\n")
    store = open_store(tmp_path / "new")

    fits = Credentials(
        store, hasher=PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    ).verify("SUP", "7294", 1)
    store.close()

    assert fits


def test_pins_are_never_exported_and_that_is_said(folder, tmp_path):
    run("export", "--data", folder, "--out", tmp_path / "out")

    said = run("import", "--data", tmp_path / "new", tmp_path / "out")

    assert said.exit_code == 0
    assert "PINs are never exported" in said.output


@pytest.mark.parametrize(
    ("typed", "words"), [("1234\n1234\n", "counts up"), ("x\nx\n", "digits only")]
)
def test_a_weak_pin_is_refused_in_words(folder, tmp_path, typed, words):
    run("export", "--data", folder, "--out", tmp_path / "out")

    said = run("import", "--data", tmp_path / "new", tmp_path / "out", "--as", "SUP", typed=typed)

    assert said.exit_code == 2
    assert words in said.stderr


def test_one_case_is_exported_by_its_code(folder, tmp_path):
    out = run("export", "--data", folder, "--case", CODE.lower(), "--out", tmp_path / "out")
    wrong = run("export", "--data", folder, "--case", "ABC", "--out", tmp_path / "other")

    assert "2 entries and 1 photo were" in out.output
    assert wrong.exit_code == 2


def test_a_picture_that_is_not_what_its_name_says_is_left_out(folder, tmp_path):
    run("export", "--data", folder, "--out", tmp_path / "out")
    (tmp_path / "out" / "photos" / f"{'0' * 64}.jpg").write_bytes(b"nothing")

    said = run("import", "--data", tmp_path / "new", tmp_path / "out")

    assert "is not the picture its name says" in said.output
    assert "and 1 photo were" in said.output


def test_an_export_that_was_changed_is_refused(folder, tmp_path):
    run("export", "--data", folder, "--out", tmp_path / "out")
    lines = tmp_path / "out" / "entries.jsonl"
    lines.write_bytes(lines.read_bytes().replace(b"26-0001", b"26-0002"))

    said = run("import", "--data", tmp_path / "new", tmp_path / "out")

    assert said.exit_code == 2
    assert "not whole" in said.stderr


def test_a_backup_is_brought_back_and_checks_clean(folder, tmp_path):
    made = run("backup", "--data", folder, "--out", tmp_path / "b.zip")
    back = run("restore", "--data", tmp_path / "again", tmp_path / "b.zip")
    checked = run("check", "--data", tmp_path / "again")

    assert (made.exit_code, back.exit_code, checked.exit_code) == (0, 0, 0)
    assert "3 entries and 1 photo were backed up" in made.output
    assert "Tablets send again" in back.output
    assert "Nothing is wrong: 3 entries of 1 device, 1 case, 1 photo." in checked.output


def test_nothing_is_restored_over_a_logbook(folder, tmp_path):
    run("backup", "--data", folder, "--out", tmp_path / "b.zip")

    said = run("restore", "--data", folder, tmp_path / "b.zip")

    assert said.exit_code == 2
    assert "not empty" in said.stderr


@pytest.mark.parametrize(
    "command", ["export", "import", "backup", "restore", "pair", "trust", "doctor"]
)
def test_every_command_explains_itself(command):
    said = run(command, "--help")

    assert said.exit_code == 0
    assert "Usage" in said.output
