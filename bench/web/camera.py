"""The camera page: a live picture with hints for a good photo, and the way to the photo that was kept."""

from __future__ import annotations

from flask import Blueprint, abort, redirect, render_template, request
from werkzeug.wrappers import Response

from bench.core.case import Case, Said
from bench.core.entries import CaseOpened, PhotoKept, TripodMarked
from bench.core.entries.vocabulary import SHOWS
from bench.core.policy import Policy
from bench.web import book, seats
from bench.web.roles import least

blueprint = Blueprint("camera", __name__)

# What each hint can come to; the script that judges a frame (static/js/framing.js) names the same.
HINTS: dict[str, tuple[str, ...]] = {
    "label": ("good", "other", "foreign", "none"),
    "straight": ("good", "fair", "poor", "unsteady", "needs"),
    "near": ("good", "fair", "poor", "needs"),
    "sharp": ("good", "fair", "poor", "needs"),
    "marks": ("good", "fair", "many", "poor", "none"),
}
# A photo that nothing is measured in needs to be sharp, and to show whose cast it is.
PLAIN_HINTS = ("label", "sharp")


@blueprint.get("/case/<code>/photo/camera")
@least("technician")
def camera(code: str) -> str:
    """Show the live picture of the camera with what the photo still lacks.

    `shows` and `about` go with the photo, `again` names the one it takes the place of.
    """
    case = _opened(code)
    again = _again(case)
    shows = again.body.shows if again else request.args.get("shows", "tripod")
    if shows not in SHOWS:
        abort(404)
    asked = HINTS if shows == "tripod" else {name: HINTS[name] for name in PLAIN_HINTS}
    return render_template(
        "photos/camera.html", case=case, shows=shows, hints=asked, again=again,
        about=again.body.about or "" if again else _about(case, shows),
        offline_code=case.code, **of_policy(book.lab().policy),
    )  # fmt: skip


@blueprint.get("/case/<code>/photo/taken")
@least("technician")
def taken(code: str) -> Response:
    """Go on to the photo that the person signed in kept last."""
    case, person = _opened(code), seats.person()
    mine = [one for one in case.said(PhotoKept) if person and one.entry.person == person.initials]
    if not mine:
        abort(404)
    return redirect(f"/case/{case.code}/photo/{mine[-1].body.sha256}", 303)


def of_policy(policy: Policy) -> dict[str, str | float]:
    """Return what the lab's policy tells of marks and labels: colours as #rrggbb, the square's side in mm."""
    return {
        "mark_colour": policy.texts.get("mark_colour", "#c22f2a"),
        "ring_colour": policy.texts.get("ring_colour", "#1d5fb4"),
        "label_mm": policy.numbers.get("label_mm", 20.0),
    }


def _opened(code: str) -> Case:
    case = book.case_of(code)
    if not case.said(CaseOpened):
        abort(404)
    return case


def _again(case: Case) -> Said[PhotoKept] | None:
    """Return the standing photo that is to be taken again, None for a further one."""
    asked = request.args.get("again", "")
    return next((one for one in case.said(PhotoKept) if one.entry.id == asked), None)


def _about(case: Case, shows: str) -> str:
    """Return the entry the photo is about: the one named, else the marks that count, else none."""
    named = request.args.get("about", "")
    if named in case.by_id:
        return named
    marked = case.latest(TripodMarked)
    return marked.entry.id if marked and shows == "tripod" else ""
