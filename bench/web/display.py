"""How this reader wants things shown: kept in a cookie of the tablet, for strangers too."""

from __future__ import annotations

from dataclasses import fields

from flask import Blueprint, Response, make_response, redirect, render_template, request, url_for

from bench.web import speech
from bench.web.chosen import CHOICES, COOKIE, Display, display
from bench.web.forms import FormRefused, read_body
from bench.web.roles import least

YEAR_S = 365 * 24 * 3600

__all__ = ["CHOICES", "COOKIE", "Display", "display"]

blueprint = Blueprint("display", __name__)


@blueprint.get("/display")
@least("stranger")
def show() -> str:
    """Show the choices."""
    return _page(display(), {})


@blueprint.post("/display")
@least("stranger")
def choose() -> Response:
    """Keep the choices in the tablet's cookie."""
    try:
        chosen = read_body(Display, request.form)
    except FormRefused as refused:
        return make_response(_page(display(), _words(refused)), 422)
    answer = make_response(redirect(local_address(request.form.get("next", "")), 303))
    answer.set_cookie(
        COOKIE, chosen.text, max_age=YEAR_S, secure=request.is_secure, httponly=True, samesite="Lax"
    )
    return answer


def local_address(wanted: str) -> str:
    """Return a path of this bench that a form names, or the choices' page for anything else."""
    ours = wanted.startswith("/") and not wanted.startswith("//") and "\\" not in wanted
    return wanted if ours and wanted.isprintable() else url_for("display.show")


def _words(refused: FormRefused) -> dict[str, str]:
    return {field: speech.say_fault(field, fault) for field, fault in refused.errors.items()}


def _page(chosen: Display, errors: dict[str, str]) -> str:
    groups = [
        (field.name, [(one, speech.say(f"display.{field.name}.{one}")) for one in CHOICES[field.name]],
         getattr(chosen, field.name))
        for field in fields(Display)
    ]  # fmt: skip
    return render_template(
        "desk/display.html", groups=groups, errors=errors, next=request.values.get("next", "")
    )
