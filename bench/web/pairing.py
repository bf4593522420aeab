"""The page where a tablet pairs itself, and the answer to its key and the one-time code."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, render_template, request

from bench.core.bounds import BadEntry
from bench.store.refusals import CodeRefused, Throttled
from bench.sync import pairing
from bench.web import book, clock, speech
from bench.web.roles import least
from bench.web.signed import Turned, by_device

blueprint = Blueprint("pairing", __name__)

PAIR_BYTES = 4_000
_STATUS_OF = {"revoked_key": 409}


@blueprint.get("/pair")
@least("stranger")
def ask() -> str:
    """Ask for the one-time code and a name for this tablet."""
    return render_template("devices/pair.html")


@blueprint.post("/pair")
@least("stranger", quiet=True, most_bytes=PAIR_BYTES)
@by_device
def pair() -> Response:
    """Make a device known to the lab by its key, for a good code."""
    code, name, key = _asked()
    try:
        device = pairing.pair(
            book.log(), code, name, key, now_ms=clock.now_ms(), random_bits=clock.random_bits
        )
    except Throttled as wait:
        raise Turned(429, wait.code, seconds=wait.seconds) from None
    except CodeRefused as refused:
        raise Turned(403, refused.code) from None
    except BadEntry as bad:
        words = speech.say_fault(bad.field, (bad.code, bad.params))
        raise Turned(_STATUS_OF.get(bad.code, 422), bad.code, words=words) from None
    book.forget()
    return jsonify(device=device, epoch=book.store().epoch, bench=book.store().device)


def _asked() -> tuple[str, str, str]:
    sent = request.get_json(silent=True)
    parts = (
        [sent.get(part) for part in ("code", "name", "public_key")]
        if isinstance(sent, dict)
        else []
    )
    if len(parts) != 3 or not all(isinstance(part, str) for part in parts):
        raise Turned(400, "bad_request")
    code, name, key = (str(part) for part in parts)
    return "".join(code.split()), name, key
