"""Commands for tablets: pair one, tell how to trust the bench, look the bench over."""

from __future__ import annotations

import time
from pathlib import Path

import click

from bench.lan.announce import can_announce
from bench.lan.authority import Authority, utc_now
from bench.lan.doctor import look_over
from bench.lan.names import domain_names, host_name, names_now, split
from bench.lan.network import trust_address
from bench.settings import Settings
from bench.store.credentials import Credentials
from bench.store.log import Log
from bench.store.open import FILE_NAME
from bench.store.refusals import Locked, Throttled
from bench.sync import pairing
from bench.terminal import WORDS, data_option, end, opened, settings_of, tell

port_option = click.option(
    "--port", type=int, help="Port the bench answers on (8480 when none is named)."
)


@click.command()
@data_option
@port_option
@click.option("--as", "initials", required=True, help="Initials of the supervisor who lets it in.")
def pair(data: Path | None, port: int | None, initials: str) -> None:
    """Print a one-time code that lets one tablet in."""
    settings = settings_of(data, port=port)
    with opened(settings) as store:
        log, initials = Log(store), initials.strip().upper()
        if all(one.initials != initials for one in log.lab().supervisors()):
            end(WORDS.say("pairing.cli.not_supervisor", initials=initials))
        _prove(Credentials(store), initials)
        digits = pairing.offer(log, initials, _now_ms())
    address = f"{_served(settings).tablets_at}/pair"
    tell("pairing.cli.made", digits=f"{digits[:4]} {digits[4:]}", address=address)


@click.command()
@data_option
@port_option
@click.option(
    "--anew", is_flag=True, help="Make a new authority at the next start: all trust anew."
)
def trust(data: Path | None, port: int | None, anew: bool) -> None:
    """Print where tablets learn to trust this bench, and the figures to compare."""
    settings = _served(settings_of(data, port=port))
    if anew:
        Authority(settings.data).forget()
        tell("trust.cli.anew")
        return
    held = Authority(settings.data).held()
    if held is None:
        end(WORDS.say("trust.cli.none"))
    tell("trust.cli.where", address=trust_address(settings))
    tell("trust.cli.bench", address=settings.tablets_at)
    numbers = [
        f"https://{one}:{settings.port}" for one in split(settings.names)[1] if ":" not in one
    ]
    if numbers:
        tell("trust.cli.also", addresses=", ".join(numbers))
    tell("trust.cli.fingerprint", fingerprint=held.fingerprint)
    if not can_announce():
        tell("trust.cli.no_name", name=domain_names(host_name())[0])


@click.command()
@data_option
@port_option
def doctor(data: Path | None, port: int | None) -> None:
    """Look over clock, certificate, disk, port and tablets; exit 1 when something is ill."""
    settings = settings_of(data, port=port)
    if (settings.data / FILE_NAME).is_file():
        with opened(settings) as store:
            findings = list(look_over(settings, store, utc_now()))
    else:
        findings = list(look_over(settings, None, utc_now()))
    for one in findings:
        tell(f"doctor.{one.state}", words=WORDS.say(f"doctor.{one.part}.{one.code}", **one.figures))
    ill = sum(one.state == "ill" for one in findings)
    if ill:
        tell("doctor.some_ill", count=ill)
        raise SystemExit(1)
    tell("doctor.all_well")


def _served(settings: Settings) -> Settings:
    """Return the settings as the bench has them when it serves the network."""
    return Settings(
        settings.data, settings.host, settings.port, settings.address, True, names_now()
    )


def _prove(credentials: Credentials, initials: str) -> None:
    pin = click.prompt(WORDS.say("pairing.cli.pin", initials=initials), hide_input=True)
    try:
        if not credentials.verify(initials, pin, _now_ms()):
            end(WORDS.say("pairing.cli.wrong_pin"))
    except Throttled as wait:
        end(WORDS.say("pairing.cli.wait", seconds=wait.seconds))
    except Locked:
        end(WORDS.say("pairing.cli.locked", initials=initials))


def _now_ms() -> int:
    return time.time_ns() // 1_000_000


COMMANDS = (pair, trust, doctor)
