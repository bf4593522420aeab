"""Commands that keep the records and move them: export, import, backup, restore."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import click

from bench.core.ids import BadCode, code_from_typed
from bench.pictures.ingest import PictureRefused, take_in
from bench.settings import Settings
from bench.store import backup as backups
from bench.store import export as exports
from bench.store.credentials import LEAST_DIGITS, MOST_DIGITS, Credentials, weakness_of
from bench.store.log import Log
from bench.store.open import Store
from bench.store.photos import PhotoShelf
from bench.terminal import (
    WORDS,
    data_option,
    end,
    opened,
    refusals_in_words,
    refuse,
    say,
    settings_of,
)

folder_type = click.Path(path_type=Path)
out_option = click.option("--out", type=folder_type, required=True, help="Where to write.")


@click.command(name="export")
@data_option
@out_option
@click.option(
    "--case", "typed", metavar="CODE", help="One case alone; such an export is for reading."
)
def export_command(data: Path | None, out: Path, typed: str | None) -> None:
    """Write the records as plain JSON lines, with the photos beside them."""
    code = _code(typed) if typed else None
    with opened(settings_of(data)) as store, refusals_in_words():
        try:
            written = exports.export(Log(store), _shelf(store), out, code)
        except OSError as error:
            refuse("unwritable", out=out, reason=error.strerror or type(error).__name__)
    say("exported", entries=written.entries, photos=written.photos, out=out)
    if written.absent:
        say("photos_absent", count=written.absent)


@click.command(name="import")
@data_option
@click.argument("folder", type=folder_type)
@click.option("--as", "initials", help="A supervisor to give a new PIN: PINs are never exported.")
def import_command(data: Path | None, folder: Path, initials: str | None) -> None:
    """Bring a whole export into an empty bench, to the same digests."""
    settings = settings_of(data)
    with opened(settings, make=True) as store:
        with refusals_in_words():
            left = Counter(one.code for one in exports.bring_in(Log(store), folder))
        photos = sum(_bring_photo(store, path) for path in exports.photo_files(folder))
        cursors = Log(store).cursors()
        if initials and not left:
            _give_pin(store, initials.strip().upper())
    if left:
        refuse("import_refused", count=left.total(), codes=", ".join(sorted(left)))
    _tell_imported(settings, sum(one.seq for one in cursors.values()), len(cursors), photos)
    if not initials:
        say("no_pins")


@click.command()
@data_option
@out_option
def backup(data: Path | None, out: Path) -> None:
    """Write a backup into one file; the bench may go on recording meanwhile."""
    with opened(settings_of(data)) as store, refusals_in_words():
        done = backups.back_up(store, out)
    size = f"{done.file_bytes / 1e6:.1f} MB"
    say("backed_up", entries=done.entries, photos=done.photos, out=out, size=size)


@click.command()
@data_option
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
def restore(data: Path | None, file: Path) -> None:
    """Bring a backup back into an empty folder."""
    settings = settings_of(data)
    with refusals_in_words():
        done = backups.restore(file, settings.data)
    say("restored", entries=done.entries, photos=done.photos, folder=settings.data)


def _tell_imported(settings: Settings, entries: int, devices: int, photos: int) -> None:
    say("imported", entries=entries, devices=devices, photos=photos, folder=settings.data)


def _code(typed: str) -> str:
    try:
        return code_from_typed(typed)
    except BadCode:
        refuse("bad_code", code=typed)


def _shelf(store: Store) -> PhotoShelf:
    return PhotoShelf(store.folder / backups.PHOTOS)


def _bring_photo(store: Store, path: Path) -> bool:
    """Take a picture in as if it were new: only what its name says is kept."""
    try:
        picture = take_in(path.read_bytes())
    except (OSError, PictureRefused):
        picture = None
    if picture is None or picture.sha256_hex != path.stem:
        say("photo_refused", name=path.name)
        return False
    _shelf(store).keep(picture)
    return True


def _give_pin(store: Store, initials: str) -> None:
    if all(one.initials != initials for one in Log(store).lab().supervisors()):
        end(WORDS.say("pairing.cli.not_supervisor", initials=initials))
    pin = click.prompt(
        WORDS.say("cli.pin_for", initials=initials), hide_input=True, confirmation_prompt=True
    )
    reason = weakness_of(pin)
    if reason:
        words = WORDS.say(f"errors.entry.pin_{reason}", least=LEAST_DIGITS, most=MOST_DIGITS)
        refuse("bad_pin", words=words)
    Credentials(store).set_pin(initials, pin)


COMMANDS = (export_command, import_command, backup, restore)
