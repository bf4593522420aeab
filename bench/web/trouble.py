"""Pages for what could not be done: what, why, and what to do."""

from __future__ import annotations

from flask import (
    Flask,
    Response,
    current_app,
    jsonify,
    make_response,
    render_template,
    render_template_string,
)
from werkzeug.exceptions import HTTPException

from bench.core.bounds import BadEntry
from bench.store.refusals import AlreadyRecorded, LogbookBusy
from bench.web import htmx, roles, speech
from bench.web.record import NotAllowed

CODES = {404: "not_found", 413: "oversize", 429: "throttled", 500: "failed"}
STATUSES = (400, 403, 404, 405, 408, 409, 413, 415, 422, 429, 500)


def install(app: Flask) -> None:
    """Answer every failure of the app with a page in words."""
    app.register_error_handler(HTTPException, failed)
    app.register_error_handler(NotAllowed, not_allowed)
    app.register_error_handler(BadEntry, bad_entry)
    app.register_error_handler(AlreadyRecorded, already_recorded)
    app.register_error_handler(LogbookBusy, busy)
    app.register_error_handler(Exception, unforeseen)


def failed(error: HTTPException) -> Response:
    """Show the page of a status; a description that is one of ours adds why."""
    status = error.code if error.code in STATUSES else 400 if (error.code or 500) < 500 else 500
    key = f"errors.why.{error.description}"
    answer = page(status, why=speech.say(key) if speech.words().has(key) else None)
    for name, value in error.get_headers():
        if name not in ("Content-Type", "Content-Length"):
            answer.headers[name] = value
    return answer


def not_allowed(error: NotAllowed) -> Response:
    """Show that the person's role does not record this."""
    return page(403, why=speech.say(f"errors.why.{error.code}"))


def bad_entry(error: BadEntry) -> Response:
    """Show a refusal that no view put beside its field."""
    return page(422, why=speech.say_fault(error.field, (error.code, error.params)))


def already_recorded(error: AlreadyRecorded) -> Response:
    """Show that a form's id was used for other words."""
    return page(409, why=speech.say_fault("entry_id", speech.fault_of(error)))


def busy(error: LogbookBusy) -> Response:
    """Show that the log could not be reached in time."""
    if getattr(roles.view_asked(), "by_device", False):
        words = speech.say("devices.answer.busy")
        answer = make_response(jsonify(code="busy", words=words), 503)
    else:
        answer = page(500, why=speech.say("errors.why.busy"))
    answer.headers["Retry-After"] = "5"
    return answer


def unforeseen(error: Exception) -> Response:
    """Show that something of ours failed; its trace goes to the log of the program alone."""
    current_app.logger.error("unforeseen", exc_info=error)
    return page(500)


def page(status: int, *, why: str | None = None) -> Response:
    """Return the page of a status in the shell; htmx puts it into the main part of the page it has.

    A device that asks by itself is answered in JSON.
    """
    if getattr(roles.view_asked(), "by_device", False):
        code = CODES.get(status, "bad_request")
        return make_response(jsonify(code=code, words=speech.say(f"devices.answer.{code}")), status)
    part = f"errors.page.{status}"
    said = {"what": speech.say(f"{part}.what"), "todo": speech.say(f"{part}.todo")}
    said["why"] = why or speech.say(f"{part}.why")
    return htmx.into_main(make_response(_rendered(said), status))


def _rendered(said: dict[str, str]) -> str:
    try:
        return render_template("pages/trouble.html", **said)
    except Exception:
        # The shell itself may be what failed, and then the words alone must do.
        current_app.logger.exception("the page of a failure failed")
        return render_template_string(_BARE, **said)


_BARE = (
    "<!doctype html><title>{{ what }}</title><h1>{{ what }}</h1><p>{{ why }}</p><p>{{ todo }}</p>"
)
