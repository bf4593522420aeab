"""The shell and the control macros: labelled, tied to their errors, without inline code."""

from __future__ import annotations

import re
from types import SimpleNamespace

import pytest
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from bench.places import templates
from bench.web import frame
from bench.words import Words

TAKEN = re.compile(r"\{%-?\s*set\s+(\w+)|\bas\s+(?:\w+,\s*)*(\w+)\s+with context")
READER = {
    "t": Words("en").say,
    "csrf_token": "token",
    "asset": "/static/{}".format,
    "lock_href": "/lock",
    "who_href": "/who",
    "idle_seconds": 600,
    "who": SimpleNamespace(initials="AM", role="technician"),
    "display": SimpleNamespace(theme="dark", type="large", hand="left", numbering="iso", unit="mm"),
}
CONTROLS = "{% import 'pieces/controls.html' as c with context %}"


def environment() -> Environment:
    loader = FileSystemLoader(templates())
    return Environment(loader=loader, autoescape=True, undefined=StrictUndefined)


def rendered(source: str, **context: object) -> str:
    return environment().from_string(source).render({**READER, "places": [], **context})


def control(call: str) -> str:
    return rendered(CONTROLS + "{{ " + call + " }}")


@pytest.mark.parametrize("shell", ["page", "bench"])
def test_a_page_carries_no_inline_code_or_style(shell: str) -> None:
    page = rendered("{% extends 'shell/" + shell + ".html' %}")

    assert re.findall(r"<style|\sstyle=|\son\w+=|javascript:", page) == []
    assert all("src=" in tag for tag in re.findall(r"<script[^>]*>", page))


@pytest.mark.parametrize("shell", ["page", "bench"])
def test_a_page_shows_itself_as_the_reader_wants(shell: str) -> None:
    page = rendered("{% extends 'shell/" + shell + ".html' %}")

    assert '<html lang="en" data-theme="dark" data-type="large" data-hand="left">' in page
    assert 'data-idle-seconds="600"' in page


@pytest.mark.parametrize("shell", ["page", "bench"])
def test_a_page_for_nobody_does_not_lock(shell: str) -> None:
    page = rendered("{% extends 'shell/" + shell + ".html' %}", who=None)

    assert "data-idle-seconds" not in page
    assert 'id="lock"' not in page
    assert 'id="cover"' not in page


def test_the_place_for_what_was_recorded_is_there_before_anything_is() -> None:
    page = rendered("{% extends 'shell/bench.html' %}")

    assert re.search(r'<div class="said" id="said" role="status"[^>]*></div>', page)


@pytest.mark.parametrize(
    "call",
    [
        "c.field('drop_mm', 'Drop', '', error='No.', hint='In mm.')",
        "c.stepper('drop_mm', 'Drop', '', 'mm', 0.05, 0, 10, error='No.', hint='In mm.')",
    ],
)
def test_an_error_is_tied_to_its_field(call: str) -> None:
    html = control(call)

    assert 'aria-describedby="drop_mm-error drop_mm-hint" aria-invalid="true"' in html
    assert 'id="drop_mm-error"' in html
    assert 'id="drop_mm-hint"' in html


@pytest.mark.parametrize(
    "call",
    ["c.keys('gauge', 'Gauge', [('a', 'A')], error='No.')", "c.checks('x', 'X', [], error='No.')"],
)
def test_an_error_is_tied_to_its_group(call: str) -> None:
    html = control(call)

    tied = re.search(r'<fieldset aria-describedby="([\w-]+)"', html)
    assert tied
    assert f'id="{tied.group(1)}"' in html


def test_a_chosen_key_is_checked_whatever_its_type() -> None:
    html = control("c.keys('gauge', 'Gauge', [(0.25, 'a'), (0.5, 'b')], chosen='0.5')")

    assert re.findall(r'value="([\d.]+)" checked', html) == ["0.5"]


def test_a_key_that_records_carries_its_name_and_value() -> None:
    html = control("c.submit_keys('contact', 'Contact', [('both', 'both touch', 'firm')])")

    assert '<button class="key" name="contact" value="both" data-once>' in html


def test_text_from_people_is_never_markup() -> None:
    html = rendered(CONTROLS + "{{ c.notice('plain', said) }}", said="<b>34</b>")

    assert "&lt;b&gt;34&lt;/b&gt;" in html


@pytest.mark.parametrize("state", ["done", "part", "stale", "todo", "stopped", "warns", "plain"])
def test_every_state_has_a_shape_of_its_own(state: str) -> None:
    shapes = {
        other: re.sub(r'class="mark \w+"', "", control(f"c.mark('{other}')"))
        for other in ("done", "part", "stale", "todo", "stopped", "warns", "plain")
    }

    assert [other for other, shape in shapes.items() if shape == shapes[state]] == [state]


def test_the_present_step_is_told_apart_for_every_reader() -> None:
    steps = [
        SimpleNamespace(key="tilt", title="Tilt", state="done", word="setting 3", href="/tilt"),
        SimpleNamespace(key="lines", title="Survey lines", state="todo", word="to do", href=None),
    ]

    html = rendered(
        "{% from 'pieces/rail.html' import rail with context %}{{ rail(steps, 'tilt') }}",
        steps=steps,
    )

    assert re.findall(r'href="(/\w+)" aria-current="step"', html) == ["/tilt"]
    assert '<span class="step todo">' in html


def test_findings_say_how_grave_they_are_in_words() -> None:
    finding = SimpleNamespace(
        code="R3", sentence="34 has no reading.", remedy="Read 34 MB.", link="/u", severity="blocks"
    )

    html = rendered(
        "{% from 'pieces/findings.html' import findings with context %}{{ findings([one]) }}",
        one=finding,
    )

    assert '<span class="unseen">stops the release: </span>34 has no reading.' in html
    assert 'href="/u"' in html


def test_no_template_takes_a_name_that_every_page_is_given(app):
    # The page around it reads the same name: `display` taken for a picture put the page out of its theme.
    with app.test_request_context("/who"):
        given = set(frame.given())
    taken = {
        template.name: names
        for template in sorted(templates().rglob("*.html"))
        if (
            names := given
            & {name for found in TAKEN.findall(template.read_text("utf-8")) for name in found}
        )
    }

    assert given >= {"t", "display", "who"}
    assert {} == taken
