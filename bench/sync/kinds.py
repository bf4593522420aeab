"""The kinds of entry a tablet may state, as plain names of fields and types."""

from __future__ import annotations

from dataclasses import fields
from typing import Any, get_args, get_origin, get_type_hints

from bench.core.entries import KINDS, ONLY_AT_THE_BENCH

_WORDS: dict[object, str] = {str: "text", float: "number", int: "whole", bool: "yes_no"}


def kinds() -> dict[str, dict[str, str]]:
    """Return for each kind its fields with their types.

    Types: text, number (at most four decimals), whole, yes_no, texts, numbers, wholes; a '?' at the
    end where null is allowed.
    """
    return {
        kind: {field.name: _type(get_type_hints(body)[field.name]) for field in fields(body)}
        for kind, body in KINDS.items()
        if body not in ONLY_AT_THE_BENCH
    }


def _type(hint: Any) -> str:
    parts = get_args(hint)
    if type(None) in parts:
        (inner,) = (part for part in parts if part is not type(None))
        return _type(inner) + "?"
    if get_origin(hint) is tuple:
        return _type(parts[0]) + "s"
    return _WORDS.get(hint) or _WORDS[type(parts[0])]
