"""Requests that a paired device signs instead of a person signing in."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from functools import wraps
from typing import cast

from flask import Flask, Response, current_app, g, jsonify, make_response, request
from werkzeug.exceptions import HTTPException

from bench.core.lab import Device
from bench.sync import signing
from bench.web import book, speech

DEVICE_HEADER = "X-Tiltbook-Device"
SIGNATURE_HEADER = "X-Tiltbook-Signature"
EPOCH_HEADER = "X-Tiltbook-Epoch"

View = Callable[..., Response]


class Turned(Exception):
    """A device's request that is not done: status, a stable code, and figures for device and words."""

    def __init__(self, status: int, code: str, **figures: object) -> None:
        super().__init__(code)
        self.status, self.code, self.figures = status, code, figures


def install(app: Flask) -> None:
    """Answer a device's request that is not done in JSON."""
    app.register_error_handler(Turned, turned_away)


def turned_away(turned: Turned) -> Response:
    """Return the code, its words and its figures, once all that the device sends has come.

    Who is answered before sees a broken line in place of the answer.
    """
    with suppress(HTTPException):
        request.get_data()
    key = f"devices.answer.{turned.code}"
    words = speech.say(key, **turned.figures) if speech.words().has(key) else turned.code
    body = jsonify({"code": turned.code, "words": words, **turned.figures})
    return make_response(body, turned.status)


def by_device(view: View) -> View:
    """Declare that a device asks, which has no form and no token of a browser."""
    view.by_device = True  # type: ignore[attr-defined]
    return view


def signed(view: View) -> View:
    """Let a request through whose signature is a paired device's, in the bench's epoch."""

    @wraps(view)
    def checked(*args: object, **named: object) -> Response:
        g.signer = _signer()
        _in_this_epoch()
        return view(*args, **named)

    return by_device(checked)


def signer() -> Device:
    """Return the device that signed this request."""
    return cast(Device, g.signer)


def _signer() -> Device:
    device = book.lab().devices.get(request.headers.get(DEVICE_HEADER, ""))
    if device is None:
        raise Turned(401, "unknown_device")
    if device.revoked_at:
        raise Turned(403, "revoked")
    text = signing.signed_text(
        request.method, _path_as_sent(), request.get_data(), request.headers.get(EPOCH_HEADER, "")
    )
    if not signing.holds(device.public_key, request.headers.get(SIGNATURE_HEADER, ""), text):
        raise Turned(401, "bad_signature")
    return device


def _path_as_sent() -> str:
    """Return path and query to the letter: a device signs what it writes on the line."""
    sent = request.environ.get("REQUEST_URI") or request.full_path.rstrip("?")
    return str(sent)


def _in_this_epoch() -> None:
    epoch = book.store().epoch
    if request.headers.get(EPOCH_HEADER) != epoch:
        held = book.log().cursor_of(signer().device)
        cursor = {"seq": held.seq, "digest": held.digest}
        raise Turned(409, "other_epoch", epoch=epoch, cursor=cursor)
    if current_app.extensions["intake"].clock_is_behind():
        raise Turned(503, "bench_clock")
