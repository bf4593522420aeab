"""How far off a re-mounted cast is, in words: figures, the edge to lower and its screw, the residual."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bench.core.backagain import fourth_of, residual_mm
from bench.core.entries import Mounted, Remounted
from bench.core.lab import Instrument
from bench.core.marks import residual_limit_mm
from bench.core.off import Off, triangle_of
from bench.core.otherrecords import by_inclinometer, by_scored_lines
from bench.core.survey import Survey
from bench.core.tilt import Tilt
from bench.core.tripod import how_finely_held
from bench.web import book, speech, telling
from bench.web.steps import StepPage
from bench.words.wording import tilt_in_words, to_lower_in_words

COARSEST_DEG = 1.0


@dataclass(frozen=True)
class Told:
    """How far off the cast is, in words, and what to do about it."""

    verdict: str
    figures: str
    lower: str
    screws: tuple[str, ...]
    residual: str
    residual_fits: bool
    next: str


def told(page: StepPage, off: Off, residual: float | None) -> Told:
    """Return how far off a cast is, the edges to lower on this arch, and what comes next."""
    reader, verdict = telling.reader(), off.verdict(page.lab.policy)
    figures = {
        "total": _fine(off.total_deg), "tilt": tilt_in_words(_as_tilt(off), reader, page.case.arch),
    }  # fmt: skip
    rounded = Off(round(off.ap_deg, 2), round(off.lat_deg, 2), round(off.total_deg, 2))
    limit_mm = residual_limit_mm(book.lab().reading_sd.sd_mm, 4) or 0.0
    fits = residual is None or residual <= limit_mm
    return Told(
        verdict, speech.say("remount.off", **figures),
        to_lower_in_words(rounded.edges, reader, page.case.arch), _screws(page, rounded),
        _residual(residual, limit_mm), fits, speech.say(f"remount.next.{verdict}"),
    )  # fmt: skip


def told_of_round(page: StepPage, body: Remounted) -> Told:
    """Return what a recorded round told."""
    off = Off(body.ap_deg, body.lat_deg, body.total_deg)
    return told(page, off, residual_of(page.survey, body.heights_mm))


def residual_of(survey: Survey, heights_mm: Sequence[float]) -> float | None:
    """Return by how much four heights miss one plane (mm); None unless four marks were read."""
    fourth, tripod = fourth_of(survey), survey.tripod
    if fourth is None or tripod is None or len(heights_mm) != 4:
        return None
    return residual_mm(tripod.body, heights_mm, fourth)


def table_of(page: StepPage) -> Instrument | None:
    """Return the table the cast lies on: the one it was mounted on, else the only one in service."""
    mounted = page.case.latest(Mounted)
    known = page.lab.instruments.get(mounted.body.table) if mounted else None
    if known is not None and known.sort == "table":
        return known
    tables = page.lab.in_service("table")
    return tables[0] if len(tables) == 1 else None


def precision_in_words(page: StepPage, method: str) -> str:
    """Return how finely a way of checking tells the tilt, and whether that is finer than the tolerance."""
    reader, sd = telling.reader(), book.lab().reading_sd
    if method == "tripod":
        tripod = page.survey.tripod
        marks = triangle_of(tripod.body).marks_mm if tripod else ()
        total_deg = how_finely_held(marks, sd.sd_mm).total95_deg if marks else 0.0
    elif method == "inclinometer":
        total_deg = by_inclinometer(step_of(page)).total95_deg
    else:
        total_deg = by_scored_lines(sd.sd_mm).total95_deg
    tolerance_deg = page.lab.policy.number("remount_tolerance_deg")
    key = "coarse" if total_deg > tolerance_deg else "fine"
    figures = {"step": reader.angle(step_of(page)), "sd": reader.length(sd.sd_mm)}
    basis = reader.say(f"remount.basis.{method}", **figures)
    return reader.say(
        f"remount.precision_{key}", total=_fine(total_deg), basis=basis,
        tolerance=reader.angle(tolerance_deg),
    )  # fmt: skip


def step_of(page: StepPage) -> float:
    """Return the step (degrees) an inclinometer is read to: of the setting, else of the only one, else 1."""
    now = page.case.now
    if now is not None and now.resolution_deg:
        return now.resolution_deg
    known = page.lab.in_service("inclinometer")
    only = known[0].resolution_deg if len(known) == 1 else None
    return only or COARSEST_DEG


def _screws(page: StepPage, off: Off) -> tuple[str, ...]:
    table = table_of(page)
    if table is None:
        return ()
    reader = telling.reader()
    return tuple(
        reader.say(
            "remount.screw", edge=reader.choice("edge", one.edge), screw=table.screws[one.edge]
        )
        for one in off.edges
        if one.edge in table.screws
    )


def _residual(residual: float | None, limit_mm: float) -> str:
    if residual is None:
        return ""
    key = "fits" if residual <= limit_mm else "misses"
    reader = telling.reader()
    figures = {"residual": reader.length(residual), "limit": reader.length(limit_mm)}
    return reader.say(f"remount.residual_{key}", **figures)


def _as_tilt(off: Off) -> Tilt:
    return Tilt(round(off.ap_deg, 2), round(off.lat_deg, 2))


def _fine(angle_deg: float) -> str:
    reader = telling.reader()
    return reader.say("choices.figure.deg", value=reader.number(angle_deg, 2))
