"""The plain page that hands out the lab's certificate, with the steps for each kind of tablet."""

from __future__ import annotations

from collections.abc import Callable

from flask import Flask, Response, make_response, render_template, request

from bench import places
from bench.lan.authority import Certificates
from bench.sheets.square import square_dots
from bench.web.security import HEADERS
from bench.words import Words, language_for

KINDS = ("ipad", "android", "windows", "mac", "other")
FILE = "tiltbook-certificate.crt"
Asked = Callable[[], Certificates]


def trust_app(certificates: Asked, bench_at: str, trust_at: str) -> Flask:
    """Return the app of the page: it answers GET alone and knows nothing of any case.

    `bench_at` and `trust_at` are the addresses of the bench and of this page.
    """
    app = Flask("trust", static_folder=None, template_folder=str(places.templates()))

    @app.get("/")
    def page() -> str:
        words = Words(language_for(request.accept_languages.values()))
        return render_template(
            "trust/trust.html", t=words.say, language=words.language, kinds=KINDS,
            bench_at=bench_at, trust_at=trust_at, square=square_dots(trust_at), bench_square=square_dots(bench_at),
            fingerprint=certificates().fingerprint, file=FILE,
        )  # fmt: skip

    @app.get(f"/{FILE}")
    def certificate() -> Response:
        answer = make_response(certificates().authority_der())
        answer.headers["Content-Type"] = "application/x-x509-ca-cert"
        return answer

    @app.get("/tiltbook.css")
    def looks() -> Response:
        answer = make_response((places.static() / "tiltbook.css").read_bytes())
        answer.headers["Content-Type"] = "text/css; charset=utf-8"
        return answer

    app.after_request(_dressed)
    app.register_error_handler(404, _to_the_page)
    return app


def _dressed(answer: Response) -> Response:
    for name, value in HEADERS.items():
        answer.headers.setdefault(name, value)
    answer.headers.setdefault("Cache-Control", "no-store")
    return answer


def _to_the_page(error: Exception) -> Response:
    answer = make_response("", 303 if request.method == "GET" else 404)
    answer.headers["Location"] = "/"
    return answer
