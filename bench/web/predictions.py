"""Predictions kept honest: what tilts were expected to do, beside what the gauge found, over all cases."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flask import Blueprint, current_app, render_template, url_for

from bench.core.entries import CaseOpened, Entry
from bench.core.predictions import Prediction, Told, predictions_of, told_of
from bench.core.survey import Survey
from bench.web import book, speech, telling
from bench.web.archmap import Text, line
from bench.web.personfigures import People
from bench.web.roles import least
from bench.words.reader import Reader

blueprint = Blueprint("predictions", __name__)

KINDS = ("setting_taken", "undercut_read")
SIDE, MARGIN, LEAST_MM = 240.0, 34.0, 0.75


@dataclass(frozen=True, slots=True)
class Tested:
    """A prediction with the case and the entry that put it to the test."""

    code: str
    number: str
    entry: Entry
    prediction: Prediction


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the list, in words."""

    href: str
    case: str
    site: str
    tilted: str
    expected: str
    guess: str
    read: str
    off: str
    who: str
    day: str


@dataclass(frozen=True, slots=True)
class Scatter:
    """Expected (across) and read (up) depths: the line where both agree, and a point for each."""

    view_box: str
    frame: str
    same: str
    points: tuple[tuple[float, float], ...]
    ticks: tuple[Text, ...]
    names: tuple[Text, ...]
    label: str


@blueprint.get("/predictions")
@least("supervisor")
def predictions() -> str:
    """Show bias and spread of the predictions of all cases, and each of them."""
    tested = sorted(all_tested(), key=lambda one: one.entry.id, reverse=True)
    told, reader = told_of([one.prediction for one in tested]), telling.reader()
    return render_template(
        "desk/predictions.html", told=told, rows=[_row(one, reader) for one in tested],
        bias=bias_in_words(told, reader), scatter=_scatter(tested, reader), reader=reader,
        people=People("", book.lab()), tell=telling,
    )  # fmt: skip


def all_tested() -> list[Tested]:
    """Return every prediction of every case; a case is read anew only when something was added."""
    kept: dict[str, tuple[object, list[Tested]]]
    kept = current_app.extensions.setdefault("predictions", {})
    mark = book.log().lab_mark()
    for code, position in book.log().newest_with(*KINDS).items():
        if code not in kept or kept[code][0] != (mark, position):
            kept[code] = ((mark, position), _tested_of(code))
    return [one for _, tested in kept.values() for one in tested]


def _tested_of(code: str) -> list[Tested]:
    case = book.log().case(code)
    if not case.said(CaseOpened):
        return []
    survey = Survey(case, book.lab())
    number = case.opened.body.number
    return [Tested(code, number, case.by_id[p.reading], p) for p in predictions_of(survey)]


def bias_in_words(told: Told, reader: Reader) -> str:
    """Return the bias with its direction; nothing while there are too few readings."""
    if told.bias_mm is None:
        return ""
    if abs(told.bias_mm) < 0.005:
        return reader.say("predictions.bias_same")
    key = "deeper" if told.bias_mm > 0 else "shallower"
    return reader.say(f"predictions.bias_{key}", by=reader.length(abs(told.bias_mm)))


def found_in_words(prediction: Prediction, reader: Reader) -> str:
    """Return what the gauge found: that it touches, or on which side of it the depth lies."""
    gauge = reader.length(prediction.gauge_mm)
    return reader.say(f"predictions.found_{prediction.found}", gauge=gauge)


def _row(one: Tested, reader: Reader) -> Row:
    prediction, site = one.prediction, one.prediction.expected.site
    expected = reader.length(prediction.expected.mm)
    guess = reader.say("predictions.guess") if prediction.expected.drop_guessed else ""
    by = reader.angle(round(prediction.expected.by_deg, 1))
    return Row(
        url_for("steps.step_page", code=one.code, step="undercuts", tooth=site.tooth, surface=site.surface),
        one.number, site.shown(reader.numbering), reader.say("predictions.tilted", by=by),
        expected, guess, found_in_words(prediction, reader), _off(prediction, reader),
        one.entry.person, telling.day(one.entry.at),
    )  # fmt: skip


def _off(prediction: Prediction, reader: Reader) -> str:
    if prediction.off_mm is None:
        return reader.say(f"predictions.{'as' if prediction.agrees else 'not_as'}_expected")
    key = "plus" if prediction.off_mm >= 0 else "minus"
    return reader.say(f"predictions.{key}", by=reader.length(abs(prediction.off_mm)))


def _scatter(tested: Sequence[Tested], reader: Reader) -> Scatter | None:
    pairs = [
        (one.prediction.expected.mm, one.prediction.gauge_mm)
        for one in tested
        if one.prediction.found == "at"
    ]
    if not pairs:
        return None
    most_mm = max(LEAST_MM, *(max(pair) for pair in pairs)) * 1.05
    unit = SIDE / most_mm
    marks = [n * 0.25 for n in range(1, int(most_mm / 0.25) + 1)]
    shown = [reader.length(mark).split()[0] for mark in marks]
    across = [Text(mark * unit, 16, said) for mark, said in zip(marks, shown, strict=True)]
    up = [Text(-18, -mark * unit, said) for mark, said in zip(marks, shown, strict=True)]
    name = reader.length(0).split()[-1]
    return Scatter(
        f"{-MARGIN - 14} {-SIDE - MARGIN} {SIDE + 2 * MARGIN} {SIDE + 2 * MARGIN + 10}",
        f"M0 {-SIDE}V0H{SIDE}", line(((0, 0), (SIDE, SIDE))),
        tuple((round(x * unit, 1), round(-y * unit, 1)) for x, y in pairs), (*across, *up),
        (Text(SIDE / 2, 36, reader.say("predictions.axis_expected", unit=name)),
         Text(30, -SIDE - 14, reader.say("predictions.axis_read", unit=name))),
        speech.say("predictions.plot", count=len(pairs)),
    )  # fmt: skip
