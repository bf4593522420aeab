"""The command line of Tiltbook. Exit codes: 0 done, 1 problems found, 2 refused, each in words."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import get_args

import click
from flask import Flask

from bench import __version__
from bench.commands import keeping, tablets
from bench.core.entries import CaseOpened, PhotoKept
from bench.core.ids import BadCode, code_from_typed
from bench.pictures.label import LabelFacts, Paper, label_sheet_images, label_sheet_pdf
from bench.settings import Settings, settings_from
from bench.store import integrity
from bench.store.log import Log
from bench.store.open import Store
from bench.store.photos import PhotoShelf
from bench.terminal import (
    REFUSED,
    WORDS,
    data_option,
    opened,
    refusals_in_words,
    refuse,
    say,
    settings_of,
    tell,
)

DEMO_CASES = 24
DEMO_FOLDER = "tiltbook-demo"
PHOTOS = "photos"


@click.group()
@click.version_option(__version__, prog_name="tiltbook")
def main() -> None:
    """Keep the logbook of the survey bench."""


@main.command()
@data_option
@click.option("--port", type=int, help="Port to answer on (8480 when none is named).")
@click.option("--host", help="Name or address of this PC itself (127.0.0.1 when none is named).")
@click.option("--address", help="Base of the web addresses printed on labels.")
@click.option("--demo", is_flag=True, help="Serve invented cases from a folder of their own.")
@click.option("--lan", is_flag=True, help="Answer the tablets of the lab's own network, over TLS.")
def serve(
    data: Path | None,
    port: int | None,
    host: str | None,
    address: str | None,
    demo: bool,
    lan: bool,
) -> None:
    """Serve the logbook to this PC, or to the lab's network, until stopped."""
    from bench.app import create_app
    from bench.lan.names import names_now

    folder = Path.home() / DEMO_FOLDER if demo and data is None else data
    with refusals_in_words():
        settings = settings_from(
            os.environ, lan=lan, names=names_now() if lan else (), data=folder, port=port, host=host,
            address=address,
        )  # fmt: skip
        app = create_app(settings)
    store: Store = app.extensions["store"]
    try:
        if demo and not Log(store).cursors():
            _fill(store, DEMO_CASES, 1)
        _serve(app, settings)
    except OSError:
        refuse("port_taken", port=settings.port)
    finally:
        store.close()
    say("stopped")


def _serve(app: Flask, settings: Settings) -> None:
    from bench.lan.announce import can_announce
    from bench.lan.network import on_the_network
    from bench.serving import serve as run
    from bench.serving import server_of

    if not settings.lan:
        told = partial(say, "serving", address=settings.served_at, folder=settings.data)
        run(server_of(app, settings), told)
        return
    with on_the_network(app, settings) as network:
        told = partial(tell, "trust.cli.serving", address=settings.served_at, trust=network.trust_at,
                       folder=settings.data)  # fmt: skip
        if not can_announce():
            tell("trust.cli.no_name", name=settings.names[0])
        run(server_of(app, settings, network.tls), told)


@main.command()
@data_option
def check(data: Path | None) -> None:
    """Walk every chain of the logbook and say what is wrong; exit 1 when anything is."""
    with opened(settings_of(data)) as store:
        report = integrity.check(store, _photo_check(store.folder / PHOTOS))
    for problem in report.problems:
        click.echo(_in_words(problem))
    if report.kept_aside:
        say("check.aside", count=report.kept_aside)
    if not report.clean:
        say("check.found", count=len(report.problems))
        raise SystemExit(1)
    say(
        "check.clean", entries=report.entries, devices=report.devices, cases=report.cases,
        photos=report.photos,
    )  # fmt: skip


@main.command()
@data_option
@click.option("--cases", type=click.IntRange(1, 1_000_000), default=DEMO_CASES, show_default=True)
@click.option(
    "--seed", type=int, default=1, show_default=True, help="The same seed, the same cases."
)
def demo(data: Path | None, cases: int, seed: int) -> None:
    """Fill an empty logbook with an invented laboratory and its cases."""
    settings = settings_of(data)
    with opened(settings, make=True) as store:
        if Log(store).cursors():
            refuse("not_empty", folder=settings.data)
        _fill(store, cases, seed)


@main.command()
@data_option
@click.argument("codes", nargs=-1, required=True, metavar="CODE...")
@click.option("--out", type=click.Path(path_type=Path), required=True, help="A .pdf or .png file.")
@click.option("--paper", type=click.Choice(get_args(Paper)), default="A4", show_default=True)
@click.option("--address", help="Base of the web addresses printed on labels.")
def labels(
    data: Path | None, codes: tuple[str, ...], out: Path, paper: Paper, address: str | None
) -> None:
    """Write the labels of cases as sheets to print."""
    settings = settings_of(data, address)
    with opened(settings) as store:
        facts = [_facts(Log(store), code, settings.labels_at) for code in codes]
    with refusals_in_words():
        drawn = _drawn(facts, paper, out)
    try:
        out.write_bytes(drawn)
    except OSError as error:
        refuse("unwritable", out=out, reason=error.strerror or type(error).__name__)
    say("written", count=len(facts), out=out)


@main.command(name="compute")
@click.argument("name")
def compute_command(name: str) -> None:
    """Answer one computation: a JSON object on standard input, one on standard output."""
    from bench.compute import NotTaken, compute, refused

    try:
        click.echo(compute(name, sys.stdin.buffer.read()))
    except NotTaken as error:
        click.echo(refused(error))
        raise SystemExit(REFUSED) from None


def _photo_check(folder: Path) -> integrity.PhotoCheck:
    """Read every photo of the shelf once, and then answer for each that an entry names."""
    wrong = {one.name: one.trouble for one in PhotoShelf(folder).verify()}
    held = set(PhotoShelf(folder).names())

    def trouble_of(kept: PhotoKept) -> str | None:
        if kept.sha256 not in held:
            return "photo_missing"
        return f"photo_{wrong[kept.sha256]}" if kept.sha256 in wrong else None

    return trouble_of


def _drawn(facts: Sequence[LabelFacts], paper: Paper, out: Path) -> bytes:
    if out.suffix.lower() == ".pdf":
        return label_sheet_pdf(facts, WORDS.say, paper=paper)
    if out.suffix.lower() != ".png":
        refuse("bad_out", out=out)
    sheets = label_sheet_images(facts, WORDS.say, paper=paper)
    if len(sheets) > 1:
        refuse("many_sheets", count=len(sheets))
    return sheets[0]


def _facts(log: Log, typed: str, base: str) -> LabelFacts:
    try:
        code = code_from_typed(typed)
    except BadCode:
        refuse("bad_code", code=typed)
    case = log.case(code)
    if not case.said(CaseOpened):
        refuse("not_opened", code=code)
    opening = case.opened.body
    return LabelFacts(code=code, number=opening.number, arch=opening.arch, base_url=base)


def _fill(store: Store, cases: int, seed: int) -> None:
    from bench.demo.fill import fill

    filled = fill(store, cases, seed)
    say("filled", cases=len(filled.cases), folder=store.folder)
    for person in filled.people:
        role = WORDS.say(f"choices.role.{person.role}")
        say("person", initials=person.initials, role=role, pin=person.pin)


def _in_words(problem: integrity.Problem) -> str:
    key = f"cli.problem.{problem.code}"
    return (
        WORDS.say(key, **problem.params) if WORDS.has(key) else f"{problem.code} {problem.params}"
    )


for _command in (*tablets.COMMANDS, *keeping.COMMANDS):
    main.add_command(_command)
