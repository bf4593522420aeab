"""A bench served over TLS in this process, on ports of its own, for the tests."""

from __future__ import annotations

import socket
import ssl
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from http.client import HTTPSConnection
from pathlib import Path
from typing import Any

from argon2 import PasswordHasher

from bench.app import create_app
from bench.lan.network import on_the_network
from bench.serving import server_of
from bench.settings import Settings

NAMES = ("tiltbook-here.local", "here.local", "here")


@dataclass
class Served:
    """What a test needs of it: the app, the settings, and what a tablet would have installed."""

    app: Any
    settings: Settings
    network: Any

    def trusting(self) -> ssl.SSLContext:
        """Return a client's context that trusts the lab's authority and nobody else."""
        der = self.network.certificates.authority_der()
        return ssl.create_default_context(cadata=der)

    def connection(self, timeout: float = 10) -> HTTPSConnection:
        """Return a connection of a tablet to the bench."""
        return HTTPSConnection(
            "localhost", self.settings.port, timeout=timeout, context=self.trusting()
        )


def free_ports() -> int:
    """Return a port that is free together with the next one."""
    while True:
        with closing(socket.create_server(("127.0.0.1", 0))) as probe:
            port = int(probe.getsockname()[1])
            try:
                with closing(socket.create_server(("127.0.0.1", port + 1))):
                    return port
            except OSError:
                continue


@contextmanager
def served(data: Path, hasher: PasswordHasher | None = None) -> Iterator[Served]:
    """Serve a bench to the network while inside, on this PC's own address."""
    settings = Settings(data, host="127.0.0.1", port=free_ports(), lan=True, names=NAMES)
    quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    app = create_app(settings, hasher=hasher or quick)
    with on_the_network(app, settings) as network:
        server = server_of(app, settings, network.tls)
        server.prepare()
        thread = threading.Thread(target=server.serve)
        thread.start()
        try:
            yield Served(app, settings, network)
        finally:
            server.stop()
            thread.join(10)
            app.extensions["store"].close()
