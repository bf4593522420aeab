"""Serve the app to this PC: threads, time limits and size limits, and a clean end."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

from cheroot.wsgi import Server
from flask import Flask

from bench.lan.tls import LateHandshake, NetworkServer
from bench.settings import Settings
from bench.web.roles import PHOTO_BYTES

THREADS = 16
NETWORK_THREADS = 64
TIMEOUT_S = 10
HEADER_BYTES = 32_768
# A photo's form has some bytes around the photo.
BODY_BYTES = PHOTO_BYTES + 65_536


def server_of(app: Flask, settings: Settings, tls: LateHandshake | None = None) -> Server:
    """Return the server of an app, not yet started; a client that stalls is dropped after ten seconds.

    With `tls` it answers the network: each client that stalls in its handshake keeps one thread busy.
    """
    server = NetworkServer(
        (settings.host, settings.port), app, numthreads=NETWORK_THREADS if tls else THREADS,
        timeout=TIMEOUT_S, server_name="tiltbook", shutdown_timeout=TIMEOUT_S, request_queue_size=64,
    )  # fmt: skip
    if tls is not None:
        server.ssl_adapter = tls
    server.max_request_header_size = HEADER_BYTES
    server.max_request_body_size = BODY_BYTES
    return server


def serve(server: Server, ready: Callable[[], None]) -> None:
    """Serve until Ctrl+C or a request to end, then finish what is being answered.

    `ready` is called once the port is held. Raises OSError when the port is taken.
    """
    with _ended_by_signal():
        try:
            server.prepare()
            ready()
            server.serve()
        except KeyboardInterrupt:
            pass
        finally:
            server.stop()


@contextmanager
def _ended_by_signal() -> Iterator[None]:
    """Treat a request to end like Ctrl+C."""
    before = signal.signal(signal.SIGTERM, _interrupt)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _interrupt(number: int, frame: FrameType | None) -> None:
    raise KeyboardInterrupt
