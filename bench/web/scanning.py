"""Scanning: a label in front of the camera, in a photo, or typed, opens its case."""

from __future__ import annotations

from flask import Blueprint, Response, make_response, render_template, request

from bench.core.ids import BadCode, code_from_scan, code_from_typed
from bench.pictures.apart import read_label
from bench.pictures.refusal import PictureRefused
from bench.web import cases, speech
from bench.web.roles import PHOTO_BYTES, least

blueprint = Blueprint("scanning", __name__)

_PARTS = ("what", "why", "do")


@blueprint.get("/scan")
@least("reader")
def scan() -> str:
    """Ask for a label: camera, photo or typed code."""
    return render_template("scan/scan.html", words={}, typed="")


@blueprint.post("/scan")
@least("reader")
def read_text() -> Response:
    """Open the case of what the camera read or a person typed."""
    text = request.form.get("code", "").strip()[:400]
    code = code_from_scan(text)
    if code:
        return cases.way_to(code)
    if "/" in text or ":" in text:
        return _refused("labels.scan.foreign", {}, text)
    try:
        return cases.way_to(code_from_typed(text))
    except BadCode as bad:
        return _refused(f"labels.typed.{bad.code}", bad.params, text)


@blueprint.post("/scan/photo")
@least("reader", most_bytes=PHOTO_BYTES)
def read_photo() -> Response:
    """Open the case of the label in a photo; the photo itself is not kept."""
    sent = request.files.get("photo")
    try:
        found = read_label(sent.read() if sent else b"")
    except PictureRefused as refused:
        return _refused(f"pictures.refused.{refused.code}", refused.params, "")
    if found.code:
        return cases.way_to(found.code)
    return _refused(f"labels.scan.{found.reason}", {}, "")


def _refused(key: str, params: dict[str, str | int], typed: str) -> Response:
    words = {part: speech.say(f"{key}.{part}", **params) for part in _PARTS}
    return make_response(render_template("scan/scan.html", words=words, typed=typed), 422)
