"""The lab's own reading SD: from its repeated distances and the residuals of its re-mounts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from flask import current_app

from bench.core.backagain import fourth_of, residual_mm
from bench.core.entries import DrillPlanned, DrillReading, Entry, Remounted
from bench.core.readingsd import ReadingSd, Residual, reading_sd
from bench.core.survey import Survey
from bench.web import book

KINDS = ("fourth_mark_made", "remounted", "remount_read")


def own_reading_sd() -> ReadingSd:
    """Return the SD of one reading as the lab's own repeats give it, else as the policy does.

    Worked out anew only when something it rests on was added.
    """
    held = book.log().newest_with(*KINDS)
    mark = (book.log().lab_mark(), tuple(sorted(held.items())))
    kept: tuple[object, ReadingSd] | None = current_app.extensions.get("own_reading_sd")
    if kept is None or kept[0] != mark:
        policy_mm = book.lab().policy.number("reading_sd_mm")
        rest = [one for code in held for one in _residuals(code)]
        kept = (mark, reading_sd(policy_mm, repeats_in(book.log().lab_entries()), rest))
        current_app.extensions["own_reading_sd"] = kept
    return kept[1]


def repeats_in(entries: tuple[Entry, ...]) -> list[list[float]]:
    """Return the distances that drills repeated, those of one drill, person and cast together."""
    distances = {
        entry.id
        for entry in entries
        if isinstance(entry.body, DrillPlanned) and entry.body.reads == "distance"
    }
    repeats: defaultdict[tuple[str, str, str], list[float]] = defaultdict(list)
    for entry in entries:
        body = entry.body
        if isinstance(body, DrillReading) and body.drill in distances:
            repeats[body.drill, entry.person, body.cast] += body.values_mm
    return list(repeats.values())


def _residuals(code: str) -> Iterator[Residual]:
    """Yield what each re-mount of four marks left about its plane."""
    survey = Survey(book.log().case(code), book.lab())
    fourth, tripod = fourth_of(survey), survey.tripod
    for said in survey.case.said(Remounted):
        if fourth and tripod and len(said.body.heights_mm) == 4:
            yield Residual(residual_mm(tripod.body, said.body.heights_mm, fourth), 1)
