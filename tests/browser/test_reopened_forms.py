"""Whatever kind was refused: opened in its step, and without the bench PC, its form says all that was stated."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from playwright.sync_api import Page, Playwright

from bench.core.entries import GuidePlaneWished, InstrumentAdded, UndercutRead
from bench.core.ids import entry_id
from bench.web.clock import SYSTEM
from bench.web.ownforms import OWN_FORMS
from tests.browser.conftest import Served
from tests.browser.tablets import TabletHand, at_hand, pair, persistent, started_again, watching
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.latercases import locked, marks
from tests.web.surveyedcases import OnBench

# What a form leaves to the page: names of entries, and what the case tells by itself.
BODIES: list[tuple[str, dict[str, Any]]] = [
    ("cast_received", {"soundness": "chipped", "remark": "corner off"}),
    ("disinfection_recorded", {"status": "unknown"}),
    ("prescription_recorded", {"reference": "Rx 52", "dated": "2026-03-03"}),
    ("teeth_recorded", {"missing": [36, 37, 38, 48], "replaced": [36, 37], "extractions": []}),
    ("clasp_wished", {"tooth": 34, "surface": "DB", "clasp": "bar", "material": "gold",
                      "wanted_mm": 0.75, "arm_mm": 8.5}),
    ("rest_wished", {"tooth": 34, "seat": "distal"}),
    ("guide_plane_wished", {"tooth": 34, "surface": "D"}),
    ("indirect_retainer_wished", {"tooth": 33}),
    ("mounted", {"surveyor": "S9", "table": "T9", "remark": "anew"}),
    ("setting_taken", {"ap_deg": 3.5, "lat_deg": -2, "instrument": "I9", "resolution_deg": 0.5}),
    ("guide_plane_read", {"tooth": 35, "surface": "D", "light": "gingival", "gap_mm": 0.4,
                          "height_mm": 2.5, "take_off_mm": 0.2, "run_mm": 1.5}),
    ("undercut_read", {"tooth": 34, "surface": "DB", "gauge_mm": 0.75, "contact": "lip_first",
                       "drop_mm": 1.4, "gauge": "G9", "marked": True}),
    ("interference_noted", {"place": "left_lingual", "nature": "torus", "tooth": 35, "remark": "wide"}),
    ("survey_lines_drawn", {"sites": ["34B", "34L"], "lead_at_gingival": False, "sleeve": "L9"}),
    ("tripod_marked", {"d_ab_mm": 41, "d_ac_mm": 39.5, "d_bc_mm": 40, "sense": "anticlockwise",
                       "one_tip_height": True, "arm_locked": True, "table_locked": False,
                       "ringed": True, "tip_height_mm": 12, "caliper": "C9", "remark": ""}),
    ("tip_chosen", {"tooth": 35, "surface": "MB", "material": "gold", "reciprocation": "plate",
                    "arm_mm": 9.5}),
    ("disturbed", {"what": "lead_broke", "remark": "twice"}),
    ("remount_read", {"method": "tripod", "h_a_mm": 10, "h_b_mm": 10.4, "h_c_mm": 9.95,
                      "a_turn_deg": 15, "second_check": "line_matches", "surveyor": "S9"}),
    ("remount_read", {"method": "scored_lines", "ap_deg": 1, "lat_deg": -0.5,
                      "second_check": "none", "surveyor": "S9"}),
]  # fmt: skip
AT_HAND_ALONE: list[tuple[str, dict[str, Any]]] = [
    ("fourth_mark_made", {"d_ad_mm": 30, "d_bd_mm": 31.5, "d_cd_mm": 32, "caliper": "C9"}),
    ("instrument_checked", {"tag": "T1", "passed": True, "reading": 1.02, "reference": 1,
                            "unit": "deg", "remark": "worn"}),
    ("table_described", {"tag": "T1", "lowers_front": "front screw", "lowers_back": "lock, by hand",
                         "lowers_right": "", "lowers_left": ""}),
]  # fmt: skip

# One refused entry takes the place of the one before; what its form says is read as if it were sent.
PUT = """async ([entry]) => {
  const open = indexedDB.open("tiltbook");
  const db = await new Promise((done) => { open.onsuccess = () => done(open.result); });
  const turn = db.transaction(["refused", "drafts"], "readwrite");
  turn.objectStore("refused").clear();
  turn.objectStore("drafts").clear();
  turn.objectStore("refused").put(entry);
  await new Promise((done) => { turn.oncomplete = done; });
  db.close();
}"""
SAID = """async (kind) => {
  const form = document.querySelector("form[data-instead]");
  if (!form) return null;
  const at = [...document.scripts].find((one) => one.src.endsWith("tiltbook.js")).src;
  const { bodyFrom } = await import(at.replace("tiltbook.js", "statement.js"));
  const kinds = (await (indexedDB.databases ? new Promise((done) => {
    const open = indexedDB.open("tiltbook");
    open.onsuccess = () => {
      const asked = open.result.transaction("meta").objectStore("meta").get("stating");
      asked.onsuccess = () => { open.result.close(); done(asked.result); };
    };
  }) : null)).kinds;
  const chosen = form.querySelector("button[aria-current]");
  const pairs = [...new FormData(form, chosen)].filter(([, value]) => typeof value === "string");
  if (form.hasAttribute("data-offline") && kind === "teeth_recorded") {
    for (const [name, tooth] of [...pairs]) if (name === "replaced") pairs.push(["missing", tooth]);
  }
  return bodyFrom(kinds[kind], pairs).body;
}"""


def refused(onbench: OnBench, kind: str, body: dict[str, Any]) -> dict[str, Any]:
    """An entry as the tablet holds it after the bench PC refused it."""
    key = entry_id(SYSTEM.now_ms(), SYSTEM.random_bits(74))
    case = None if kind in ("instrument_checked", "table_described") else onbench.code
    statement = {"id": key, "kind": kind, "case": case, "setting": None, "body": body,
                 "person": "TEC", "at": "2026-03-09T08:00:00.000Z", "supersedes": [], "reason": ""}  # fmt: skip
    return {"id": key, "statement": statement, "code": "not_allowed", "field": "person",
            "words": "Not allowed.", "made_at": SYSTEM.now_ms(), "digest": ""}  # fmt: skip


def differing(page: Page, entry: dict[str, Any]) -> dict[str, Any] | None:
    """Open an entry from the outbox; return what its form says otherwise, None without a form."""
    statement = entry["statement"]
    page.goto("/outbox")
    page.evaluate(PUT, [entry])
    page.goto("/outbox")
    page.locator("[data-refused] a.action").click()
    page.locator("html[data-tablet='ready']").wait_for(state="attached")
    page.locator("[data-filled]").first.wait_for()
    said = page.evaluate(SAID, statement["kind"])
    if said is None:
        return None
    both = {name: (value, said.get(name)) for name, value in statement["body"].items()}
    return {name: pair for name, pair in both.items() if plain(pair[0]) != plain(pair[1])}


def plain(value: Any) -> Any:
    return sorted(value, key=str) if isinstance(value, list) else value


def test_a_form_opened_again_says_all_that_was_stated(
    playwright: Playwright, tmp_path: Path, served: Served, onbench: OnBench, watch: Watch
) -> None:
    setting = locked(onbench)
    onbench.state(GuidePlaneWished(35, "D"))
    onbench.state(UndercutRead(35, "MB", 0.5, "both", 1.4), setting=setting.id)
    onbench.state(marks(), setting=setting.id)
    served.say(InstrumentAdded("T1", "table"), person="SUP")
    context = persistent(playwright, tmp_path / "browser", served)
    page = watching(context, watch)
    pair(page, served)
    TabletHand(page).sign_in("TEC", PINS["TEC"]).goto(f"/case/{onbench.code}/offline")
    at_hand(page, f"/case/{onbench.code}/offline", "/outbox")
    online = {
        f"{kind} {n}": differing(page, refused(onbench, kind, body))
        for n, (kind, body) in enumerate(BODIES + AT_HAND_ALONE)
    }
    served.stop()
    away = {
        f"{kind} {n}": differing(page, refused(onbench, kind, body))
        for n, (kind, body) in enumerate(BODIES)
    }
    started_again(served)

    assert {} == {name: found for name, found in online.items() if found != {}}
    assert {} == {name: found for name, found in away.items() if found != {}}
    keys_alone = {"setting_made_final", "interferences_looked", "photo_kept", "case_opened"}
    assert set(OWN_FORMS) == {kind for kind, _ in BODIES + AT_HAND_ALONE} | keys_alone
    context.close()
