"""The words an entry may use: closed lists of the trade's terms."""

from __future__ import annotations

from typing import Literal

Role = Literal["technician", "supervisor", "reader"]
ROLES: tuple[Role, ...] = ("technician", "supervisor", "reader")
INSTRUMENTS = ("surveyor", "table", "gauge", "sleeve", "inclinometer", "caliper")
CAST_KINDS = ("diagnostic", "master", "duplicate")
DISINFECTION = ("disinfected", "not_disinfected", "unknown")
SOUNDNESS = ("sound", "chipped", "broken", "bubbles")
CLASPS = ("circumferential", "bar", "ring", "combination", "other")
MATERIALS = ("co_cr", "wrought_wire", "gold", "titanium", "polymer")
SEATS = ("mesial", "distal", "cingulum", "incisal")
LIGHT = ("none", "gingival", "occlusal")
CONTACTS = ("both", "lip_short", "lip_first", "none")
NATURES = ("leaning_tooth", "torus", "bony_undercut", "soft_tissue_undercut", "other")
PLACES = (
    "right_lingual", "left_lingual", "right_buccal", "left_buccal", "front_labial", "front_lingual", "palate",
)  # fmt: skip
SENSES = ("clockwise", "anticlockwise")
RECIPROCATION = ("arm", "plate", "minor_connector", "none")
DISTURBANCES = ("table_moved", "arm_moved", "lead_broke", "cast_dropped")
METHODS = ("tripod", "scored_lines", "inclinometer")
SECOND_CHECKS = ("gauge_touches", "line_matches", "inclinometer", "none")
READS = ("undercut", "tripod_heights", "distance")
SHOWS = ("tripod", "site", "cast")
CAME = ("found", "moved", "tapped")
LABEL_CAME = ("found", "placed")
LIMIT_DEG = 45.0
DEVICE = r"(?:tablet|bench)-[0-9a-f]{12}"
