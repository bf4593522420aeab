"""Signatures of devices: ECDSA on P-256 with SHA-256 over what is asked, of which body, in which epoch.

Sources: FIPS 186-5 (ECDSA), RFC 5480 (keys); the form r||s is that of the Web Cryptography API.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
from functools import lru_cache

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ec import (
    ECDSA,
    SECP256R1,
    EllipticCurvePublicKey,
)
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import load_der_public_key

from bench.core.bounds import BadEntry

HALF_BYTES = 32


def device_name(public_key: str) -> str:
    """Return the name of the tablet that holds a key: so a key paired again is the same device.

    `public_key` is base64 of the key's SubjectPublicKeyInfo. Raises BadEntry 'bad_key'.
    """
    try:
        der = base64.b64decode(public_key, validate=True)
    except (ValueError, binascii.Error):
        raise BadEntry("public_key", "bad_key") from None
    return f"tablet-{hashlib.sha256(der).hexdigest()[:12]}"


def check_key(public_key: str) -> None:
    """Refuse a key whose point does not lie on the curve; raise BadEntry 'bad_key'."""
    try:
        _key(public_key)
    except (ValueError, TypeError):
        raise BadEntry("public_key", "bad_key") from None


def signed_text(method: str, path: str, body: bytes, epoch: str) -> bytes:
    """Return the bytes a signature is over; `path` with its query, as it was sent."""
    return "\n".join((method, path, hashlib.sha256(body).hexdigest(), epoch)).encode()


def holds(public_key: str, signature: str, text: bytes) -> bool:
    """Say whether a signature (base64 of r||s, 32 bytes each) is the key's over a text."""
    try:
        raw = base64.b64decode(signature, validate=True)
        if len(raw) != 2 * HALF_BYTES:
            return False
        r, s = int.from_bytes(raw[:HALF_BYTES]), int.from_bytes(raw[HALF_BYTES:])
        _key(public_key).verify(encode_dss_signature(r, s), text, ECDSA(SHA256()))
    except (ValueError, TypeError, binascii.Error, InvalidSignature):
        return False
    return True


@lru_cache(maxsize=256)
def _key(public_key: str) -> EllipticCurvePublicKey:
    key = load_der_public_key(base64.b64decode(public_key, validate=True))
    if not isinstance(key, EllipticCurvePublicKey) or not isinstance(key.curve, SECP256R1):
        raise ValueError("a P-256 key is wanted")
    return key
