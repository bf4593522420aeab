"""The pages of the ten steps: one frame, and a renderer for each step.

A room of pages takes a step over with `@renders("tilt")` above `def tilt(page: StepPage) -> str`.
Its forms post to `/case/<code>/record/<kind>`; with htmx they name `hx-target="#main"`,
`hx-select="#main"` and `hx-select-oob="#top,#rail,#said,#strip"`, since every answer is a whole page.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from flask import Blueprint, Response, abort, make_response, render_template, request, url_for

from bench.core.case import Case
from bench.core.entries import CaseOpened, Entry
from bench.core.lab import Lab
from bench.core.release import Verdict, judge
from bench.core.steps import STEPS, Step, StepKey, steps_of
from bench.core.survey import Survey
from bench.web import book, clock, htmx, seats, speech
from bench.web.forms import Fault, Form
from bench.web.roles import least

UNDO_MS = 60_000

blueprint = Blueprint("steps", __name__)


@dataclass(frozen=True)
class StepPage:
    """What a step's template is given, as `page`.

    `form` is what was typed when it was refused, with `errors` by field; `announced` is the entry
    just recorded. `tooth` and `surface` are the place last worked at, None when none was.
    """

    step: StepKey
    case: Case
    lab: Lab
    form: Form | None
    errors: Mapping[str, Fault]
    announced: Entry | None
    beside: set[str] = field(default_factory=set)

    @property
    def code(self) -> str:
        """The case's label code."""
        return self.case.code

    @cached_property
    def survey(self) -> Survey:
        """The case seen with its laboratory."""
        return Survey(self.case, self.lab)

    @cached_property
    def verdict(self) -> Verdict:
        """What the rules say."""
        return judge(self.survey)

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """The ten steps with their progress; empty while the case is not opened."""
        return steps_of(self.survey, self.verdict) if self.case.said(CaseOpened) else ()

    @property
    def setting(self) -> str | None:
        """The id of the setting the cast has now: findings stated on this page belong to it."""
        return self.case.now.id if self.case.now else None

    def typed(self, name: str, otherwise: object = None) -> object:
        """Return what was typed into a field that is shown again, or else the other value."""
        return self.form.get(name, "") if self.form is not None else otherwise

    def ticked(self, name: str, otherwise: tuple[str, ...] = ()) -> list[str]:
        """Return every value chosen in a repeated field that is shown again, or else the others."""
        return self.form.getlist(name) if self.form is not None else list(otherwise)

    def error(self, name: str) -> str | None:
        """Return the words of a field's fault to be shown beside it, or None."""
        self.beside.add(name)
        return speech.say_fault(name, self.errors[name]) if name in self.errors else None

    @property
    def other_errors(self) -> list[str]:
        """The words of the faults that no field of the page has shown beside it; ask for them last."""
        return [speech.say_fault(f, self.errors[f]) for f in self.errors if f not in self.beside]

    @property
    def tooth(self) -> int | None:
        """The tooth last worked at."""
        text = self._place("tooth")
        return int(text) if text.isascii() and text.isdigit() and len(text) == 2 else None

    @property
    def surface(self) -> str | None:
        """The surface last worked at."""
        return self._place("surface") or None

    @property
    def may_undo(self) -> bool:
        """Whether the announced entry is young enough to be taken back with one tap."""
        return self.announced is not None and self.announced.id not in self.case.aside

    def _place(self, name: str) -> str:
        form = self.form if self.form is not None else request.values
        return form.get(name, "")[:4]


Renderer = Callable[[StepPage], str]
RENDERERS: dict[str, Renderer] = {}


def renders(step: StepKey) -> Callable[[Renderer], Renderer]:
    """Let a function render the page of a step."""

    def taken(renderer: Renderer) -> Renderer:
        RENDERERS[step] = renderer
        return renderer

    return taken


def render_step(
    code: str,
    step: str,
    *,
    form: Form | None = None,
    errors: Mapping[str, Fault] | None = None,
    status: int = 200,
    announce: Entry | None = None,
) -> Response:
    """Return the page of a step, with what was typed and what was wrong with it when refused.

    404 for an unknown step, and for a case of which nothing is recorded unless the step is `receive`.
    """
    page = _page(code, step, form, errors or {}, announce)
    answer = make_response(RENDERERS.get(step, plain_page)(page), status)
    return htmx.with_event(answer, "recorded", {"id": announce.id}) if announce else answer


def _page(
    code: str, step: str, form: Form | None, errors: Mapping[str, Fault], announce: Entry | None
) -> StepPage:
    case = book.case_of(code)
    found = next((one for one in STEPS if one == step), None)
    if found is None or not (case.entries or found == "receive"):
        abort(404)
    return StepPage(found, case, book.lab(), form, errors, announce)


def plain_page(page: StepPage) -> str:
    """Render a step that no room of pages has taken over: its rail and heading."""
    return render_template("steps/step.html", page=page)


@blueprint.app_template_global()
def rail_of(page: StepPage) -> list[dict[str, object]]:
    """Return the ten steps as `pieces/rail.html` shows them."""
    progress = {step.key: step for step in page.steps}
    return [_rung(page, key, progress.get(key)) for key in STEPS]


def _rung(page: StepPage, key: StepKey, step: Step | None) -> dict[str, object]:
    state = step.progress if step else "todo"
    opened = step is not None or key == "receive"
    return {
        "key": key, "title": speech.say(f"rail.{key}.title"), "state": state,
        "word": speech.say(f"shell.state.{state}"),
        "href": url_for("steps.step_page", code=page.code, step=key) if opened else None,
    }  # fmt: skip


@blueprint.get("/case/<code>/<any(" + ", ".join(STEPS) + "):step>")
@least("reader")
def step_page(code: str, step: str) -> Response:
    """Show a step of a case; `said` names the entry just recorded."""
    said = book.case_of(code).by_id.get(request.args.get("said", ""))
    return render_step(code, step, announce=said if said and _just_said(said) else None)


def _just_said(entry: Entry) -> bool:
    person = seats.person()
    mine = person is not None and person.initials == entry.person
    return mine and clock.age_ms(entry.at) < UNDO_MS
