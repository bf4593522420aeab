"""The lab's own certificates: one authority that can vouch for this PC alone, and the one it serves with.

Sources: RFC 5280 (4.2.1.10 name constraints, 4.2.1.12 extended key usage); the bound of 397 days is the
one that browsers hold certificates to (CA/Browser Forum, baseline requirements, 6.3.2).
"""

from __future__ import annotations

import ipaddress
import os
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from bench.lan.names import LOOPBACK, PRIVATE, split

FOLDER = "certificates"
LEAF_DAYS = 397
AUTHORITY_DAYS = 3650
RENEW_DAYS = 30
_BACK = timedelta(days=1)
_OF_THIS_PC = ("127.0.0.0/8", "::1/128")


@dataclass(frozen=True, slots=True)
class Certificates:
    """What the lab has: the authority tablets trust, and the certificate and key that are served."""

    authority: x509.Certificate
    leaf: x509.Certificate
    chain_file: Path
    key_file: Path

    @property
    def fingerprint(self) -> str:
        """The authority's SHA-256 in pairs of hexadecimal digits, to be compared by eye."""
        return ":".join(f"{byte:02X}" for byte in self.authority.fingerprint(SHA256()))

    @property
    def names(self) -> tuple[str, ...]:
        """The names and addresses that the served certificate holds."""
        return names_in(self.leaf)

    def authority_der(self) -> bytes:
        """Return the authority's certificate as tablets install it."""
        return self.authority.public_bytes(Encoding.DER)


class Authority:
    """The authority of one bench, in a folder only its owner reads."""

    def __init__(self, data: Path) -> None:
        self.folder = data / FOLDER

    def ready(self, names: Sequence[str], now: datetime) -> Certificates:
        """Return certificates that hold these names now; makes what is missing, other or near its end.

        Names that the authority may not vouch for, as after the PC was renamed, are left out.
        """
        self.folder.mkdir(parents=True, exist_ok=True)
        authority, authority_key = self._authority(names, now)
        wanted = tuple(name for name in (*names, *LOOPBACK) if covers(authority, name))
        leaf = _read(self.folder / "served.pem")
        if leaf is None or not _serves(leaf, authority, wanted, now):
            leaf = self._issue(authority, authority_key, wanted, now)
        return Certificates(
            authority, leaf, self.folder / "served.pem", self.folder / "served-key.pem"
        )

    def held(self) -> Certificates | None:
        """Return the certificates there are, or None before the first start on the network."""
        authority, leaf = _read(self.folder / "authority.pem"), _read(self.folder / "served.pem")
        if authority is None or leaf is None:
            return None
        return Certificates(
            authority, leaf, self.folder / "served.pem", self.folder / "served-key.pem"
        )

    def forget(self) -> None:
        """Let go of the authority: the next start makes another, and every tablet has to trust anew."""
        for name in ("authority.pem", "authority-key.pem", "served.pem", "served-key.pem"):
            (self.folder / name).unlink(missing_ok=True)

    def _authority(
        self, names: Sequence[str], now: datetime
    ) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
        held, key = (
            _read(self.folder / "authority.pem"),
            _read_key(self.folder / "authority-key.pem"),
        )
        if (
            held is not None
            and key is not None
            and held.not_valid_after_utc > now + timedelta(days=LEAF_DAYS)
        ):
            return held, key
        key = ec.generate_private_key(ec.SECP256R1())
        made = _self_signed(key, names, now)
        _write(self.folder / "authority-key.pem", _pem(key))
        _write(self.folder / "authority.pem", made.public_bytes(Encoding.PEM))
        return made, key

    def _issue(
        self,
        authority: x509.Certificate,
        authority_key: ec.EllipticCurvePrivateKey,
        names: Sequence[str],
        now: datetime,
    ) -> x509.Certificate:
        key = ec.generate_private_key(ec.SECP256R1())
        leaf = _leaf(key, authority, authority_key, names, now)
        _write(self.folder / "served-key.pem", _pem(key))
        # The authority itself is installed on the tablet, so the served file holds the leaf alone.
        _write(self.folder / "served.pem", leaf.public_bytes(Encoding.PEM))
        return leaf


def names_in(leaf: x509.Certificate) -> tuple[str, ...]:
    """Return the names and addresses a certificate is for."""
    held = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    numbers = held.get_values_for_type(x509.IPAddress)
    return (*held.get_values_for_type(x509.DNSName), *(str(one) for one in numbers))


