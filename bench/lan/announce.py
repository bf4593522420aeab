"""The name of the bench on the network, announced by multicast DNS (RFC 6762, RFC 6763)."""

from __future__ import annotations

import socket
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from importlib.util import find_spec

from bench.lan.names import split

SERVICE = "_https._tcp.local."


def can_announce() -> bool:
    """Say whether the library for it is installed (the optional extra `lan`)."""
    return find_spec("zeroconf") is not None


@contextmanager
def announced(names: Sequence[str], port: int) -> Iterator[bool]:
    """Announce the first name for the addresses among names while inside; yield whether it is done."""
    numbers = [one for one in split(names)[1] if ":" not in one]
    if not can_announce() or not numbers:
        yield False
        return
    from zeroconf import Error, IPVersion, ServiceInfo, Zeroconf

    domain = split(names)[0][0]
    info = ServiceInfo(
        SERVICE, f"{domain.removesuffix('.local')}.{SERVICE}", port=port, server=f"{domain}.",
        addresses=[socket.inet_aton(one) for one in numbers],
    )  # fmt: skip
    try:
        voice = Zeroconf(interfaces=numbers, ip_version=IPVersion.V4Only)
    except OSError:
        yield False
        return
    try:
        with suppress(Error, OSError):
            voice.register_service(info, allow_name_change=False)
        yield True
    finally:
        voice.close()
