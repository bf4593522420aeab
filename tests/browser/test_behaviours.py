"""The behaviours of a page in a real browser: pad, stepper, question, double tap, arch, scan."""

from __future__ import annotations

import re
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from io import BytesIO
from threading import Thread
from types import SimpleNamespace
from urllib.parse import urlsplit

import pytest
import qrcode
from jinja2 import Environment, FileSystemLoader
from PIL import Image
from playwright.sync_api import Browser, Page, Playwright, expect

from bench.core.arch import arch_model
from bench.places import static, templates
from bench.web.archmap import draw
from bench.words import Words
from tests.browser.conftest import launched

BENCH = """
{% extends 'shell/bench.html' %}
{% import 'pieces/controls.html' as c with context %}
{% from 'pieces/archmap.html' import archmap with context %}
{% from 'pieces/scan.html' import scan with context %}
{% block title %}Bench{% endblock %}
{% block top %}<h1>Case</h1>{% endblock %}
{% block map %}{{ archmap(picture) }}{% endblock %}
{% block controls %}<form id="entry" method="post" action="/slow">
{{ c.stepper('drop_mm', 'Below the survey line', '1.40', 'mm', 0.05, 0, 10) }}
{{ c.action('Record') }}{{ c.action('Withdraw', 'stop', name='withdraw', value='1', ask='Sure?') }}
</form>{{ scan('/opened') }}{% endblock %}
"""
KINDS = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}
LABEL = "K7Q2M4XD"


def bench_page() -> bytes:
    say = Words("en").say
    loader = FileSystemLoader(templates())
    picture = draw(
        arch_model("lower"),
        say=say,
        missing={36},
        chosen_tooth=34,
        chosen_surface="B",
        href=lambda tooth, surface: f"/map/{tooth}{surface or ''}",
    )
    page = Environment(loader=loader, autoescape=True).from_string(BENCH)
    return page.render(
        t=say, csrf_token="token", asset="/static/{}".format, lock_href="/locked", idle_seconds=600,
        who=SimpleNamespace(initials="AM", role="technician"), picture=picture,
        display=SimpleNamespace(theme="light", type="normal", hand="right"),
    ).encode()  # fmt: skip


class Answers(BaseHTTPRequestHandler):
    """Serves the page and the static files under the policy of the bench; counts what is posted."""

    posted: list[str] = []  # noqa: RUF012
    page = b""

    def do_GET(self) -> None:
        path = urlsplit(self.path).path
        file = static() / path.removeprefix("/static/")
        if not path.startswith("/static/"):
            self._answer(self.page, "text/html; charset=utf-8")
        elif file.is_file():
            self._answer(file.read_bytes(), KINDS.get(file.suffix, "application/octet-stream"))
        else:
            self.send_error(404)

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"])).decode()
        self.posted.append(f"{self.path} {body}")
        if self.path == "/slow":
            self.send_response(204)
            self.end_headers()
        else:
            self._answer(self.page, "text/html; charset=utf-8")

    def log_message(self, *_: object) -> None:
        """Say nothing on the console."""

    def _answer(self, body: bytes, kind: str) -> None:
        self.send_response(200)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Content-Security-Policy", "default-src 'self'; media-src 'self' blob:")
        self.end_headers()
        self.wfile.write(body)


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    Answers.page = bench_page()
    server = ThreadingHTTPServer(("127.0.0.1", 0), Answers)
    Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()


@pytest.fixture(scope="module")
def browser(playwright: Playwright, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    film = tmp_path_factory.mktemp("camera") / "label.mjpeg"
    film.write_bytes(label_jpeg() * 4)
    chromium = launched(playwright, film)
    yield chromium
    chromium.close()


def label_jpeg() -> bytes:
    code = qrcode.make(LABEL, box_size=12).convert("RGB")
    frame = Image.new("RGB", (1280, 720), "#c9c2b4")
    frame.paste(code, ((1280 - code.width) // 2, (720 - code.height) // 2))
    drawn = BytesIO()
    frame.save(drawn, "JPEG", quality=90)
    return drawn.getvalue()


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    context = browser.new_context(has_touch=True, viewport={"width": 1024, "height": 768})
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda m: faults.append(m.text) if m.type == "error" else None)
    Answers.posted.clear()
    page.goto(address)
    yield page
    context.close()
    assert faults == []


def test_keys_beside_a_number_step_it(page: Page) -> None:
    page.get_by_role("button", name="Below the survey line: more by 0.05 mm").click()

    expect(page.locator("#drop_mm")).to_have_value("1.45")


def test_a_tap_on_a_number_opens_the_pad_and_takes_what_fits(page: Page) -> None:
    page.locator("#drop_mm").tap()
    for key in ("2", ".", "5"):
        page.locator(f'[data-pad-key="{key}"]').tap()
    page.locator('[data-pad-key="take"]').tap()

    expect(page.locator("#pad")).to_be_hidden()
    expect(page.locator("#drop_mm")).to_have_value("2.5")


def test_the_pad_does_not_take_what_lies_outside_the_limits(page: Page) -> None:
    page.locator("#drop_mm").tap()
    for key in ("2", "5"):
        page.locator(f'[data-pad-key="{key}"]').tap()

    expect(page.locator('[data-pad-key="take"]')).to_be_disabled()


def test_a_question_is_asked_before_the_work_is_done(page: Page) -> None:
    page.get_by_role("button", name="Withdraw").click()
    expect(page.locator("#ask")).to_contain_text("Sure?")
    page.get_by_role("button", name="Go back").click()
    assert Answers.posted == []
    page.get_by_role("button", name="Withdraw").click()
    with page.expect_response("**/slow"):
        page.get_by_role("button", name="Go on").click()

    assert [text.endswith("withdraw=1") for text in Answers.posted] == [True]


def test_a_double_tap_sends_once(page: Page) -> None:
    page.get_by_role("button", name="Record").dblclick()
    page.wait_for_timeout(300)

    assert Answers.posted == ["/slow drop_mm=1.40"]


def test_arrow_keys_walk_along_the_arch_as_it_is_seen(page: Page) -> None:
    page.locator('a[data-tooth="34"]').focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator('a[data-tooth="33"]')).to_be_focused()
    page.keyboard.press("Home")

    expect(page.locator('a[data-tooth="38"]')).to_be_focused()


def test_the_arch_is_one_stop_for_the_tab_key(page: Page) -> None:
    stops = page.locator('[data-archmap] a[tabindex="0"]')

    assert [stop.get_attribute("aria-current") for stop in stops.all()] == ["true", "true"]


def test_a_tap_on_a_surface_opens_it(page: Page) -> None:
    page.locator('a[data-surface="MB"]').tap(position={"x": 30, "y": 30})

    expect(page).to_have_url(re.compile(r"/map/34MB$"))


def test_a_label_before_the_camera_opens_its_case(page: Page) -> None:
    page.get_by_role("button", name="Scan the label").click()

    expect(page).to_have_url(re.compile(rf"/opened\?code={LABEL}$"), timeout=15_000)