def covers(authority: x509.Certificate, name: str) -> bool:
    """Say whether an authority may vouch for a name or an address."""
    bounds = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    permitted = list(bounds.permitted_subtrees or ())
    domains, numbers = split([name])
    if domains:
        held = [one.value for one in permitted if isinstance(one, x509.DNSName)]
        return any(name == one or name.endswith("." + one) for one in held)
    networks = [one.value for one in permitted if isinstance(one, x509.IPAddress)]
    address = ipaddress.ip_address(numbers[0])
    return any(
        address in one
        for one in networks
        if isinstance(one, ipaddress.IPv4Network | ipaddress.IPv6Network)
    )


def is_near_its_end(leaf: x509.Certificate, now: datetime) -> bool:
    """Say whether a certificate has to be renewed."""
    return (
        leaf.not_valid_after_utc < now + timedelta(days=RENEW_DAYS)
        or leaf.not_valid_before_utc > now
    )


def _serves(
    leaf: x509.Certificate, authority: x509.Certificate, names: Sequence[str], now: datetime
) -> bool:
    try:
        leaf.verify_directly_issued_by(authority)
    except Exception:
        return False
    return set(names) <= set(names_in(leaf)) and not is_near_its_end(leaf, now)


def _self_signed(
    key: ec.EllipticCurvePrivateKey, names: Sequence[str], now: datetime
) -> x509.Certificate:
    subject = _named(f"Tiltbook on {split(names)[0][-1] if split(names)[0] else 'this PC'}")
    usage = _usage(signs_certificates=True)
    identity = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    server = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
    return (
        _builder(subject, subject, key, now, AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(_permitted(names), None), critical=True)
        .add_extension(server, critical=False)
        .add_extension(identity, critical=False)
        .sign(key, SHA256())
    )


def _leaf(
    key: ec.EllipticCurvePrivateKey,
    authority: x509.Certificate,
    authority_key: ec.EllipticCurvePrivateKey,
    names: Sequence[str],
    now: datetime,
) -> x509.Certificate:
    domains, numbers = split(names)
    held = [
        *map(x509.DNSName, domains),
        *(x509.IPAddress(ipaddress.ip_address(n)) for n in numbers),
    ]
    issuer = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key())
    identity = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    server = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
    return (
        _builder(_named(domains[0]), authority.subject, key, now, LEAF_DAYS)
        .add_extension(x509.SubjectAlternativeName(held), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(server, critical=False)
        .add_extension(issuer, critical=False)
        .add_extension(identity, critical=False)
        .sign(authority_key, SHA256())
    )


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, now: datetime, days: int
) -> x509.CertificateBuilder:
    """Begin a certificate a day back, for the clocks of tablets; its whole life is `days`."""
    begins = now - _BACK
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(begins)
        .not_valid_after(begins + timedelta(days=days))
    )


def _permitted(names: Sequence[str]) -> list[x509.GeneralName]:
    domains = [*split(names)[0], "localhost"]
    networks = [*PRIVATE, *map(ipaddress.ip_network, _OF_THIS_PC)]
    return [*(x509.DNSName(one) for one in dict.fromkeys(domains)), *map(x509.IPAddress, networks)]


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates, content_commitment=False, key_encipherment=False,
        data_encipherment=False, key_agreement=False, key_cert_sign=signs_certificates,
        crl_sign=signs_certificates, encipher_only=False, decipher_only=False,
    )  # fmt: skip


def _named(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text[:64])])


def _pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def _read(path: Path) -> x509.Certificate | None:
    try:
        return x509.load_pem_x509_certificate(path.read_bytes())
    except (OSError, ValueError):
        return None


def _read_key(path: Path) -> ec.EllipticCurvePrivateKey | None:
    try:
        key = load_pem_private_key(path.read_bytes(), None)
    except (OSError, ValueError, TypeError):
        return None
    return key if isinstance(key, ec.EllipticCurvePrivateKey) else None


def _write(path: Path, data: bytes) -> None:
    """Put a file in place whole, readable by its owner alone where that exists."""
    handle, name = tempfile.mkstemp(dir=path.parent)
    with os.fdopen(handle, "wb") as out:
        out.write(data)
    Path(name).replace(path)


def utc_now() -> datetime:
    """Return the time of this PC."""
    return datetime.now(UTC)
