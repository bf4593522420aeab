from __future__ import annotations

import base64

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from bench.core.bounds import BadEntry
from bench.sync import signing
from tests.sync.sealing import Device

# FIPS 186-4 ECDSA on P-256 with SHA-256: RFC 6979, appendix A.2.5, message "sample".
X = "60FED4BA255A9D31C961EB74C6356D68C049B8923B61FA6CE669622E60F29FB6"
Y = "7903FE1008B8BC99A41AE9E95628BC64F2F1B20C2D7E9F5177A3C294D4462299"
R = "EFD48B2AACB6A8FD1140DD9CD45E81D69D2C877B56AAF991C34D0EA84EAF3716"
S = "F7CB1C942D657C41D436C7A1B6E29F65F3E900DBB9AFF4064DC4AB2F843ACDA8"


def published_key() -> str:
    numbers = ec.EllipticCurvePublicNumbers(int(X, 16), int(Y, 16), ec.SECP256R1())
    der = numbers.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    return base64.b64encode(der).decode()


def test_a_published_signature_holds_over_its_message_and_no_other():
    signature = base64.b64encode(bytes.fromhex(R + S)).decode()

    assert signing.holds(published_key(), signature, b"sample")
    assert not signing.holds(published_key(), signature, b"test")


@pytest.mark.parametrize("signature", ["", "AAAA", "no base64", "A" * 88, "\u00fc" * 4])
def test_what_is_no_signature_does_not_hold(signature):
    assert not signing.holds(published_key(), signature, b"sample")


def test_a_signature_is_over_method_path_body_and_epoch():
    device = Device()
    headers = device.sign("POST", "/sync/push", b"body", "e1")
    signature = headers["X-Tiltbook-Signature"]

    def holds(*parts):
        return signing.holds(device.public_key, signature, signing.signed_text(*parts))

    assert holds("POST", "/sync/push", b"body", "e1")
    assert not holds("GET", "/sync/push", b"body", "e1")
    assert not holds("POST", "/sync/push?x", b"body", "e1")
    assert not holds("POST", "/sync/push", b"bodY", "e1")
    assert not holds("POST", "/sync/push", b"body", "e2")


def test_a_device_is_named_for_its_key():
    device = Device()

    assert signing.device_name(device.public_key) == device.device


def test_a_point_off_the_curve_is_no_key():
    off = base64.b64encode(base64.b64decode(published_key())[:-1] + b"\x00").decode()

    with pytest.raises(BadEntry) as bad:
        signing.check_key(off)

    assert bad.value.code == "bad_key"
    assert not signing.holds(off, "A" * 86 + "==", b"sample")
