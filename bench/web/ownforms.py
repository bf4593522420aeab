"""Where a kind of entry has a form of its own: the page of its step that a tablet opens a refused one in again."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field


@dataclass(frozen=True, slots=True)
class OwnForm:
    """The page that shows a form: its path with gaps for the case or a field, and what its address says.

    `asks` names the parameters with the fields they take their values from; many values are parted by
    a point. `fixed` are parameters that are always the same.
    """

    path: str
    asks: Mapping[str, str] = field(default_factory=dict)
    fixed: Mapping[str, str] = field(default_factory=dict)


def _step(name: str, *asks: str, **fixed: str) -> OwnForm:
    return OwnForm(f"/case/{{case}}/{name}", {one: one for one in asks}, fixed)


def _wish(name: str, *asks: str) -> OwnForm:
    return _step("receive", *asks, sheet="wishes", wish=name)


OWN_FORMS: Mapping[str, OwnForm] = {
    "case_opened": OwnForm("/case/new", {"code": "code"}),
    "cast_received": _step("receive", sheet="arrival"),
    "disinfection_recorded": _step("receive", sheet="arrival"),
    "prescription_recorded": _step("receive", sheet="arrival"),
    "teeth_recorded": _step("receive", "missing", "replaced", "extractions", sheet="teeth"),
    "clasp_wished": _wish("clasp", "tooth", "surface"),
    "rest_wished": _wish("rest", "tooth"),
    "guide_plane_wished": _wish("plane", "tooth", "surface"),
    "indirect_retainer_wished": _wish("indirect", "tooth"),
    "mounted": _step("mount"),
    "setting_taken": _step("tilt"),
    "setting_made_final": _step("tilt"),
    "guide_plane_read": _step("guide_planes", "tooth", "surface"),
    "undercut_read": _step("undercuts", "tooth", "surface", "gauge_mm"),
    "interference_noted": _step("interferences", "place", "tooth"),
    "interferences_looked": _step("interferences"),
    "survey_lines_drawn": OwnForm("/case/{case}/survey_lines", {"lines": "sites"}),
    "tripod_marked": _step("tripod", again="1"),
    "fourth_mark_made": _step("tripod"),
    "tip_chosen": _step("retention", "tooth", "surface"),
    "disturbed": _step("mount", disturbed="1"),
    "remount_read": _step("remount", "method"),
    "photo_kept": _step("photo/camera", "shows", "about"),
    "instrument_checked": OwnForm("/instruments", {"of": "tag"}),
    "table_described": OwnForm("/tables/{tag}"),
}


def as_json() -> str:
    """Return the forms as a page carries them for its script."""
    return json.dumps({kind: asdict(one) for kind, one in OWN_FORMS.items()}, sort_keys=True)
