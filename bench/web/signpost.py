"""The signpost at the top of every plain page: a few arms, and the pages behind the one that is open."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

from flask import Blueprint, current_app, request, url_for

from bench.web import seats, speech
from bench.web.roles import RANK, least_role_of

blueprint = Blueprint("signpost", __name__)

# The arms in the order they are shown: the key of the words, then endpoint and key of each page behind
# it. A page that is not there, or not for the role, is left out; an arm of one page leads straight to it.
ARMS: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    ("board", (("board.board", "board"),)),
    ("scan", (("scanning.scan", "scan"),)),
    ("labels", (("labels.choose", "labels"),)),
    ("desk", (("supervising.desk", "desk"),)),
    ("repeats", (("audit.overview", "audit"), ("drills.everything", "drills"),
                 ("predictions.predictions", "predictions"))),
    ("lab", (("instruments.everything", "instruments"), ("desk.policy", "policy"),
             ("people.everybody", "people"), ("devices.everything", "devices"))),
    ("more", (("display.show", "display"), ("desk.about", "about"))),
)  # fmt: skip
# Anybody may read the policy, from the page about this tool; on the signpost it is for who changes it.
ON_THE_SIGNPOST_FOR = {"desk.policy": "supervisor"}


# Pages of other rooms that lie behind an arm.
BEHIND = {"lab": frozenset({"trails.instrument", "trails.device", "tables.table"})}


class Place(NamedTuple):
    """One arm of the signpost; `inner` are the pages behind it, shown once one of them is open."""

    href: str
    text: str
    current: Literal["", "page", "true"]
    inner: tuple[Place, ...] = ()


@blueprint.app_context_processor
def given() -> dict[str, object]:
    """Return the places of whoever is signed in, for every template."""
    return {"places": places()}


def places() -> list[Place]:
    """Return where the person signed in may go; nowhere for a stranger."""
    found = [(name, [page for page in pages if _may_go(page[0])]) for name, pages in ARMS]
    return [_arm(name, pages) for name, pages in found if pages]


def _arm(name: str, pages: Sequence[tuple[str, str]]) -> Place:
    inner = tuple(_page(*page) for page in pages)
    if len(inner) == 1:
        return inner[0]
    opened = any(page.current for page in inner) or _within(name, pages)
    text = speech.say(f"board.place.{name}")
    return Place(inner[0].href, text, "true" if opened else "", inner if opened else ())


def _page(endpoint: str, name: str) -> Place:
    here = request.endpoint == endpoint
    return Place(url_for(endpoint), speech.say(f"board.place.{name}"), "page" if here else "")


def _within(name: str, pages: Sequence[tuple[str, str]]) -> bool:
    """Say whether the page shown lies behind one of these: a drill behind the drills."""
    rooms = {endpoint.split(".")[0] for endpoint, _ in pages}
    return request.blueprint in rooms - {"desk"} or request.endpoint in BEHIND.get(name, ())


def _may_go(endpoint: str) -> bool:
    person, view = seats.person(), current_app.view_functions.get(endpoint)
    role = ON_THE_SIGNPOST_FOR.get(endpoint) or (least_role_of(view) if view else None)
    return bool(person and role and RANK[person.role] >= RANK[role])
