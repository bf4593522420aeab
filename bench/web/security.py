"""What every request must show and every answer carries: host, origin, token, size, headers."""

from __future__ import annotations

import hmac
from urllib.parse import urlsplit

from flask import Flask, Response, abort, current_app, g, request, session
from flask.sessions import SecureCookieSessionInterface

from bench.web import clock, roles

TOKEN_FIELD = "csrf_token"
TOKEN_HEADER = "X-CSRF-Token"
LOOPBACK = frozenset({"localhost", "127.0.0.1", "::1"})
TOKEN_BITS = 256
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
FORM_PARTS = 600
POLICY = "; ".join(
    (
        "default-src 'self'",
        "img-src 'self' blob: data:",
        "media-src 'self' blob:",
        "object-src 'none'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "form-action 'self'",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # Not no-referrer: browsers would then send the origin of a form as null.
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), payment=(), usb=()",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}


class CookieSession(SecureCookieSessionInterface):
    """A signed cookie that is marked Secure where, and only where, it travels over TLS."""

    def get_cookie_secure(self, app: Flask) -> bool:
        """Say whether the cookie is for TLS only: loopback without TLS must keep working."""
        return request.is_secure


def install(app: Flask) -> None:
    """Check every request and dress every answer of the app."""
    app.session_interface = CookieSession()
    app.config.update(
        SESSION_COOKIE_NAME="tiltbook",
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Strict",
        # An answer that comes late, asked for before somebody signed in, must not undo it.
        SESSION_REFRESH_EACH_REQUEST=False,
        MAX_CONTENT_LENGTH=roles.FORM_BYTES,
        MAX_FORM_MEMORY_SIZE=roles.FORM_BYTES,
        MAX_FORM_PARTS=FORM_PARTS,
    )
    app.before_request(check_host)
    app.before_request(set_limits)
    app.before_request(check_origin)
    app.before_request(check_token)
    app.after_request(dressed)
    app.teardown_request(close_uploads)


def csrf_token() -> str:
    """Return this browser's token, which every form sends back, masked anew for every answer.

    The secret is made at first use. Masked, it is never twice the same in what is compressed, so that
    the lengths of many answers do not tell it (BREACH).
    """
    if "csrf" not in session:
        session["csrf"] = f"{clock.random_bits(TOKEN_BITS):064x}"
        session.permanent = True
    if "csrf_token" not in g:
        g.csrf_token = masked(session["csrf"], clock.random_bits(TOKEN_BITS))
    token: str = g.csrf_token
    return token


def masked(secret: str, mask: int) -> str:
    """Return a mask of 256 bits and the secret under it, 64 hexadecimal digits each."""
    return f"{mask:064x}{mask ^ int(secret, 16):064x}"


def unmasked(token: str) -> str:
    """Return the secret of a token; '' for what is none."""
    mask, under = token[:64], token[64:]
    try:
        return f"{int(mask, 16) ^ int(under, 16):064x}"
    except ValueError:
        return ""


def check_host() -> None:
    """Refuse a host that is not ours: a page elsewhere may have pointed its name at this PC."""
    if _host_of(f"//{request.host}") not in _our_hosts():
        abort(400, "host")


def _our_hosts() -> frozenset[str]:
    settings = current_app.config["SETTINGS"]
    return LOOPBACK | {settings.host, _host_of(settings.address), *current_app.config["NAMES"]}


def _host_of(address: str) -> str:
    try:
        return urlsplit(address).hostname or ""
    except ValueError:
        return "?"


def set_limits() -> None:
    """Bound the body by what the view takes, and refuse a longer one before reading it."""
    view = roles.view_asked()
    request.max_content_length = getattr(view, "most_bytes", roles.FORM_BYTES)
    if (request.content_length or 0) > request.max_content_length:
        if getattr(view, "by_device", False):
            _read_away(request.content_length or 0)
        abort(413)


def _read_away(length: int) -> None:
    """Take what a device still sends: else it sees a broken line in place of the answer."""
    source = request.environ["wsgi.input"]
    while length > 0 and (piece := source.read(min(length, 1 << 16))):
        length -= len(piece)


def check_origin() -> None:
    """Refuse a POST that a page of another origin sent."""
    if request.method in SAFE_METHODS:
        return
    origin = request.headers.get("Origin")
    if origin is not None and origin != request.host_url.rstrip("/"):
        abort(403, "origin")
    if request.headers.get("Sec-Fetch-Site", "same-origin") not in ("same-origin", "none"):
        abort(403, "origin")


def check_token() -> None:
    """Refuse a POST without the token of its browser."""
    if request.method in SAFE_METHODS or getattr(roles.view_asked(), "by_device", False):
        return
    sent = request.headers.get(TOKEN_HEADER) or request.form.get(TOKEN_FIELD, "")
    secret = session.get("csrf", "")
    if not secret or not hmac.compare_digest(unmasked(sent), secret):
        abort(403, "token")


def dressed(answer: Response) -> Response:
    """Give an answer the headers that every answer carries."""
    for name, value in HEADERS.items():
        answer.headers.setdefault(name, value)
    if "Cache-Control" not in answer.headers:
        answer.headers["Cache-Control"] = "no-store"
    return answer


def close_uploads(error: BaseException | None) -> None:
    """Let go of the files that a form brought."""
    request.close()
