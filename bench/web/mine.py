"""Which cases a person works on, so that a tablet keeps them at hand before any of them is opened on it."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify

from bench.store.seeking import Sought
from bench.web import book, seats
from bench.web.roles import least

blueprint = Blueprint("mine", __name__)

MOST_CASES = 24


@blueprint.get("/offline/mine")
@least("technician", quiet=True)
def mine() -> Response:
    """Return the codes of open cases of which the person signed in stated something, touched last first."""
    person = seats.person()
    assert person is not None
    sought = Sought(open_only=True, person=person.initials)
    return jsonify(codes=[line.code for line in book.log().models.lines(sought, limit=MOST_CASES)])
