from __future__ import annotations

import gzip
import io
import logging
import re

import pytest
from werkzeug.exceptions import RequestTimeout, TooManyRequests, UnsupportedMediaType

from bench.app import KEY_BYTES, session_key
from bench.web import security
from bench.web.roles import FORM_BYTES, least

TOKEN = re.compile(r'name="csrf_token" value="([^"]*)"')


def test_every_answer_carries_the_strict_policy(stranger):
    answer = stranger.get("/who")

    policy = answer.headers["Content-Security-Policy"]
    for part in (
        "default-src 'self'", "img-src 'self' blob: data:", "object-src 'none'",
        "frame-ancestors 'none'", "form-action 'self'", "base-uri 'none'",
    ):  # fmt: skip
        assert part in policy
    assert "unsafe" not in policy
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Referrer-Policy"] == "same-origin"
    assert "camera=(self)" in answer.headers["Permissions-Policy"]
    assert answer.headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize("path", ["/nowhere", "/health", "/start", "/people"])
def test_failures_and_redirects_carry_it_too(stranger, path):
    assert "default-src 'self'" in stranger.get(path).headers["Content-Security-Policy"]


def test_a_page_holds_no_inline_script_or_style(supervisor):
    for path in ("/who", "/people", "/policy", "/instruments", "/display", "/about", "/pin"):
        text = supervisor.get(path).text

        assert "style=" not in text
        assert "<style" not in text
        assert "onclick" not in text
        assert "<script>" not in text


def test_a_static_file_is_kept_for_ever_under_the_mark_of_its_content(app, stranger):
    mark = app.config["STATIC_MARK"]

    answer = stranger.get(f"/static/{mark}/tiltbook.css")
    other = stranger.get("/static/0000000000000000/tiltbook.css")

    assert answer.status_code == 200
    assert "immutable" in answer.headers["Cache-Control"]
    assert other.status_code == 404
    assert other.headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize("name", ["tiltbook.css", "js/tiltbook.js", "vendor/htmx/htmx.min.js"])
def test_text_is_sent_compressed_to_a_browser_that_takes_it(app, stranger, name):
    address = f"/static/{app.config['STATIC_MARK']}/{name}"

    plain = stranger.get(address)
    squeezed = stranger.get(address, headers={"Accept-Encoding": "gzip, br"})

    assert "Content-Encoding" not in plain.headers
    assert squeezed.headers["Content-Encoding"] == "gzip"
    assert "Accept-Encoding" in squeezed.headers["Vary"]
    assert gzip.decompress(squeezed.data) == plain.data


@pytest.mark.parametrize("name", ["../pyproject.toml", "..%2fpyproject.toml", "%2e%2e/%2e%2e/x"])
def test_nothing_outside_the_static_folder_is_served(app, stranger, name):
    assert stranger.get(f"/static/{app.config['STATIC_MARK']}/{name}").status_code == 404


def test_a_form_without_its_token_is_refused(technician):
    answer = technician.post("/display", data={"theme": "dark"})

    assert answer.status_code == 403
    assert "not made for this browser" in answer.text


@pytest.mark.parametrize(
    "token", ["", "x", "c" * 64, "d" * 128, "ü" * 64, "0" * 64, "0" * 65, "0" * 64 + "-" + "c" * 63]
)
def test_a_form_with_another_token_is_refused(technician, token):
    technician.token()

    assert technician.post("/display", data={"csrf_token": token}).status_code == 403


@pytest.mark.parametrize("token", ["", "x", "0" * 128])
def test_a_browser_without_a_cookie_has_no_token_to_match(stranger, token):
    assert stranger.post("/display", data={"csrf_token": token}).status_code == 403


def test_the_token_is_masked_anew_in_every_answer_and_each_is_taken(stranger):
    tokens = [TOKEN.findall(stranger.get("/display").text) for _ in range(2)]

    assert all(len(set(one)) == 1 for one in tokens)
    assert tokens[0][0] != tokens[1][0]
    for one in tokens:
        assert stranger.post("/display", data={"csrf_token": one[0]}).status_code == 303


def test_the_secret_under_the_token_stands_in_no_page(stranger):
    page = stranger.get("/display").text

    with stranger.session_transaction() as session:
        assert session["csrf"] not in page


def test_the_token_may_come_in_a_header(stranger):
    headers = {security.TOKEN_HEADER: stranger.token()}

    assert stranger.post("/display", data={"theme": "dark"}, headers=headers).status_code == 303


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "https://localhost", "http://localhost:1"]
)
def test_a_form_sent_by_another_origin_is_refused(stranger, origin):
    answer = stranger.send("/display", {"theme": "dark"}, headers={"Origin": origin})

    assert answer.status_code == 403
    assert "somewhere else" in answer.text


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_form_that_the_browser_says_is_foreign_is_refused(stranger, site):
    answer = stranger.send("/display", {"theme": "dark"}, headers={"Sec-Fetch-Site": site})

    assert answer.status_code == 403


