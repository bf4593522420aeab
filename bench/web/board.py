"""The board: every case by step and age, what blocks it, and what a supervisor must look at."""

from __future__ import annotations

from dataclasses import asdict, replace

from flask import Blueprint, render_template, request, url_for

from bench.core.steps import STEPS
from bench.core.summary import Summary
from bench.web import book, display, seats, speech, telling
from bench.web.caselines import ALL_STATES, MOST_COUNTED, Asked, Lines, asked_from
from bench.web.roles import least

blueprint = Blueprint("board", __name__)

STATE_MARKS = {
    "received": "todo", "surveying": "part", "ready": "done", "released": "done", "recalled": "stopped",
    "unopened": "stale", "unreadable": "stopped",
}  # fmt: skip
_NAMES = {"text": "q", "layout": "as"}


@blueprint.get("/")
@least("reader")
def board() -> str:
    """Show the cases that the address asks for."""
    models = book.log().models
    waiting = models.catch_up()
    models.catch_up_behind()
    lines = _lines(asked_from(request.args))
    return render_template(
        "board/board.html", lines=lines, asked=lines.asked, layout=_layout(lines.asked),
        counts=_counts(lines), states=ALL_STATES, steps=STEPS, people=sorted(lines.people),
        narrowed=address, marks=STATE_MARKS, rules=rules, tell=telling, most=MOST_COUNTED,
        desk=lines.standing_out if _is_supervisor() else (), waiting=waiting,
    )  # fmt: skip


def _lines(asked: Asked) -> Lines:
    people = frozenset(book.lab().people)
    return Lines(book.log().models, asked, display.display().numbering, people)


def _counts(lines: Lines) -> dict[str, int]:
    """Return how many cases are in each state, in the order of the bench."""
    counted = lines.models.counts()
    return {state: counted[state] for state in ALL_STATES if counted.get(state)}


def _layout(asked: Asked) -> str:
    return asked.layout or ("steps" if _is_supervisor() else "list")


def _is_supervisor() -> bool:
    person = seats.person()
    return person is not None and person.role == "supervisor"


def address(asked: Asked, **changes: object) -> str:
    """Return the board's address with some of what it asks for changed; back on its first page."""
    changed = asdict(replace(asked, **{"page": 1, **changes}))  # type: ignore[arg-type]
    shown = {_NAMES.get(k, k): v for k, v in changed.items() if v and (k, v) != ("page", 1)}
    return url_for("board.board", **shown)


def rules(line: Summary) -> list[tuple[str, str]]:
    """Return what blocks a case: each rule's code and what is wanting, in words."""
    known = speech.words()
    keys = {code: f"board.rule.{code}" for code in line.blocking}
    return [(code, known.say(key) if known.has(key) else code) for code, key in keys.items()]
