"""Words for what went wrong, and the words every template may use."""

from __future__ import annotations

from flask import g

from bench.core.refusal import Refusal
from bench.web import chosen
from bench.web.forms import Fault
from bench.words import Words


def words() -> Words:
    """Return the catalogue in the reader's language."""
    if "words" not in g:
        g.words = Words(chosen.language())
    found: Words = g.words
    return found


def say(key: str, /, **params: object) -> str:
    """Return the words of a key of the catalogue."""
    return words().say(key, **params)


def with_point(figure: str) -> str:
    """Return a figure written with a point with the decimal sign of the reader's language instead."""
    return figure.replace(".", say("choices.row.point"))


def say_fault(field: str, fault: Fault) -> str:
    """Return the words of a field's fault: what, why, what to do."""
    code, params = fault
    return say(f"errors.entry.{code}", **{**params, "field": field_name(field)})


def field_name(field: str) -> str:
    """Return a field's name as people say it."""
    key = f"fields.{field}"
    return say(key) if words().has(key) else field.replace("_", " ")


def fault_of(refusal: Refusal) -> Fault:
    """Return the store's refusal as the fault of a form."""
    return refusal.code, dict(refusal.params)
