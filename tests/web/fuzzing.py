"""Requests that nobody at a bench would send, for every route: valid ones with something hostile in them."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields
from random import Random
from typing import Any

from flask import Flask
from werkzeug.datastructures import FileStorage, MultiDict
from werkzeug.routing import Rule

from bench.core.entries import KINDS, Draft, DrillPlanned
from bench.core.policy import items

FORMS: dict[str, dict[str, Any]] = {
    "case_opened": {"code": "", "number": "26-0500", "arch": "lower", "cast_kind": "master"},
    "teeth_recorded": {"missing": ["36", "46"], "replaced": ["36", "46"], "extractions": ["47"]},
    "prescription_recorded": {"reference": "Rx 1", "dated": "2026-03-02"},
    "disinfection_recorded": {"status": "unknown"},
    "cast_received": {"soundness": "sound", "remark": "Heel chipped"},
    "clasp_wished": {
        "tooth": "35", "surface": "MB", "clasp": "bar", "material": "co_cr", "wanted_mm": "0.25",
        "arm_mm": "9",
    },
    "rest_wished": {"tooth": "35", "seat": "mesial"},
    "guide_plane_wished": {"tooth": "35", "surface": "D"},
    "indirect_retainer_wished": {"tooth": "43"},
    "photo_kept": {
        "sha256": "a" * 64, "media_type": "image/jpeg", "width_px": "800", "height_px": "600",
        "shows": "cast", "about": "",
    },
    "mounted": {"surveyor": "S1", "table": "T1", "remark": ""},
    "setting_taken": {
        "ap_deg": "4", "lat_deg": "-1,5", "instrument": "I1", "resolution_deg": "0.5",
    },
    "setting_made_final": {"locked": "on"},
    "guide_plane_read": {
        "tooth": "35", "surface": "D", "light": "gingival", "gap_mm": "0.3", "height_mm": "2.5",
        "take_off_mm": "0.2", "run_mm": "3",
    },
    "undercut_read": {
        "tooth": "35", "surface": "MB", "gauge_mm": "0.25", "gauge_in": "", "contact": "both",
        "drop_mm": "1.4", "gauge": "", "marked": "on",
    },
    "interference_noted": {"place": "left_lingual", "nature": "torus", "tooth": "", "remark": "x"},
    "interferences_looked": {"none_seen": "on"},
    "survey_lines_drawn": {"sites": ["35B", "35L"], "lead_at_gingival": "on"},
    "tripod_marked": {
        "d_ab_mm": "40", "d_ac_mm": "39", "d_bc_mm": "41", "sense": "clockwise", "ringed": "on",
        "one_tip_height": "on", "arm_locked": "on", "table_locked": "on", "tip_height_mm": "44",
        "remark": "",
    },
    "tip_chosen": {
        "tooth": "35", "surface": "MB", "material": "wrought_wire", "reciprocation": "plate",
        "arm_mm": "9",
    },
    "confirmed": {"finding": ""}, "disturbed": {"what": "table_moved", "remark": ""},
    "remounted": {
        "method": "tripod", "ap_deg": "0.1", "lat_deg": "0.1", "total_deg": "0.1414",
        "tolerance_deg": "0.5", "heights_mm": ["0.1", "0", "0"], "tripod": "", "settles": [],
        "second_check": "none",
    },
    "exempted": {"sites": ["35D"]}, "overruled": {"rule": "B1", "covers": ["B1"]},
    "released": {"grounds": []}, "recall_taken": {"release": ""}, "withdrawn": {"entry": ""},
    "hold_set": {"reference": "L-1"}, "hold_lifted": {"hold": ""},
    "person_added": {"initials": "ZZ", "role": "reader", "pin": "7294", "pin_again": "7294"},
    "person_changed": {"initials": "REA", "role": "reader", "active": "on"},
    "policy_set": {"item": "B5", "value": "warns"},
    "instrument_added": {"tag": "X1", "sort": "gauge", "size_mm": "0.25", "resolution_deg": ""},
    "instrument_checked": {"tag": "X1", "passed": "on", "measured": "0.25", "reference": "0.25"},
    "instrument_retired": {"tag": "X1"},
}  # fmt: skip
FORM_OF_ROUTE: dict[str, dict[str, Any]] = {
    "people.make_first": FORMS["person_added"], "people.add": FORMS["person_added"],
    "people.change": FORMS["person_changed"], "instruments.add": FORMS["instrument_added"],
    "people.set_pin": {"pin": "7294", "pin_again": "7294"},
    "people.change_own_pin": {"pin_now": "8351", "pin": "9264", "pin_again": "9264"},
    "people.sign_in": {"initials": "REA", "pin": "0000", "next": "/"},
    "instruments.check": FORMS["instrument_checked"], "desk.set_policy": {"value": "warns"},
    "cases.open_case": FORMS["case_opened"],
    "remount.remounted": {
        "method": "tripod", "h_a_mm": "0.1", "h_b_mm": "0", "h_c_mm": "0", "a_turn_deg": "0",
        "ap_deg": "1", "lat_deg": "1", "second_check": "none", "surveyor": "S1", "tripod": "",
    },
    "surveylines.drawn": {
        "which": "chosen", "sites": ["35B"], "lead_at_gingival": "yes", "sure": "yes",
        "kept_id": ["", ""],
    },
    "tripodpage.look": FORMS["tripod_marked"], "scanning.read_text": {"code": "22222222"},
    "drills.plan": {
        "reads": "undercut", "cast_0": "A", "tooth_0": "34", "surface_0": "MB", "technicians": ["TEC"],
        "repeats": "2", "seed": "7", "gauge_mm": "0.25", "ab_0": "40", "ac_0": "40", "bc_0": "40",
    },
    "drills.read": {
        "turn": "1", "cast": "A", "contact": "both", "instrument": "", "d_mm": "40", "h_a_mm": "0",
        "h_b_mm": "0", "h_c_mm": "0", "supersedes": "",
    },
    "drills.close": {"remark": "x"}, "instruments.put_back": {"tag": "X1", "remark": ""},
    "supervising.hold": {"reference": "L-1", "hold": ""},
    "trail.settled": {"key": "x", "stand": "", "reason": "Looked again"},
    "photos.keep": {"shows": "cast", "about": "", "next": "/"}, "scanning.read_photo": {},
    "display.choose": {
        "numbering": "iso", "unit": "mm", "theme": "dark", "type": "large", "hand": "left",
        "language": "de",
    },
}  # fmt: skip
FORM_OF_ROUTE["remount.look"] = FORM_OF_ROUTE["remount.remounted"]
AROUND = {
    "setting": "", "supersedes": [], "reason": "Why not", "entry_id": "", "step": "undercuts",
    "part": "", "sheet": "teeth", "wish": "clasp",
}  # fmt: skip
ASKED = {
    "tooth": "35", "surface": "MB", "gauge_mm": "0.5", "sheet": "teeth", "brush": "r", "chart": "36r",
    "wish": "rest", "lines": "35B.35L", "lead": "yes", "again": "1", "disturbed": "1", "ap_deg": "4",
    "lat_deg": "1", "reason": "x", "d_ab_mm": "40", "d_ac_mm": "40", "d_bc_mm": "40",
    "sense": "clockwise", "method": "tripod", "h_a_mm": "0", "h_b_mm": "0", "h_c_mm": "0", "said": "",
    "q": "26", "page": "1", "order": "age", "state": "ready", "code": "22222222", "paper": "A4",
    "mm": "20", "as": "png", "sheet_no": "1", "next": "/", "of": "TEC", "arch": "lower", "step": "tilt",
    "person": "TEC", "mine": "1", "place": "left_lingual",
    "reads": "undercut", "since": "2026-03-01", "until": "2026-03-09",
}  # fmt: skip
LONG = "9" * 5_000
TEXTS = (
    "", " ", "0", "-1", "1e309", "NaN", "nan", "inf", "-Infinity", "1_000", "0x10", "٣", "½", "1,2,3",
    "0.25 in", "25 cm", "4°", LONG, "A" * 5_000, "\x00", "a\x00b", "\x1b[2J", "\u202etxt", "\r\nX-Y: z",
    "\ud7ff\ue000\ufffe", "\U0001f9b7", "a\u0301" * 300, "<script>alert(1)</script>", "'\"><svg/onload=1>",
    "{{7*7}}", "%s%n", "' OR 1=1--", "$(id)", "../../etc/passwd", "..\\..\\x", "//example.invalid/",
    "javascript:0", "None", "null", "[]", "{}", "true", "18", "48", "99", "11", "MB", "XX", "upper",
    "0190a0b0-0000-7000-8000-000000000000", "-0", "00035", "+35", "9999999999999", "1" * 12, "2026-02-30",
    "0000-00-00", "99999-01-01", "bench-000000000000", "R1", "S2", "(a+)+$", "[", "\\", "\n" * 50,
)  # fmt: skip
PATH_PARTS = (
    "..", "../..", "%2e%2e%2fetc", "..%2f..%2fetc%2fpasswd", "%00", "a%00b", "%ff%fe", "%ed%a0%80",
    "%0d%0aX-Y:%20z", "~root", ".", "-", "a" * 3_000, "%F0%9F%A6%B7", "'", "%22", "<b>", "None", "0",
    "-1", "22222222", "2222-2222", "ZZZZZZZZ", "unheard_of", "case_opened", "withdrawn", "QQ", "R1",
    "0190a0b0-0000-7000-8000-000000000000", "a" * 64, "0" * 64, "..%5c..%5cx", "con", "nul.png",
)  # fmt: skip
KINDS_OF_BODY = (
    "application/json", "text/plain", "multipart/form-data", "multipart/form-data; boundary=",
    "application/x-www-form-urlencoded; charset=utf-16", "image/png", "", "\x00",
)  # fmt: skip
BODIES = (
    b"", b"{", b"\xff\xfe\x00", b"a=%ed%a0%80&b=%ff", b"=&=&=", b"a[]=1&a[0]=2", b"&" * 3_000,
    b"tooth=35&" * 500, b"--x\r\nContent-Disposition: form-data; name=\"a\"\r\n\r\n", b"\x00" * 2_000,
)  # fmt: skip
HEADERS: tuple[dict[str, str], ...] = (
    {}, {}, {}, {"HX-Request": "true"}, {"HX-Request": "true", "HX-History-Restore-Request": "true"},
    {"HX-Request": "true", "HX-Target": "\u00e9<b>"}, {"Accept": "application/json"},
    {"Host": "example.invalid"}, {"Host": "[::1"}, {"Origin": "null"}, {"Origin": "http://x.invalid"},
    {"Cookie": "tiltbook-display=\xff..;tiltbook=x"}, {"Range": "bytes=9-1"}, {"Referer": "\x7f"},
    {"Content-Encoding": "gzip"}, {"X-CSRF-Token": "\u00e9"}, {"Sec-Fetch-Site": "cross-site"},
    {"X-HTTP-Method-Override": "DELETE"}, {"If-None-Match": "*"}, {"Accept-Language": "a" * 4000},
)  # fmt: skip

_PARAMETER = re.compile(r"<(?:[^<>]*:)?(\w+)>")


SILENT = {"HEAD", "OPTIONS"}


@dataclass(frozen=True)
class Asked:
    """One request: method, path as sent, the arguments for the client."""

    method: str
    path: str
    sent: dict[str, Any] = field(default_factory=dict)

    def __str__(self) -> str:
        return f"{self.method} {self.path[:200]} {str(self.sent)[:400]}"


@dataclass(frozen=True)
class Fuzzer:
    """Makes requests for the routes of an app; `known` holds parts of paths that exist."""

    app: Flask
    known: Mapping[str, list[str]]
    entries: list[str] = field(default_factory=list)

    def rules(self) -> list[Rule]:
        return sorted(self.app.url_map.iter_rules(), key=lambda rule: (str(rule), rule.endpoint))

    def asked(self, chance: Random) -> Asked:
        """Return a request: mostly a good one with one thing or several made hostile."""
        rule = chance.choice(self.rules())
        method = self._method(rule, chance)
        path, kind = self.path(rule, chance)
        query = self._mixed(ASKED, chance) if chance.random() < 0.5 else {}
        sent: dict[str, Any] = {"query_string": MultiDict(query)}
        if method == "POST":
            sent |= self._body(rule, kind, chance)
        if chance.random() < 0.2:
            sent["headers"] = dict(chance.choice(HEADERS))
        return Asked(method, path, sent)

    def _method(self, rule: Rule, chance: Random) -> str:
        if chance.random() < 0.03:
            return chance.choice(("PUT", "DELETE", "PATCH", "OPTIONS", "HEAD", "TRACE", "FOO"))
        return "POST" if "POST" in (rule.methods or ()) else "GET"

    def path(self, rule: Rule, chance: Random) -> tuple[str, str]:
        """Return a path of a rule, and the kind of entry or '' that it names."""
        path, kind = "", ""
        for place, text in enumerate(_PARAMETER.split(str(rule))):
            part = self._part(text, chance) if place % 2 else text
            kind = part if place % 2 and text == "kind" else kind
            path += part
        return path, kind

    def _part(self, name: str, chance: Random) -> str:
        known = [*self.known.get(name, ()), *(self.entries[-40:] if name == "entry_id" else ())]
        return chance.choice(known if known and chance.random() < 0.8 else PATH_PARTS)

    def _body(self, rule: Rule, kind: str, chance: Random) -> dict[str, Any]:
        if chance.random() < 0.06:
            body = {"data": chance.choice(BODIES), "content_type": chance.choice(KINDS_OF_BODY)}
            return body if chance.random() < 0.8 else {**body, "data": b"a=" + b"x" * 300_000}
        form = {**AROUND, **self.form_of(rule.endpoint, kind)}
        data = MultiDict(self._mixed(form, chance))
        if rule.endpoint in ("photos.keep", "scanning.read_photo") or chance.random() < 0.02:
            name = chance.choice(("p.jpg", "../p.jpg", "p.php", "\x00", ""))
            data["photo"] = FileStorage(io.BytesIO(chance.choice(PICTURES)), name)
        return {"data": data}

    @staticmethod
    def form_of(endpoint: str, kind: str) -> dict[str, Any]:
        """Return a form that fits a route, or a kind of entry."""
        if endpoint != "recording.state":
            return dict(FORM_OF_ROUTE.get(endpoint, {}))
        return dict(FORMS.get(kind, {name.name: "1" for name in fields(KINDS["mounted"])}))

    def _mixed(self, form: Mapping[str, Any], chance: Random) -> Iterator[tuple[str, Any]]:
        """Yield the fields, some of them hostile, missing or said twice."""
        share = chance.choice((0.0, 0.1, 0.1, 0.4, 1.0))
        for name, good in form.items():
            values = list(good) if isinstance(good, list) else [self._known(name, good, chance)]
            if chance.random() < share:
                values = [chance.choice(TEXTS) for _ in range(chance.choice((0, 1, 1, 1, 2, 7)))]
            yield from ((name, value) for value in values)

    def _known(self, name: str, good: str, chance: Random) -> str:
        ids = ("setting", "finding", "entry", "tripod", "release", "about", "said", "stand")
        return chance.choice(self.entries) if name in ids and self.entries and not good else good


def count(app: Flask) -> int:
    return sum(cursor.seq for cursor in app.extensions["log"].cursors().values())


def ask(client: Any, asked: Asked) -> Any:
    """Send a request as a page of this bench would, but for what it changes."""
    headers = {"X-CSRF-Token": client.token(), **asked.sent.get("headers", {})}
    return client.open(asked.path, method=asked.method, **{**asked.sent, "headers": headers})


def trouble_with(app: Flask, client: Any, asked: Asked) -> str:
    """Send a request and return what is wrong with its answer, '' when nothing is."""
    before = count(app)
    answer = ask(client, asked)
    added = count(app) - before
    if answer.status_code >= 500 or b"Traceback" in answer.data[:400]:
        return f"{answer.status_code} for {asked}"
    if answer.status_code >= 400 and added:
        return f"{answer.status_code} and {added} entries for {asked}"
    silent = answer.status_code >= 400 and asked.method not in SILENT and not answer.data.strip()
    return f"{answer.status_code} without a word for {asked}" if silent else ""


def planned(app: Flask) -> str:
    """Let a supervisor plan a drill that a technician and the supervisor read for."""
    plan = DrillPlanned("undercut", ("A", "B"), ("TEC", "SUP"), 3, 7, ("34MB", "35L"), 0.25)
    bits = app.extensions["clock"].random_bits
    return (
        app.extensions["log"]
        .record(
            [Draft(plan, "SUP")],
            now_ms=app.extensions["clock"].now_ms(),
            random_bits=lambda: bits(74),
        )[0]
        .id
    )


def parts_known(app: Flask, codes: list[str]) -> dict[str, list[str]]:
    """Return parts of paths that exist on a bench with these cases."""
    return {
        "drill": [planned(app)], "code": codes, "kind": list(KINDS), "initials": ["REA"], "tag": ["X1", "S1"],
        "item": list(items()), "form": ["png", "pdf"], "variant": ["display", "thumb"],
        "mark": [app.config["STATIC_MARK"]], "name": ["tiltbook.css", "js/pin.js"], "step": [
            "receive", "mount", "tilt", "guide_planes", "undercuts", "interferences", "survey_lines",
            "tripod", "retention", "release",
        ],
    }  # fmt: skip


def _png_of_size(width_px: int, height_px: int) -> bytes:
    """Return the head of a PNG that claims a size, and nothing of what it claims."""
    size = width_px.to_bytes(4, "big") + height_px.to_bytes(4, "big")
    return b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + size + b"\x08\x02\x00\x00\x00" + b"\x00" * 40


PICTURES = (
    b"", b"\xff\xd8\xff", b"\xff\xd8\xff\xe0" + b"\x00" * 400, b"GIF89a" + b"\xff" * 20,
    b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"MZ\x90\x00", _png_of_size(2**31 - 1, 2**31 - 1),
    _png_of_size(60_000, 60_000), b"RIFF\xff\xff\xff\xffWEBPVP8 ", b"%PDF-1.7", b"\x00" * 5_000,
)  # fmt: skip
