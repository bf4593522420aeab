"""What every command shares: its settings, the open logbook, words, and the one way to refuse."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

import click

from bench.core.refusal import Refusal
from bench.pictures.label import BadLabel
from bench.settings import BadSetting, Settings, settings_from
from bench.store.open import FILE_NAME, Store, open_store
from bench.words import Words

REFUSED = 2
WORDS = Words("en")

data_option = click.option("--data", type=click.Path(path_type=Path), help="Folder of the records.")


def settings_of(data: Path | None, address: str | None = None, port: int | None = None) -> Settings:
    """Return the settings of a command that serves nothing itself."""
    with refusals_in_words():
        return settings_from(os.environ, data=data, address=address, port=port)


@contextmanager
def opened(settings: Settings, *, make: bool = False) -> Iterator[Store]:
    """Open the logbook of a folder for one command; without `make` it must be there already."""
    if not make and not (settings.data / FILE_NAME).is_file():
        refuse("no_logbook", folder=settings.data)
    with refusals_in_words():
        store = open_store(settings.data)
    try:
        yield store
    finally:
        store.close()


@contextmanager
def refusals_in_words() -> Iterator[None]:
    """End the command with words, and exit code 2, where something is refused."""
    try:
        yield
    except BadSetting as bad:
        refuse(f"setting.{bad.code}", name=bad.name, value=bad.value)
    except Refusal as refusal:
        end(str(refusal))
    except BadLabel as bad:
        parts = (f"labels.refused.{bad.code}.{part}" for part in ("what", "why", "do"))
        end(" ".join(WORDS.say(part, **bad.params) for part in parts))


def say(key: str, /, **params: object) -> None:
    """Print words of the catalogue's room `cli`."""
    click.echo(WORDS.say(f"cli.{key}", **params))


def tell(key: str, /, **params: object) -> None:
    """Print words of any room of the catalogue."""
    click.echo(WORDS.say(key, **params))


def refuse(key: str, /, **params: object) -> NoReturn:
    """End the command with words on the error stream and exit code 2."""
    end(WORDS.say(f"cli.{key}", **params))


def end(words: str) -> NoReturn:
    """End the command with these words and exit code 2."""
    click.echo(words, err=True)
    raise SystemExit(REFUSED)
