"""The names and addresses under which tablets find this PC."""

from __future__ import annotations

import ipaddress
import re
import socket
from collections.abc import Iterable
from contextlib import closing, suppress

# Addresses of documentation (RFC 5737, RFC 3849): asking for the way there sends nothing.
_SOMEWHERE = ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1"))
LOOPBACK = ("localhost", "127.0.0.1", "::1")
# RFC 1918, RFC 3927, RFC 4193, RFC 4291: what is never routed on the internet.
PRIVATE = tuple(
    ipaddress.ip_network(one)
    for one in (
        "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "fc00::/7", "fe80::/10",
    )
)  # fmt: skip


def host_name(said: str | None = None) -> str:
    """Return the name of this PC as one label of a domain name: lower-case letters, digits, hyphens."""
    first = (said if said is not None else socket.gethostname()).lower().partition(".")[0]
    label = re.sub(r"[^a-z0-9-]+", "-", first).strip("-")[:50]
    return label or "bench"


def domain_names(host: str) -> tuple[str, ...]:
    """Return the names tablets may use, the one announced by ourselves first (RFC 6762: .local)."""
    return f"tiltbook-{host}.local", f"{host}.local", host


def addresses() -> tuple[str, ...]:
    """Return the addresses of this PC in private networks, the one on the way out first."""
    found = [*_on_the_way_out(), *_of_the_host()]
    return tuple(dict.fromkeys(one for one in found if is_private(one)))


def names_now() -> tuple[str, ...]:
    """Return all names and addresses under which the bench answers now."""
    return (*domain_names(host_name()), *addresses())


def is_private(address: str) -> bool:
    """Say whether an address belongs to a private network, and not to this PC alone."""
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return False
    return any(found in network for network in PRIVATE if network.version == found.version)


def split(names: Iterable[str]) -> tuple[list[str], list[str]]:
    """Return the domain names, and the addresses, among names."""
    domains: list[str] = []
    numbers: list[str] = []
    for name in names:
        (numbers if _is_address(name) else domains).append(name)
    return domains, numbers


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def _on_the_way_out() -> list[str]:
    found = []
    for family, there in _SOMEWHERE:
        with suppress(OSError), closing(socket.socket(family, socket.SOCK_DGRAM)) as probe:
            probe.connect((there, 9))
            found.append(str(probe.getsockname()[0]))
    return found


def _of_the_host() -> list[str]:
    with suppress(OSError):
        return [
            str(one[4][0]).partition("%")[0]
            for one in socket.getaddrinfo(socket.gethostname(), None)
        ]
    return []
