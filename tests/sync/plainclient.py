"""A device that speaks the documented protocol with the standard library and `cryptography` alone."""

from __future__ import annotations

import json
import ssl
from contextlib import closing
from http.client import HTTPConnection, HTTPSConnection
from typing import Any

from tests.sync.sealing import Device, sha256_hex

Answer = tuple[int, dict[str, Any]]


class PlainClient:
    """One device and its way to the bench. `epoch` is '' until it has paired."""

    def __init__(self, port: int, trusting: ssl.SSLContext | None = None) -> None:
        self.port, self.trusting = port, trusting
        self.own = Device()
        self.epoch = ""

    def pair(self, digits: str, name: str = "plain client") -> Answer:
        """Show the one-time code and the key."""
        said = {"code": digits, "name": name, "public_key": self.own.public_key}
        status, answer = self._asked("POST", "/pair", json.dumps(said).encode(), {})
        self.epoch = answer.get("epoch", self.epoch)
        return status, answer

    def push(self, texts: list[str], unsent: int = 0) -> Answer:
        """Send sealed entries; the signature over the body vouches for all of them."""
        said = {
            "device": self.own.device, "epoch": self.epoch, "unsent": unsent, "entries": texts,
        }  # fmt: skip
        return self.signed("POST", "/sync/push", json.dumps(said).encode())

    def signed(self, method: str, path: str, body: bytes = b"", **more: str) -> Answer:
        """Ask with a signature."""
        return self._asked(
            method, path, body, {**self.own.sign(method, path, body, self.epoch), **more}
        )

    def held(self, photo: bytes) -> int | None:
        """Return how much of a photo the bench holds; None for all of it."""
        path = f"/sync/photo/{sha256_hex(photo)}"
        status, answer = self.signed("HEAD", path)
        return None if status == 200 else int(answer["X-Tiltbook-Held"])

    def send_photo(self, photo: bytes, piece: int) -> Answer:
        """Send a photo in pieces from where the bench has it."""
        path, total = f"/sync/photo/{sha256_hex(photo)}", len(photo)
        answer: Answer = (200, {})
        while (first := self.held(photo)) is not None and first < total:
            part = photo[first : first + piece]
            span = {"Content-Range": f"bytes {first}-{first + len(part) - 1}/{total}"}
            answer = self.signed("PUT", path, part, **span)
        return answer

    def _asked(self, method: str, path: str, body: bytes, headers: dict[str, str]) -> Answer:
        sort = {"Content-Type": "application/json"} if method == "POST" else {}
        with closing(self._line()) as line:
            line.request(method, path, body or None, {**sort, **headers})
            answer = line.getresponse()
            text = answer.read()
            if method == "HEAD":
                return answer.status, dict(answer.headers)
            return answer.status, json.loads(text)

    def _line(self) -> HTTPConnection:
        if self.trusting is None:
            return HTTPConnection("127.0.0.1", self.port, timeout=20)
        return HTTPSConnection("localhost", self.port, timeout=20, context=self.trusting)
