"""Forms of every kind with the canonical bytes they become: read by the tests of the tablet's scripts.

`python -m tests.web.formvectors` writes them to tests/js/vectors.json anew.
"""

from __future__ import annotations

import json
from pathlib import Path
from urllib.parse import parse_qsl

from werkzeug.datastructures import MultiDict

from bench.core.claims import stated_by
from bench.core.entries import KINDS, OF_THE_LAB, Draft, sealed
from bench.core.wire import seal
from bench.web.forms import read_body
from bench.web.stating import schema

FILE = Path(__file__).parents[1] / "js" / "vectors.json"
CODE = "2345678K"
ID = "0195a1b2-c3d4-7e5f-8a6b-7c8d9e0f1a2b"
OTHER = "0195a1b2-c3d4-7e5f-8a6b-7c8d9e0f1a2c"
AT = "2026-03-09T08:00:00.007Z"
FORMS: list[tuple[str, str]] = [
    ("teeth_recorded", "missing=36&missing=37&replaced=36"),
    ("prescription_recorded", "reference= Rx %E2%80%9C77%E2%80%9D %0D%0A%09%CE%A9 &dated=2026-03-02"),
    ("disinfection_recorded", "status=disinfected"),
    ("cast_received", "soundness=sound&remark="),
    ("cast_received", "soundness=chipped&remark=say %22%C3%A4%5C%C3%A9%22 / %F0%9F%A6%B7%E2%80%A8%7F"),
    ("clasp_wished", "tooth=35&surface=MB&clasp=bar&material=co_cr&wanted_in=0.010&arm_mm="),
    ("clasp_wished", "tooth=35&surface=MB&clasp=bar&material=co_cr&wanted_mm=0,50&arm_in=.5"),
    ("rest_wished", "tooth=35&seat=mesial"),
    ("guide_plane_wished", "tooth=35&surface=D"),
    ("indirect_retainer_wished", "tooth=43"),
    ("photo_kept",
     "sha256=DIGEST&media_type=image/jpeg&width_px=900&height_px=1200&shows=tripod&"
     "about=OTHER"),
    ("photo_kept",
     "sha256=DIGEST&media_type=image/jpeg&width_px=900&height_px=1200&shows=cast&focal_px=970.7"),
    ("photo_marks_confirmed",
     "sha256=DIGEST&about=OTHER&label_mm=20&corners_px=100.25&corners_px=100&corners_px=300&corners_px=100&"
     "corners_px=300&corners_px=300&corners_px=100&corners_px=300&marks_px=500.5&marks_px=200&"
     "marks_px=900&marks_px=210&marks_px=700&marks_px=600,75&came=found&came=moved&came=tapped&"
     "label_came=found&focal_px=&dh_mm=-1.5&active=a"),
    ("photo_marks_confirmed",
     "sha256=DIGEST&about=OTHER&label_mm=20&corners_px=100.25&corners_px=100&corners_px=300&corners_px=100&"
     "corners_px=300&corners_px=300&corners_px=100&corners_px=300&marks_px=500.5&marks_px=200&"
     "marks_px=900&marks_px=210&marks_px=700&marks_px=600,75&came=found&came=moved&came=tapped&"
     "label_came=found&focal_px=970.7&focal_sd_px=30.1&lens_photos=4&dh_mm=2"),
    ("photo_drawn", "sha256=DIGEST&shapes=arrow 0.1 0.2 0.3 0.4 wax&shapes=circle 0.5 0.5 0.6 0.5"),
    ("mounted", ""),
    ("setting_taken", "ap_deg=%E2%88%924.5&lat_deg=%2B0&instrument=T1&resolution_deg=0.5"),
    ("setting_taken", "ap_deg=&lat_deg="),
    ("setting_made_final", "locked=on"),
    ("guide_plane_read", "tooth=35&surface=D&light=gingival&gap_mm=0.1234&height_mm=2.5"),
    ("undercut_read", "tooth=35&surface=MB&gauge_in=0.02&contact=both&drop_mm=1.40&marked=on"),
    ("undercut_read", "tooth=45&surface=MB&gauge_mm=0.75&contact=lip_short"),
    ("interference_noted", "place=palate&nature=leaning_tooth&tooth=34"),
    ("interference_noted", "place=palate&nature=torus&tooth="),
    ("interferences_looked", "none_seen=on"),
    ("survey_lines_drawn", "sites=34B&sites=35L&lead_at_gingival=yes"),
    ("tripod_marked",
     "d_ab_mm=41.5&d_ac_mm=39&d_bc_mm=42.0001&sense=clockwise&one_tip_height=on&"
     "arm_locked=on&table_locked=on&ringed=on"),
    ("tip_chosen", "tooth=35&surface=MB&material=gold&reciprocation=plate&arm_mm=9"),
    ("confirmed", "finding=OTHER"),
    ("disturbed", "what=cast_dropped&remark=x"),
    ("withdrawn", "entry=OTHER"),
    ("remount_read",
     "method=tripod&brings_back=OTHER&tolerance_deg=1&tripod=OTHER&h_a_mm=0&h_b_mm=1,25&h_c_mm=-0.4&"
     "a_turn_deg=&surveyor=S1&second_check=none&answers=OTHER"),
    ("remount_read",
     "method=inclinometer&brings_back=OTHER&tolerance_deg=1&tripod=&ap_deg=4.5&lat_deg=0&second_check=line_matches"),
    ("person_unconfirmed", "entries=OTHER"),
    ("case_opened", "code=22QY4JDS&number=26-0101&arch=lower&cast_kind=master"),
    ("instrument_checked", "tag=G25-1&reading=0,26&reference=0.25&unit=mm&passed=on&remark="),
    ("instrument_checked", "tag=T1&unit=deg&reading=&reference=&remark=loose lock"),
    ("uncertainty_stated", "check=OTHER&uncertainty_mm=0.01"),
    ("table_described", "tag=T1&lowers_front=left screw&lowers_back=&lowers_right=&lowers_left="),
    ("drill_reading", "drill=OTHER&turn=3&cast=A&values_mm=7.31&values_mm=-6.5&values_mm=0&instrument=S1"),
    ("drill_reading", "drill=OTHER&turn=12&cast=B&contact=lip_first&instrument="),
]  # fmt: skip


