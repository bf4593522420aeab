"""What every template may use: words, the reader, addresses of files, the form's token."""

from __future__ import annotations

import gzip
import hashlib
from functools import lru_cache
from pathlib import Path

from flask import (
    Blueprint,
    Flask,
    Response,
    abort,
    current_app,
    request,
    send_from_directory,
    url_for,
)

from bench.core.ids import shown_code
from bench.core.surfaces import Site, Surface
from bench.core.teeth import written
from bench.web import book, chosen, clock, display, seats, security, speech
from bench.web.forms import MM_PER_INCH
from bench.web.roles import least

YEAR_S = 365 * 24 * 3600
GAUGES_INCH_BY_MM = {0.25: "0.010", 0.5: "0.020", 0.75: "0.030"}

blueprint = Blueprint("frame", __name__)


def install(app: Flask, static: Path) -> None:
    """Give the templates what they use, and the static files an address that changes with them."""
    app.config["STATIC"] = static
    app.config["STATIC_MARK"] = mark_of(static)
    app.context_processor(given)
    app.after_request(spoken)


def mark_of(folder: Path) -> str:
    """Return a mark that changes when any file of a folder does: 16 hexadecimal digits of SHA-256."""
    whole = hashlib.sha256()
    for path in sorted(path for path in folder.rglob("*") if path.is_file()):
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        whole.update(f"{path.relative_to(folder).as_posix()} {digest}\n".encode())
    return whole.hexdigest()[:16]


def spoken(answer: Response) -> Response:
    """Return the answer with the language it speaks where it is a page (RFC 9110, 8.5)."""
    if answer.mimetype == "text/html":
        answer.headers["Content-Language"] = chosen.language()
    return answer


def given() -> dict[str, object]:
    """Return what every template is given."""
    return {
        "t": speech.say, "language": chosen.language(), "who": seats.person(),
        "display": display.display(), "csrf_token": security.csrf_token(), "asset": asset,
        "new_entry_id": clock.new_entry_id, "lock_href": url_for("people.lock_tablet"),
        "who_href": url_for("people.who"), "pin_href": url_for("people.own_pin"),
        "idle_seconds": int(book.lab().policy.number("idle_lock_s")),
        "tooth_text": tooth_text, "site_text": site_text, "gauge_text": gauge_text, "figure_text": figure_text,
        "code_text": shown_code, "field_name": speech.field_name,
    }  # fmt: skip


def tooth_text(tooth: int) -> str:
    """Return a tooth in the reader's numbering."""
    return written(tooth, display.display().numbering)


def site_text(tooth: int, surface: Surface) -> str:
    """Return a site in the reader's numbering: tooth, space, surface."""
    return Site(tooth, surface).shown(display.display().numbering)


def gauge_text(size_mm: float) -> str:
    """Return a gauge with its unit as the reader wants it."""
    if display.display().unit == "mm":
        return speech.with_point(f"{size_mm:.2f} mm")
    size = GAUGES_INCH_BY_MM.get(size_mm, f"{size_mm / MM_PER_INCH:.3f}")
    return speech.say("choices.figure.inch", value=speech.with_point(size)).replace("\u00a0", " ")


def figure_text(value: float, decimals: int | None = None) -> str:
    """Return a number with the decimal sign of the reader; without `decimals` as short as it can be."""
    return speech.with_point(f"{value:g}" if decimals is None else f"{value:.{decimals}f}")


def asset(name: str) -> str:
    """Return the address of a static file; it changes when any static file does.

    All files share one mark in their path, so that modules and styles find each other by relative
    addresses and never mix two versions.
    """
    return url_for("frame.static_file", mark=current_app.config["STATIC_MARK"], name=name)


@blueprint.get("/static/<mark>/<path:name>")
@least("stranger", quiet=True)
def static_file(mark: str, name: str) -> Response:
    """Serve a static file, for ever under the mark of its content and not at all under another."""
    if mark != current_app.config["STATIC_MARK"]:
        abort(404)
    folder = current_app.config["STATIC"]
    answer = send_from_directory(folder, name, max_age=YEAR_S)
    answer.headers["Cache-Control"] = f"public, max-age={YEAR_S}, immutable"
    return squeezed(answer, mark, folder / name)


def squeezed(answer: Response, mark: str, path: Path) -> Response:
    """Return the answer compressed where it is text and the browser takes it; pictures are already."""
    if (answer.mimetype or "").startswith("image/png") or answer.status_code != 200:
        return answer
    answer.vary.add("Accept-Encoding")
    if request.accept_encodings["gzip"]:
        answer.close()  # lets go of the open file before the bytes take its place
        answer.direct_passthrough = False
        answer.set_data(_gzip(mark, path))
        answer.headers["Content-Encoding"] = "gzip"
    return answer


@lru_cache(maxsize=256)
def _gzip(mark: str, path: Path) -> bytes:
    # The mark is of the content of all static files, so a changed file is compressed anew.
    return gzip.compress(path.read_bytes(), mtime=0)
