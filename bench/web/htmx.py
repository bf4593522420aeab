"""The one place that reads and sets the headers htmx and the server talk with."""

from __future__ import annotations

import json
from collections.abc import Mapping

from flask import Flask, Response
from htmx_flask import Htmx, make_response, request

htmx = Htmx()


def install(app: Flask) -> None:
    """Let the app's requests know whether htmx made them."""
    htmx.init_app(app)


def asked_by_htmx() -> bool:
    """Say whether htmx made this request and will put the answer into the page it has."""
    return bool(request.htmx) and not request.htmx.history_restore_request


def with_event(answer: Response, name: str, detail: Mapping[str, object]) -> Response:
    """Return the answer so that the page hears an event once the answer is in place."""
    # The header goes out as ASCII, so letters beyond it are written as JSON escapes.
    return _sent(answer, trigger_after_settle=json.dumps({name: detail}))


def sent_elsewhere(answer: Response, address: str) -> Response:
    """Return the answer so that htmx loads another page as a whole."""
    return _sent(answer, redirect=address)


def into_main(answer: Response) -> Response:
    """Return a whole page so that its main part replaces the main part of the page htmx has."""
    answer = _sent(answer, retarget="#main", reswap="innerHTML")
    answer.headers["HX-Reselect"] = "#main > *"
    return answer


def _sent(answer: Response, **headers: str) -> Response:
    sent: Response = make_response(answer, **headers)
    return sent
