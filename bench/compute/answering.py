"""One JSON object in, one JSON object out; what is wrong is told by a code and a message."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

import msgspec

from bench.compute.given import Given
from bench.core.refusal import Refusal


class Computation(NamedTuple):
    """The shape a computation takes, and the function that answers it with plain values."""

    takes: type[Given]
    answer: Callable[[Any], Mapping[str, object]]


class NotTaken(ValueError):
    """Input that a computation does not take: a stable code and a message."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code


def answered(computation: Computation, given: bytes) -> bytes:
    """Return a computation's answer as JSON; raise NotTaken with the code of what is wrong.

    `not_json`, `bad_input` (a field missing, unknown or out of its limits), or a refusal's own.
    """
    try:
        return encoded(computation.answer(msgspec.json.decode(given, type=computation.takes)))
    except msgspec.ValidationError as error:
        raise NotTaken("bad_input", str(error)) from None
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise NotTaken("not_json", str(error)) from None
    except Refusal as refusal:
        raise NotTaken(refusal.code, str(refusal)) from None


def refused(error: NotTaken) -> bytes:
    """Return what is wrong as JSON."""
    return encoded({"error": error.code, "message": str(error)})


def encoded(answer: Mapping[str, object]) -> bytes:
    """Return an answer as JSON on one line."""
    return msgspec.json.encode(_plain(answer))


def _plain(value: object) -> object:
    if isinstance(value, float):
        return value + 0.0  # a minus before nothing would puzzle
    if isinstance(value, Mapping):
        return {name: _plain(part) for name, part in value.items()}
    if isinstance(value, (tuple, list)):
        return [_plain(part) for part in value]
    return value
