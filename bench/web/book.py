"""The log as the pages read it: cases and the laboratory, read once per request."""

from __future__ import annotations

from flask import abort, current_app, g

from bench.core.case import Case
from bench.core.ids import BadCode, code_from_typed
from bench.core.lab import Lab
from bench.store.credentials import Credentials
from bench.store.log import Log
from bench.store.open import Store


def store() -> Store:
    """Return the open store of this bench."""
    opened: Store = current_app.extensions["store"]
    return opened


def log() -> Log:
    """Return the log of this bench."""
    kept: Log = current_app.extensions["log"]
    return kept


def credentials() -> Credentials:
    """Return the PINs of this bench."""
    kept: Credentials = current_app.extensions["credentials"]
    return kept


def lab() -> Lab:
    """Return the laboratory as recorded now."""
    if "lab" not in g:
        g.lab = log().lab()
    found: Lab = g.lab
    return found


def case_of(code: str) -> Case:
    """Return the case of a label code as recorded now, empty when nothing is; 404 for no label code."""
    try:
        plain = code_from_typed(code)
    except BadCode:
        abort(404, "label")
    cases: dict[str, Case] = g.setdefault("cases", {})
    if plain not in cases:
        cases[plain] = log().case(plain)
    return cases[plain]


def forget() -> None:
    """Read everything anew: something was recorded."""
    g.pop("lab", None)
    g.pop("cases", None)