def vectors() -> dict[str, object]:
    """Return the schema, and each form with its text, digest and claims."""
    stated = {kind: schema()[kind] for kind in sorted({kind for kind, _ in FORMS})}
    return {"kinds": stated, "forms": [_vector(kind, pairs_of(form)) for kind, form in FORMS]}


def pairs_of(form: str) -> list[tuple[str, str]]:
    """Return the fields of a form written as in an address."""
    named = form.replace("OTHER", OTHER).replace("DIGEST", "ab" * 32)
    return parse_qsl(named, keep_blank_values=True)


def _vector(kind: str, pairs: list[tuple[str, str]]) -> dict[str, object]:
    body = read_body(KINDS[kind], MultiDict(pairs))
    of_the_lab = KINDS[kind] in OF_THE_LAB
    setting = None if kind == "withdrawn" or of_the_lab else OTHER
    reason = "because" if kind == "withdrawn" else ""
    draft = Draft(body, "TEC", None if of_the_lab else CODE, setting, (), reason)
    entry, text = seal(sealed(draft, entry_id=ID, device="tablet-1", at=AT, seq=7, prev="0" * 64))
    claims = [
        "|".join("" if part is None else str(part) for part in claim)
        for claim, _ in stated_by(entry)
    ]
    return {
        "kind": kind, "pairs": [*pairs, ("setting", "" if of_the_lab else OTHER), ("reason", reason)],
        "text": text.decode(), "digest": entry.digest, "claims": claims,
    }  # fmt: skip


def written() -> str:
    """Return the vectors as the file holds them."""
    return json.dumps(vectors(), ensure_ascii=True, indent=1) + "\n"


if __name__ == "__main__":
    FILE.write_text(written(), encoding="utf-8")
