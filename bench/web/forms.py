"""Read the fields of a form into the body of an entry, by the body's own annotations."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, fields
from functools import cache
from types import NoneType, UnionType
from typing import Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from werkzeug.datastructures import MultiDict

from bench.core.bounds import BadEntry

T = TypeVar("T")
Form = MultiDict[str, str]
Fault = tuple[str, Mapping[str, object]]

MM_PER_INCH = 25.4
# Gauges are sold in pairs of rounded sizes: 0.010 in is the 0.25 mm gauge (common practice, no source).
GAUGES_MM_BY_INCH = {0.01: 0.25, 0.02: 0.5, 0.03: 0.75}
_INT = re.compile(r"[+-]?[0-9]{1,12}", re.ASCII)
_FLOAT = re.compile(r"[+-]?([0-9]{1,12}([.,][0-9]{0,12})?|[.,][0-9]{1,12})", re.ASCII)
_ON = frozenset({"on", "true", "yes", "1"})
_OF_ONE_FIELD = frozenset(
    {"not_a_choice", "missing", "too_long", "control_characters", "out_of_range", "no_such_tooth"}
    | {"named_twice", "no_such_site", "no_entry_id", "no_such_day", "bad_code", "bad_initials"}
    | {"bad_tag", "bad_digest", "bad_rule"}
)


class FormRefused(ValueError):
    """A form that makes no body: for each field at fault a code and the figures for its words."""

    def __init__(self, errors: Mapping[str, Fault]) -> None:
        super().__init__(", ".join(f"{field}: {code}" for field, (code, _) in errors.items()))
        self.errors = dict(errors)


def read_body(cls: type[T], form: Form) -> T:
    """Return the body that a form states; raise FormRefused naming every field at fault.

    Numbers take a comma or a point; a field `gauge_in` fills `gauge_mm` from inches, and so for each
    `_mm`; a blank optional field is None; repeated fields make a tuple; a checkbox left out is False
    unless the body says True by itself.
    """
    values: dict[str, object] = {}
    errors: dict[str, Fault] = {}
    for field in fields(cls):  # type: ignore[arg-type]
        try:
            values[field.name] = _value(cls, field, form)
        except BadEntry as bad:
            errors[field.name] = (bad.code, bad.params)
    return _made(cls, values, errors)


def _made(cls: type[T], values: dict[str, object], errors: dict[str, Fault]) -> T:
    if not errors:
        try:
            return cls(**values)
        except BadEntry as bad:
            errors[bad.field] = (bad.code, bad.params)
    raise FormRefused(errors | _further(cls, values, errors))


def _further(
    cls: type, values: Mapping[str, object], errors: Mapping[str, Fault]
) -> dict[str, Fault]:
    """Find the faults behind the first: put a fitting value where one is known, and try again.

    Only faults of one field by itself are named, since a stand-in may disagree with its neighbours.
    """
    found, latest, trial = dict(errors), dict(errors), dict(values)
    for _ in range(2 * len(fields(cls))):
        trial |= {
            name: _stand_in(cls, name, *latest[name]) for name in latest if name in _hints(cls)
        }
        fault = _fault_in(cls, trial)
        if fault is None:
            break
        latest = dict([fault])
        found = latest | found
    return found


def _fault_in(cls: type, trial: Mapping[str, object]) -> tuple[str, Fault] | None:
    try:
        cls(**trial)
    except BadEntry as bad:
        return (bad.field, (bad.code, bad.params)) if bad.code in _OF_ONE_FIELD else None
    except (TypeError, ValueError, LookupError):
        return None
    return None


_STAND_INS: dict[str, object] = {
    "no_such_tooth": 11, "no_such_day": "2000-01-01", "bad_initials": "AA", "bad_tag": "A",
    "bad_rule": "R1", "not_a_number": 1.0, "not_whole": 1, "bad_code": "22222222",
}  # fmt: skip


def _stand_in(cls: type, name: str, code: str, params: Mapping[str, object]) -> object:
    hint = _hints(cls)[name]
    if NoneType in get_args(hint):
        return None
    if get_origin(hint) is tuple:
        return ()
    if code == "out_of_range":
        return params["low"]
    if code == "not_a_choice":
        return str(params["choices"]).split(", ")[0]
    return _STAND_INS.get(code, 1 if hint in (int, float) else "x")


@cache
def _hints(cls: type) -> Mapping[str, object]:
    return get_type_hints(cls)


def _value(cls: type, field: Field[object], form: Form) -> object:
    hint = _hints(cls)[field.name]
    if get_origin(hint) is tuple:
        read = _reader(get_args(hint)[0], field.name)
        return tuple(read(text) for text in _texts(field.name, form) if text)
    if hint is bool:
        return _flag(field, form)
    texts = _texts(field.name, form)
    text = texts[-1] if texts else ""
    if text or (texts and hint is str and field.default is not MISSING):
        return _reader(hint, field.name)(text)
    return _of_a_blank(field, hint)


def _of_a_blank(field: Field[object], hint: object) -> object:
    if field.default is not MISSING:
        return field.default
    if NoneType in get_args(hint):
        return None
    raise BadEntry(field.name, "missing")


def _texts(name: str, form: Form) -> list[str]:
    if name.endswith("_mm") and form.get(inch_name(name), "").strip():
        return [_mm_of(name, text) for text in form.getlist(inch_name(name))]
    return [text.strip().replace("\r\n", "\n") for text in form.getlist(name)]


def inch_name(name: str) -> str:
    """Return the form's field for the same length in inches: `gauge_mm` is `gauge_in`."""
    return name.removesuffix("_mm") + "_in"


def _mm_of(name: str, text: str) -> str:
    inches = number_from(name, text.strip())
    exact = round(inches * MM_PER_INCH, 4)
    return str(GAUGES_MM_BY_INCH.get(round(inches, 4), exact) if _is_gauge(name) else exact)


def _is_gauge(name: str) -> bool:
    return name in ("gauge_mm", "wanted_mm", "size_mm")


def _flag(field: Field[object], form: Form) -> bool:
    if field.name in form:
        return form.getlist(field.name)[-1].strip().lower() in _ON
    return field.default is True


def number_from(name: str, text: str) -> float:
    """Return the number a person wrote with comma or point; raise BadEntry for any other text."""
    if not _FLOAT.fullmatch(text.replace("\u2212", "-")):
        raise BadEntry(name, "not_a_number", value=text)
    return float(text.replace("\u2212", "-").replace(",", "."))


def _whole(name: str, text: str) -> int:
    if not _INT.fullmatch(text):
        raise BadEntry(name, "not_whole", value=text)
    return int(text)


def _reader(hint: object, name: str) -> Callable[[str], object]:
    if get_origin(hint) in (Union, UnionType):
        return _reader(next(part for part in get_args(hint) if part is not NoneType), name)
    if get_origin(hint) is Literal:
        return lambda text: _choice(name, text, get_args(hint))
    if hint is int:
        return lambda text: _whole(name, text)
    if hint is float:
        return lambda text: number_from(name, text)
    return lambda text: text


def _choice(name: str, text: str, choices: tuple[object, ...]) -> object:
    if text not in choices:
        raise BadEntry(name, "not_a_choice", value=text, choices=", ".join(map(str, choices)))
    return text
