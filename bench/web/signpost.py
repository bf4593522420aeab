"""The signpost at the top of every plain page: where one can go from here."""

from __future__ import annotations

from typing import NamedTuple

from flask import Blueprint, current_app, request, url_for

from bench.web import seats, speech
from bench.web.roles import RANK, least_role_of

blueprint = Blueprint("signpost", __name__)

# Endpoint and the key of its words, in the order they are shown; a place that is not there is left out.
PLACES = (
    ("board.board", "board"), ("scanning.scan", "scan"), ("labels.choose", "labels"),
    ("supervising.desk", "desk"), ("audit.overview", "audit"),
    ("instruments.everything", "instruments"), ("drills.everything", "drills"),
    ("predictions.predictions", "predictions"), ("desk.policy", "policy"), ("people.everybody", "people"),
    ("devices.everything", "devices"), ("display.show", "display"), ("desk.about", "about"),
)  # fmt: skip


class Place(NamedTuple):
    """One arm of the signpost."""

    href: str
    text: str
    current: bool


@blueprint.app_context_processor
def given() -> dict[str, object]:
    """Return the places of whoever is signed in, for every template."""
    return {"places": places()}


def places() -> list[Place]:
    """Return where the person signed in may go; nowhere for a stranger."""
    return [
        Place(url_for(endpoint), speech.say(f"board.place.{name}"), request.endpoint == endpoint)
        for endpoint, name in PLACES
        if _may_go(endpoint)
    ]


def _may_go(endpoint: str) -> bool:
    person, view = seats.person(), current_app.view_functions.get(endpoint)
    role = least_role_of(view) if view else None
    return bool(person and role and RANK[person.role] >= RANK[role])
