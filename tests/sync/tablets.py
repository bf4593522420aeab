"""A tablet as the protocol wants it, without a browser: outbox, chain, copies, and what it makes of answers."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from tests.sync.sealing import canonical, iso, sha256_hex, uuid7


@dataclass(frozen=True)
class Request:
    """A push on its way."""

    device: str
    epoch: str
    texts: tuple[str, ...]


class Tablet:
    """Statements wait, are sealed in order, and leave the chain's end only by a receipt."""

    def __init__(self, device: str, epoch: str) -> None:
        self.device, self.epoch = device, epoch
        self.waiting: list[dict[str, Any]] = []
        self.sealed: list[str] = []
        self.copies: list[str] = []
        self.attention: list[str] = []
        self.stated: list[str] = []
        self.receipted: set[str] = set()
        self.resend_from = 0

    def state(self, case: str, tooth: int, person: str, at_ms: int) -> None:
        """Say something: from now on it must be in the log once, or be shown as refused."""
        key = uuid7(at_ms, int(self.device[-4:], 16) << 20 | len(self.stated))
        self.stated.append(key)
        self.waiting.append(
            {
                "v": 1, "id": key, "kind": "rest_wished", "case": case, "setting": None,
                "body": {"tooth": tooth, "seat": "mesial"}, "person": person, "device": self.device,
                "at": iso(at_ms), "supersedes": [], "reason": "",
            }
        )  # fmt: skip

    def request(self) -> Request:
        """Seal what waits and return the next push: what the bench lacks of the copies comes first."""
        chain = [*self.copies, *self.sealed]
        for said in self.waiting:
            prev = sha256_hex(chain[-1].encode()) if chain else ""
            chain.append(canonical({**said, "seq": len(chain) + 1, "prev": prev}))
        self.sealed, self.waiting = chain[len(self.copies) :], []
        return Request(self.device, self.epoch, tuple(chain[self.resend_from :][:6]))

    def hear(self, answer: dict[str, Any]) -> None:
        """Take in an answer, however late, often or out of turn it comes."""
        if answer.get("code") == "other_epoch":
            self.epoch, self.resend_from = answer["epoch"], answer["cursor"]["seq"]
            return
        if answer["epoch"] != self.epoch:
            return
        for receipt in answer["receipts"]:
            self._take(receipt)
        self.resend_from = min(answer["cursor"]["seq"], len(self.copies))

    def _take(self, receipt: dict[str, Any]) -> None:
        """A receipt counts when it names the id and the digest of what is sealed now."""
        if receipt["verdict"] in ("stored", "already"):
            if self.sealed and self._is(self.sealed[0], receipt):
                self.copies.append(self.sealed.pop(0))
            self.receipted.add(receipt["digest"])
        elif (
            receipt["verdict"] == "refused"
            and receipt["code"] != "gap"
            and self.sealed
            and self._is(self.sealed[0], receipt)
        ):
            self.attention.append(json.loads(self.sealed.pop(0))["id"])
            behind = [json.loads(text) for text in self.sealed]
            self.sealed, self.waiting = [], [*behind, *self.waiting]

    def _is(self, text: str, receipt: dict[str, Any]) -> bool:
        same = json.loads(text)["id"] == receipt["id"]
        return same and sha256_hex(text.encode()) == receipt["digest"]