def test_a_form_of_our_own_origin_is_taken(stranger):
    headers = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}

    assert stranger.send("/display", {"theme": "dark"}, headers=headers).status_code == 303


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "localhost.", "[::2]", "0.0.0.0"]
)
def test_a_host_that_is_not_ours_is_refused(stranger, host):
    answer = stranger.get("/who", headers={"Host": host})

    assert answer.status_code == 400


@pytest.mark.parametrize("host", ["localhost:8480", "127.0.0.1:8480", "[::1]:8480", "LOCALHOST"])
def test_the_names_of_this_pc_are_ours(stranger, host):
    assert stranger.get("/who", headers={"Host": host}).status_code == 200


def test_the_cookie_is_kept_from_scripts_and_other_sites(stranger):
    cookie = stranger.get("/who").headers["Set-Cookie"]

    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert "Secure" not in cookie


def test_over_tls_the_cookie_is_for_tls_alone(stranger):
    cookie = stranger.get("/who", base_url="https://localhost").headers["Set-Cookie"]

    assert "Secure" in cookie


def test_a_form_over_its_size_is_refused_before_it_is_read(stranger):
    answer = stranger.send("/display", {"theme": "x" * (FORM_BYTES + 1)})

    assert answer.status_code == 413
    assert "256 kB" in answer.text


def test_a_body_of_no_stated_length_is_bounded_too(app, stranger):
    stranger.token()
    big = io.BytesIO(b"theme=" + b"x" * (FORM_BYTES + 10))

    answer = stranger.post(
        "/display",
        input_stream=big,
        content_type="application/x-www-form-urlencoded",
        environ_overrides={"wsgi.input_terminated": True},
    )

    assert answer.status_code == 413


def test_a_form_of_too_many_parts_is_refused(stranger):
    parts = {f"f{n}": "x" for n in range(security.FORM_PARTS + 1)}

    answer = stranger.send("/display", parts, content_type="multipart/form-data")

    assert answer.status_code == 413


def test_a_view_may_take_a_photo_and_no_other_may(app, stranger):
    @app.post("/photo-for-test")
    @least("stranger", most_bytes=1_000_000)
    def take():
        from flask import request

        return {"bytes": len(request.files["photo"].read())}

    photo = {"photo": (io.BytesIO(b"x" * 400_000), "p.jpg")}
    answer = stranger.send("/photo-for-test", photo)

    assert answer.json == {"bytes": 400_000}


def test_the_key_of_cookies_is_made_once_and_private(tmp_path):
    key = session_key(tmp_path)

    assert len(key) == KEY_BYTES
    assert session_key(tmp_path) == key
    if hasattr(__import__("os"), "getuid"):
        assert (tmp_path / "session-key").stat().st_mode & 0o077 == 0


def test_a_damaged_key_is_made_anew(tmp_path):
    (tmp_path / "session-key").write_bytes(b"short")

    assert len(session_key(tmp_path)) == KEY_BYTES


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (RequestTimeout, "took too long"),
        (UnsupportedMediaType, "kind of file"),
        (TooManyRequests, "Too many"),
    ],
)
def test_rare_failures_have_their_pages(app, stranger, error, words):
    @app.get("/failing-for-test")
    @least("stranger")
    def fail():
        raise error

    answer = stranger.get("/failing-for-test")

    assert answer.status_code == error.code
    assert words in answer.text


def test_a_fault_of_the_program_says_so_and_shows_nothing_of_it(app, stranger, caplog):
    @app.get("/failing-for-test")
    @least("stranger")
    def fail():
        raise RuntimeError("the secret of the program")

    with caplog.at_level(logging.CRITICAL):
        answer = stranger.get("/failing-for-test")

    assert answer.status_code == 500
    assert "The bench PC failed at this" in answer.text
    assert "secret" not in answer.text


def test_when_the_shell_itself_fails_the_words_remain(app, stranger, monkeypatch, caplog):
    def broken(*_args, **_rest):
        raise RuntimeError("no template")

    monkeypatch.setattr("bench.web.trouble.render_template", broken)
    with caplog.at_level(logging.CRITICAL):
        answer = stranger.get("/nowhere")

    assert answer.status_code == 404
    assert "There is nothing here" in answer.text


def test_a_wrong_method_has_its_page_and_names_the_right_ones(stranger):
    answer = stranger.get("/lock")

    assert answer.status_code == 405
    assert "POST" in answer.headers["Allow"]
    assert "cannot be done here" in answer.text


def test_an_answer_to_what_was_asked_before_does_not_sign_anybody_out(stranger, technician):
    stranger.get("/who")

    again = stranger.get("/who")

    assert "Set-Cookie" not in again.headers
    assert "Set-Cookie" not in technician.get("/display").headers
