from __future__ import annotations

import ipaddress
import os
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.x509.oid import ExtendedKeyUsageOID
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from bench.lan.authority import Authority, covers, is_near_its_end, names_in

NOW = datetime(2026, 3, 9, 8, tzinfo=UTC)
NAMES = ("tiltbook-pc.local", "pc.local", "pc", "192.168.1.7", "fd00::7")
YEAR = timedelta(days=365)


@pytest.fixture
def authority(tmp_path):
    return Authority(tmp_path)


def believes(held, name, at=NOW):
    """Say whether a verifier of X.509 by RFC 5280, not ours, takes the certificate for a name."""
    try:
        subject = x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        subject = x509.DNSName(name)
    builder = PolicyBuilder().store(Store([held.authority])).time(at.replace(tzinfo=None))
    try:
        builder.build_server_verifier(subject).verify(held.leaf, [])
    except VerificationError:
        return False
    return True


@pytest.mark.parametrize("name", [*NAMES, "localhost", "127.0.0.1"])
def test_a_tablet_that_trusts_the_authority_believes_every_name(authority, name):
    assert believes(authority.ready(NAMES, NOW), name)


def test_the_authority_is_bounded_to_this_pc(authority):
    held = authority.ready(NAMES, NOW)
    bounds = held.authority.extensions.get_extension_for_class(x509.NameConstraints)
    basic = held.authority.extensions.get_extension_for_class(x509.BasicConstraints)

    assert (bounds.critical, basic.critical) == (True, True)
    assert (basic.value.ca, basic.value.path_length) == (True, 0)
    assert covers(held.authority, "pc.local")
    assert not covers(held.authority, "other.local")
    assert not covers(held.authority, "bank.example")
    assert not covers(held.authority, "8.8.8.8")


def test_a_certificate_for_elsewhere_is_not_believed_though_the_authority_signed_it(authority):
    held = authority.ready(NAMES, NOW)
    key = authority._authority(NAMES, NOW)[1]
    wild = ec.generate_private_key(ec.SECP256R1())
    names = x509.SubjectAlternativeName([x509.DNSName("bank.example")])
    issuer = x509.AuthorityKeyIdentifier.from_issuer_public_key(key.public_key())
    forged = (
        x509.CertificateBuilder(
            held.leaf.issuer, x509.Name([]), wild.public_key(), 7, NOW, NOW + YEAR
        )
        .add_extension(names, critical=True)
        .add_extension(issuer, critical=False)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(key, SHA256())
    )
    builder = PolicyBuilder().store(Store([held.authority])).time(NOW.replace(tzinfo=None))

    with pytest.raises(VerificationError, match="constraint"):
        builder.build_server_verifier(x509.DNSName("bank.example")).verify(forged, [])


# CA/Browser Forum, baseline requirements, section 6.3.2: no more than 397 days is safe.
def test_the_served_certificate_lives_no_longer_than_browsers_allow(authority):
    leaf = authority.ready(NAMES, NOW).leaf

    life = leaf.not_valid_after_utc - leaf.not_valid_before_utc
    usage = leaf.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert life <= timedelta(days=397)
    assert list(usage) == [ExtendedKeyUsageOID.SERVER_AUTH]
    assert isinstance(leaf.public_key().curve, ec.SECP256R1)


def test_a_start_the_day_after_changes_nothing(authority):
    first = authority.ready(NAMES, NOW)

    again = authority.ready(NAMES, NOW + timedelta(days=1))

    assert (again.authority, again.leaf) == (first.authority, first.leaf)


def test_it_is_renewed_before_it_ends_and_tablets_need_not_trust_anew(authority):
    first = authority.ready(NAMES, NOW)
    later = NOW + timedelta(days=370)

    renewed = authority.ready(NAMES, later)

    assert is_near_its_end(first.leaf, later)
    assert renewed.leaf != first.leaf
    assert renewed.fingerprint == first.fingerprint
    assert believes(renewed, "pc.local", later)


def test_a_new_address_is_taken_up_under_the_same_authority(authority):
    first = authority.ready(NAMES, NOW)

    moved = authority.ready((*NAMES[:3], "192.168.1.99"), NOW)

    assert moved.authority == first.authority
    assert believes(moved, "192.168.1.99")


def test_after_a_renaming_what_the_authority_may_not_say_is_left_out(authority):
    authority.ready(NAMES, NOW)

    held = authority.ready(("other.local", "192.168.1.7"), NOW)

    assert "other.local" not in names_in(held.leaf)
    assert believes(held, "192.168.1.7")


def test_an_authority_near_its_end_makes_way_for_another(authority):
    first = authority.ready(NAMES, NOW)

    second = authority.ready(NAMES, NOW + 9.5 * YEAR)

    assert second.fingerprint != first.fingerprint


def test_forgetting_makes_another_authority(authority):
    first = authority.ready(NAMES, NOW)
    authority.forget()

    assert authority.held() is None
    assert authority.ready(NAMES, NOW).fingerprint != first.fingerprint


@pytest.mark.parametrize("name", ["authority.pem", "authority-key.pem", "served.pem"])
def test_a_damaged_file_is_made_anew(authority, name):
    authority.ready(NAMES, NOW)
    (authority.folder / name).write_bytes(b"damaged")

    assert believes(authority.ready(NAMES, NOW), "pc.local")


def test_the_keys_are_their_owners_alone(authority):
    authority.ready(NAMES, NOW)

    modes = [path.stat().st_mode & 0o077 for path in authority.folder.iterdir()]

    assert len(modes) == 4
    assert os.name == "nt" or set(modes) == {0}


def test_the_fingerprint_is_written_to_be_compared_by_eye(authority):
    assert len(authority.ready(NAMES, NOW).fingerprint.split(":")) == 32
