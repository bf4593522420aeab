"""What a bench is started with: one frozen set of settings from the command line and TILTBOOK_* variables."""

from __future__ import annotations

import ipaddress
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

PORT = 8480
HOST = "127.0.0.1"
EVERYWHERE = "0.0.0.0"
PREFIX = "TILTBOOK_"
NAMES = ("data", "host", "port", "address")


class BadSetting(ValueError):
    """A setting that cannot be used: its name, a stable code for its words, and the value given."""

    def __init__(self, name: str, code: str, value: object) -> None:
        super().__init__(f"{name}: {code} {value!r}")
        self.name, self.code, self.value = name, code, value


@dataclass(frozen=True, slots=True)
class Settings:
    """Where the records lie and where the bench answers.

    `address` is the base of the web addresses printed on labels; '' means the address served. With `lan`
    the bench answers the laboratory's own network, over TLS, under `names`: the host name with its
    .local names first, then addresses.
    """

    data: Path
    host: str = HOST
    port: int = PORT
    address: str = ""
    lan: bool = False
    names: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.data.exists() and not self.data.is_dir():
            raise BadSetting("data", "no_folder", self.data)
        if not self.lan and not _is_loopback(self.host):
            raise BadSetting("host", "not_loopback", self.host)
        if not 1 <= self.port <= 65535 - self.lan:
            raise BadSetting("port", "no_port", self.port)
        if self.address and not _is_base_address(self.address):
            raise BadSetting("address", "no_address", self.address)

    @property
    def served_at(self) -> str:
        """The address where the bench is opened."""
        if self.lan:
            return f"https://{self.names[0] if self.names else 'localhost'}:{self.port}"
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"http://{host}:{self.port}"

    @property
    def trust_port(self) -> int:
        """The port of the plain page that hands out the certificate of the lab: the next one."""
        return self.port + 1

    @property
    def tablets_at(self) -> str:
        """The base of the addresses that tablets open, without a slash at its end."""
        return (self.address or self.served_at).rstrip("/")

    @property
    def labels_at(self) -> str:
        """The base of the addresses printed on labels, without a slash at its end."""
        return self.tablets_at


def default_data_folder() -> Path:
    """Return the folder used when none is named: `tiltbook-data` in the user's home."""
    return Path.home() / "tiltbook-data"


def settings_from(
    environ: Mapping[str, str],
    *,
    lan: bool = False,
    names: tuple[str, ...] = (),
    **options: str | int | Path | None,
) -> Settings:
    """Return the settings: an option that is given counts before its TILTBOOK_* variable.

    Raises BadSetting, for a variable of that prefix that names no setting too.
    """
    _refuse_strangers(environ)
    given = {name: _given(name, environ, options) for name in NAMES}
    return Settings(
        data=Path(given["data"] or default_data_folder()).expanduser().absolute(),
        host=given["host"] or (EVERYWHERE if lan else HOST),
        port=_port(given["port"] or str(PORT)),
        address=given["address"] or "",
        lan=lan,
        names=names,
    )


def _given(
    name: str, environ: Mapping[str, str], options: Mapping[str, str | int | Path | None]
) -> str:
    option = options.get(name)
    return environ.get(PREFIX + name.upper(), "").strip() if option is None else str(option)


def _refuse_strangers(environ: Mapping[str, str]) -> None:
    known = {PREFIX + name.upper() for name in NAMES}
    for name in sorted(environ):
        if name.startswith(PREFIX) and name not in known:
            raise BadSetting(name, "unknown", environ[name])


def _port(text: str) -> int:
    try:
        return int(text)
    except ValueError:
        raise BadSetting("port", "no_port", text) from None


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _is_base_address(address: str) -> bool:
    try:
        parts = urlsplit(address)
        port_fits = parts.port is None or 1 <= parts.port <= 65535
    except ValueError:
        return False
    plain = not (parts.query or parts.fragment or parts.username)
    return parts.scheme in ("http", "https") and bool(parts.hostname) and port_fits and plain
