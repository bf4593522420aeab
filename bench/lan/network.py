"""All that goes with serving the network: certificates kept good, the page of trust, the announced name."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from threading import Event, Thread

from cheroot.wsgi import Server
from flask import Flask

from bench.lan.announce import announced
from bench.lan.authority import Authority, Certificates, utc_now
from bench.lan.names import names_now, split
from bench.lan.tls import LateHandshake
from bench.lan.trustpage import trust_app
from bench.settings import Settings

LOOK_S = 600
_THREADS = 4
_TIMEOUT_S = 10


@dataclass(slots=True)
class Network:
    """What the bench serves the network with; `certificates` are those of now."""

    tls: LateHandshake
    certificates: Certificates
    trust_at: str


@contextmanager
def on_the_network(app: Flask, settings: Settings) -> Iterator[Network]:
    """Keep certificates, page of trust and announced name up while inside. Raises OSError for a taken port."""
    authority = Authority(settings.data)
    held = authority.ready(settings.names, utc_now())
    network = Network(LateHandshake(held), held, trust_address(settings))
    page = Server(
        (settings.host, settings.trust_port),
        trust_app(lambda: network.certificates, settings.tablets_at, network.trust_at),
        numthreads=_THREADS, timeout=_TIMEOUT_S, server_name="tiltbook", shutdown_timeout=1,
    )  # fmt: skip
    page.max_request_body_size = 1024
    with (
        _running(page),
        announced(settings.names, settings.port),
        _looking(app, authority, network),
    ):
        yield network


def trust_address(settings: Settings) -> str:
    """Return the address of the page of trust: by number, for a tablet may not find names yet."""
    domains, numbers = split(settings.names)
    plain = [one for one in numbers if ":" not in one]
    return f"http://{(plain or domains or ['localhost'])[0]}:{settings.trust_port}"


def look_again(app: Flask, authority: Authority, network: Network, names: tuple[str, ...]) -> None:
    """Follow a change of addresses, and renew the certificate before it ends."""
    app.config["NAMES"] = frozenset(names)
    held = authority.ready(names, utc_now())
    if held.leaf != network.certificates.leaf:
        network.certificates = held
        network.tls.renew(held)


@contextmanager
def _running(server: Server) -> Iterator[None]:
    server.prepare()
    thread = Thread(target=server.serve, name="page of trust", daemon=True)
    thread.start()
    try:
        yield
    finally:
        server.stop()
        thread.join(_TIMEOUT_S)


@contextmanager
def _looking(
    app: Flask,
    authority: Authority,
    network: Network,
    names: Callable[[], tuple[str, ...]] = names_now,
) -> Iterator[None]:
    ended = Event()

    def watch() -> None:
        while not ended.wait(LOOK_S):
            with suppress(OSError, ValueError):
                look_again(app, authority, network, names())

    thread = Thread(target=watch, name="certificates", daemon=True)
    thread.start()
    try:
        yield
    finally:
        ended.set()
        thread.join(_TIMEOUT_S)
