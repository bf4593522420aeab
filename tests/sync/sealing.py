"""A device of the tests: its key, its name, its chain, its signatures, made without the bench's own code."""

from __future__ import annotations

import base64
import hashlib
import json
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat


def sha256_hex(data: bytes) -> str:
    """Return a digest as the protocol writes it."""
    return hashlib.sha256(data).hexdigest()


def uuid7(at_ms: int, number: int) -> str:
    """Return a UUID version 7 (RFC 9562, section 5.7) of a time, told apart by a number."""
    digits = f"{at_ms:012x}7{number >> 62 & 0xFFF:03x}{1 << 63 | number & (1 << 62) - 1:016x}"
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))


def iso(at_ms: int) -> str:
    """Return Unix milliseconds as ISO 8601 in UTC with three decimals."""
    from datetime import UTC, datetime

    moment = datetime.fromtimestamp(at_ms // 1000, UTC)
    return moment.strftime("%Y-%m-%dT%H:%M:%S.") + f"{at_ms % 1000:03d}Z"


class Device:
    """A key and the chain sealed with its name."""

    def __init__(self) -> None:
        self.key = ec.generate_private_key(ec.SECP256R1())
        der = self.key.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
        self.public_key = base64.b64encode(der).decode()
        self.device = "tablet-" + sha256_hex(der)[:12]
        self.sealed: list[str] = []

    def seal(self, kind: str, body: dict[str, Any], at_ms: int, **fields: Any) -> str:
        """Seal a statement as the next of the chain, and return its canonical text."""
        said = {
            "v": 1, "id": uuid7(at_ms, len(self.sealed) * 1000 + int(self.device[-6:], 16)), "kind": kind,
            "case": None, "setting": None, "body": body, "person": "TEC", "device": self.device,
            "at": iso(at_ms), "seq": len(self.sealed) + 1,
            "prev": sha256_hex(self.sealed[-1].encode()) if self.sealed else "",
            "supersedes": [], "reason": "", **fields,
        }  # fmt: skip
        self.sealed.append(canonical(said))
        return self.sealed[-1]

    def sign(self, method: str, path: str, body: bytes, epoch: str) -> dict[str, str]:
        """Return the headers of a signed request."""
        text = "\n".join((method, path, sha256_hex(body), epoch)).encode()
        r, s = decode_dss_signature(self.key.sign(text, ec.ECDSA(SHA256())))
        raw = r.to_bytes(32, "big") + s.to_bytes(32, "big")
        return {
            "X-Tiltbook-Device": self.device,
            "X-Tiltbook-Epoch": epoch,
            "X-Tiltbook-Signature": base64.b64encode(raw).decode(),
        }


def canonical(said: dict[str, Any]) -> str:
    """Return the RFC 8785 text of a statement whose names are ASCII and whose numbers are plain."""
    return json.dumps(said, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def remade(text: str, **changes: Any) -> str:
    """Return a sealed text with some of its fields changed, canonical again."""
    return canonical({**json.loads(text), **changes})
