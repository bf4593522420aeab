"""Answers made smaller on their way to a browser that takes them so."""

from __future__ import annotations

import gzip

from flask import Flask, Response, request

# Below a thousand bytes the answer fits one packet of a network as it is.
LEAST_BYTES = 1000
# Of the levels of zlib the last cheap one: a page in half a millisecond to a quarter of its size.
LEVEL = 3
TYPES = frozenset({"text/html", "application/json", "text/csv"})


def install(app: Flask) -> None:
    """Compress what every other part of the app has finished: installed before all of them."""
    app.after_request(compressed)


def compressed(answer: Response) -> Response:
    """Return the answer compressed where it is text of some length and the browser takes gzip.

    An answer marked `no-transform` (RFC 9111, 5.2.2.6) goes as it is: its length would tell of a secret
    that stands in it (BREACH). The token of forms stands in every page and differs in each answer.
    """
    if answer.mimetype not in TYPES or answer.is_streamed or answer.direct_passthrough:
        return answer
    if answer.cache_control.no_transform or "Content-Encoding" in answer.headers:
        return answer
    answer.vary.add("Accept-Encoding")
    body = answer.get_data()
    if len(body) >= LEAST_BYTES and request.accept_encodings["gzip"]:
        answer.set_data(gzip.compress(body, LEVEL, mtime=0))
        answer.headers["Content-Encoding"] = "gzip"
    return answer
