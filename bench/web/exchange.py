"""What devices send and read: sealed entries, cursors, photos. Every answer is JSON."""

from __future__ import annotations

from flask import Blueprint, Response, current_app, jsonify, make_response, request

from bench.core.bounds import BadEntry
from bench.pictures.apart import take_in
from bench.pictures.refusal import PictureRefused
from bench.store.contacts import note_contact
from bench.store.log import iso
from bench.store.photos import NoSuchPhoto
from bench.sync import arriving, exchange
from bench.sync.kinds import kinds
from bench.sync.receive import MOST_ENTRIES, Answer, Intake
from bench.web import book, clock, speech
from bench.web.photos import shelf
from bench.web.roles import PHOTO_BYTES, least
from bench.web.signed import Turned, by_device, signed, signer

blueprint = Blueprint("exchange", __name__)

ARRIVING = "arriving"
HELD_HEADER = "X-Tiltbook-Held"
_STATUS_OF = {"oversize": 413, "no_room": 507, "other_digest": 422}


@blueprint.post("/sync/push")
@least("stranger", quiet=True, most_bytes=exchange.PUSH_BYTES)
@signed
def push() -> Response:
    """Take in a batch of sealed entries and answer each with a receipt."""
    try:
        sent = exchange.push_in(request.get_data())
    except BadEntry as bad:
        raise Turned(_STATUS_OF.get(bad.code, 400), bad.code, **bad.params) from None
    if (sent.device, sent.epoch) != (signer().device, book.store().epoch):
        raise Turned(400, "bad_request")
    answers = intake().receive(signer(), [text.encode("utf-8") for text in sent.entries])
    book.forget()
    note_contact(book.store(), signer().device, clock.now_ms(), sent.unsent)
    receipts = [_receipt(answer) for answer in answers]
    return jsonify(
        epoch=sent.epoch, cursor=_cursor(), receipts=receipts, at=iso(clock.now_ms())
    )  # fmt: skip


@blueprint.get("/sync/cursors")
@least("stranger", quiet=True)
@signed
def cursors() -> Response:
    """Say how far the chain of every device is held."""
    note_contact(book.store(), signer().device, clock.now_ms())
    return jsonify(epoch=book.store().epoch, cursors=exchange.cursors(book.log()))


@blueprint.get("/sync/after")
@least("stranger", quiet=True)
@signed
def after() -> Response:
    """Hand out the entries of a device after a sequence number, as they are sealed."""
    seq, limit = _whole("seq", 0), _whole("limit", MOST_ENTRIES)
    device = request.args.get("device", "")
    texts = exchange.after(book.log(), device, seq, limit)
    return jsonify(epoch=book.store().epoch, device=device, entries=texts)


@blueprint.get("/sync/kinds")
@least("stranger", quiet=True)
@by_device
def schema() -> Response:
    """Say which kinds of entry a tablet may state, with the fields and types of each."""
    return jsonify(kinds())


@blueprint.get("/sync/photo/<sha>")
@least("stranger", quiet=True)
@signed
def held(sha: str) -> Response:
    """Say whether a photo is held, or how many bytes of it are here; the picture itself is not sent."""
    try:
        if shelf().has(sha):
            return make_response("", 200)
        count = _arriving().held(signer().device, sha)
    except (NoSuchPhoto, BadEntry):
        raise Turned(400, "bad_request") from None
    answer = make_response("", 404)
    answer.headers[HELD_HEADER] = str(count)
    return answer


@blueprint.put("/sync/photo/<sha>")
@least("stranger", quiet=True, most_bytes=PHOTO_BYTES)
@signed
def keep(sha: str) -> Response:
    """Take in a photo, whole or piece by piece, and keep it once it is all here."""
    try:
        if shelf().has(sha):
            return jsonify(held=0, sha256=sha)
        return _added(sha, request.get_data())
    except arriving.OtherOffset as other:
        raise Turned(409, "other_offset", held=other.held) from None
    except NoSuchPhoto:
        raise Turned(400, "bad_request") from None
    except BadEntry as bad:
        raise Turned(_STATUS_OF.get(bad.code, 400), bad.code) from None


def _added(sha: str, piece: bytes) -> Response:
    first, total = arriving.piece_range(request.headers.get("Content-Range"), len(piece))
    device = signer().device
    whole = _arriving().add(device, sha, first, total, piece)
    if whole is None:
        return make_response(jsonify(held=_arriving().held(device, sha)), 202)
    try:
        _kept(sha, whole)
    finally:
        _arriving().forget(device, sha)
    return jsonify(held=total, sha256=sha)


def _kept(sha: str, whole: bytes) -> None:
    """Put a picture on the shelf under the digest its entry names; one with more than pixels is refused."""
    try:
        picture = take_in(whole)
    except PictureRefused as refused:
        words = " ".join(
            speech.say(f"pictures.refused.{refused.code}.{part}", **refused.params)
            for part in ("what", "why", "do")
        )
        raise Turned(422, refused.code, words=words) from None
    if picture.sha256_hex != sha:
        raise Turned(422, "not_bare")
    shelf().keep(picture)


def intake() -> Intake:
    """Return the one intake of this bench."""
    kept: Intake = current_app.extensions["intake"]
    return kept


def _arriving() -> arriving.Arriving:
    kept: arriving.Arriving | None = current_app.extensions.get("arriving")
    if kept is None:
        folder = current_app.config["SETTINGS"].data / ARRIVING
        kept = current_app.extensions["arriving"] = arriving.Arriving(folder)
    return kept


def _cursor() -> dict[str, object]:
    at = book.log().cursor_of(signer().device)
    return {"seq": at.seq, "digest": at.digest}


def _receipt(answer: Answer) -> dict[str, object]:
    return {
        "id": answer.id, "digest": answer.digest, "verdict": answer.verdict, "code": answer.code,
        "field": answer.field, "held_seq": answer.held_seq, "note": answer.note, "words": _words(answer),
    }  # fmt: skip


def _words(answer: Answer) -> str:
    """Return why an entry was refused, in words; nothing where it was not."""
    if not answer.code:
        return ""
    key = f"devices.receipt.{answer.code}"
    if speech.words().has(key):
        return speech.say(key, **{"person": "?", **answer.params})
    try:
        return speech.say_fault(answer.field, (answer.code, answer.params))
    except (KeyError, IndexError):
        return speech.say("devices.receipt.other", code=answer.code)


def _whole(name: str, otherwise: int) -> int:
    text = request.args.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 16 else otherwise
