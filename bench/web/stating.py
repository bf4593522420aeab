"""What a tablet needs to state by itself: the fields of every kind, and the words of their faults."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, Field, fields
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from flask import Blueprint, Response, jsonify

from bench.core.entries import (
    AT_A_SETTING,
    BY_A_SUPERVISOR,
    KINDS,
    OF_THE_LAB,
    WITH_A_REASON,
    DrillReading,
    InstrumentChecked,
    PersonConfirmed,
    Released,
    Remounted,
    TableDescribed,
    UncertaintyStated,
)
from bench.web import speech
from bench.web.roles import least

blueprint = Blueprint("stating", __name__)

# A tablet says what it read of a re-mount: the bench PC alone works figures out and releases.
BY_A_TECHNICIAN = frozenset({InstrumentChecked, UncertaintyStated, TableDescribed, DrillReading})
AT_THE_BENCH = (
    BY_A_SUPERVISOR | (OF_THE_LAB - BY_A_TECHNICIAN) | {Released, Remounted, PersonConfirmed}
)
FAULTS = (
    "missing",
    "not_a_number",
    "not_whole",
    "not_a_choice",
    "control_characters",
    "no_setting",
)
# A yes or no that has to be chosen: left out it is not no.
CHOSEN = frozenset({"lead_at_gingival"})
# The fields of a form whose figures make one field of a drill's reading.
ONE_BY_ONE = frozenset({"d_mm", "h_a_mm", "h_b_mm", "h_c_mm"})
_TYPES = {int: "int", float: "number", str: "text", bool: "flag"}

# What has to be given where another field holds a value, or any at all: None.
_ANGLES = ("ap_deg", "lat_deg")
NEEDS: Mapping[str, tuple[tuple[str, str | None, tuple[str, ...]], ...]] = {
    "remount_read": (
        ("method", "tripod", ("tripod", "h_a_mm", "h_b_mm", "h_c_mm")),
        ("method", "inclinometer", _ANGLES), ("method", "scored_lines", _ANGLES),
        ("fourth", None, ("h_d_mm",)),
    ),
}  # fmt: skip

# What two statements have to share to contradict each other, as `core.claims` has it: `@` names a field.
CLAIMS: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "case_opened": (("case",),), "teeth_recorded": (("teeth",),),
    "prescription_recorded": (("prescription",),), "disinfection_recorded": (("disinfection",),),
    "cast_received": (("cast",),), "clasp_wished": (("clasp", "@tooth", "@surface"),),
    "rest_wished": (("rest", "@tooth", "@seat"),), "guide_plane_wished": (("plane_wish", "@tooth", "@surface"),),
    "indirect_retainer_wished": (("indirect", "@tooth"),), "guide_plane_read": (("plane", "@tooth", "@surface"),),
    "undercut_read": (("undercut", "@tooth", "@surface"),),
    "interference_noted": (("interference", "@place", "@nature", "@tooth"), ("interferences",)),
    "interferences_looked": (("interferences",),), "survey_lines_drawn": (("line", "@sites"),),
    "tripod_marked": (("tripod",),), "tip_chosen": (("tip", "@tooth", "@surface"),),
}  # fmt: skip


@blueprint.get("/sync/stating")
@least("stranger", quiet=True)
def stating() -> Response:
    """Return the kinds of entry a form may state, the names of their fields and the words of faults."""
    return jsonify(
        kinds=schema(),
        faults={code: _template(code) for code in FAULTS},
        fields={name: speech.field_name(name) for name in _names()},
        said={kind: _said(kind) for kind in schema()},
        choices={name: found for name in _fields() if (found := _choices(name))},
    )


@cache
def schema() -> dict[str, dict[str, Any]]:
    """Return for each kind that a tablet may state its fields and what goes with a statement of it.

    Kinds that the bench PC alone records, since it has to judge or to compute, are left out.
    """
    return {kind: _kind(kind, body) for kind, body in KINDS.items() if body not in AT_THE_BENCH}


def _kind(kind: str, body: type) -> dict[str, Any]:
    hints = get_type_hints(body)
    return {
        "fields": {field.name: _field(field, hints[field.name]) for field in fields(body)},
        "of_the_lab": body in OF_THE_LAB,
        "at_a_setting": body in AT_A_SETTING, "with_a_reason": body in WITH_A_REASON,
        "claims": CLAIMS.get(kind, ()), "needs": NEEDS.get(kind, ()),
    }  # fmt: skip


def _field(field: Field[object], hint: object) -> dict[str, object]:
    found: dict[str, object] = {"type": _type(hint)}
    if get_origin(hint) is tuple:
        found |= {"many": True, "blank": "default"}
    elif field.default is not MISSING:
        found |= {"blank": "default", "default": field.default}
    else:
        found["blank"] = "null" if NoneType in get_args(hint) else "missing"
    if field.name in CHOSEN:
        found["chosen"] = True
    if get_origin(hint) is Literal:
        found["choices"] = get_args(hint)
    return found


def _type(hint: object) -> str:
    if get_origin(hint) is tuple:
        return _type(get_args(hint)[0])
    if get_origin(hint) in (Union, UnionType):
        return _type(next(part for part in get_args(hint) if part is not NoneType))
    return "text" if get_origin(hint) is Literal else _TYPES[hint]  # type: ignore[index]


def _fields() -> set[str]:
    return {name for kind in schema().values() for name in kind["fields"]}


def _names() -> list[str]:
    return sorted(_fields() | {"reason", "setting", "person"} | ONE_BY_ONE)


def _said(kind: str) -> str:
    key = f"recorded.kind.{kind}"
    return speech.say(key) if speech.words().has(key) else kind.replace("_", " ")


def _choices(name: str) -> dict[str, str]:
    """Return the words of what a field may hold, by value; empty where anything may be typed."""
    room = f"choices.{name}."
    keys = (key for key in speech.words().keys() if key.startswith(room))  # noqa: SIM118
    return {key.removeprefix(room): speech.say(key) for key in keys}


def _template(code: str) -> str:
    return speech.say(f"errors.entry.{code}", field="{field}", value="{value}")
