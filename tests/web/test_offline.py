from __future__ import annotations

import html
import json
import re

from bench.core.entries import (
    Disturbed,
    InterferencesLooked,
    Mounted,
    RestWished,
    SettingTaken,
    SurveyLinesDrawn,
    UndercutRead,
)
from tests.web.latercases import locked, marks
from tests.web.surveyedcases import mounted, opened

KINDS = {
    "mounted", "setting_taken", "setting_made_final", "guide_plane_read", "undercut_read",
    "interference_noted", "interferences_looked", "survey_lines_drawn", "tripod_marked",
    "photo_kept", "tip_chosen", "disturbed", "remount_marks", "remount_angles",
    "clasp_wished", "rest_wished", "guide_plane_wished", "indirect_retainer_wished",
}  # fmt: skip
RECEIVED = {"cast_received", "disinfection_recorded", "prescription_recorded", "teeth_recorded"}


def page_of(bench):
    return bench.client.get(f"/case/{bench.code}/offline").text


def known_in(text):
    return json.loads(html.unescape(re.search(r'data-known="([^"]*)"', text)[1]))


def kinds_in(text):
    """The parts of the page that are shown: one that is said already waits to be corrected."""
    return set(re.findall(r'data-part="(\w+)"(?! data-said)', text))


def test_one_page_states_every_kind_of_finding(bench):
    mounted(bench)

    assert kinds_in(page_of(bench)) == KINDS | RECEIVED - {"teeth_recorded"}


def test_the_page_knows_the_setting_and_what_a_new_reading_corrects(bench):
    zero = mounted(bench)
    read = bench.state(UndercutRead(35, "MB", 0.5, "both"), setting=zero.id)
    lines = bench.state(SurveyLinesDrawn(("34B", "34L"), True), setting=zero.id)
    looked = bench.state(InterferencesLooked(), setting=zero.id)
    known = known_in(page_of(bench))

    assert known["setting"] == zero.id
    assert known["standing"] == {
        "undercut|35|MB": {"ids": [read.id], "kind": "undercut_read", "lead": None},
        "line|34B": {"ids": [lines.id], "kind": "survey_lines_drawn", "lead": True},
        "line|34L": {"ids": [lines.id], "kind": "survey_lines_drawn", "lead": True},
        "interferences": {"ids": [looked.id], "kind": "interferences_looked", "lead": None},
    }


def test_what_was_received_or_wished_is_corrected_by_name_at_any_setting(bench):
    mounted(bench)
    (said,) = bench.entries("teeth_recorded")
    wish = bench.state(RestWished(34, "mesial"))
    text = page_of(bench)
    lasting = known_in(text)["lasting"]

    assert lasting["teeth"] == {"ids": [said.id], "kind": "teeth_recorded", "lead": None}
    assert lasting["rest|34|mesial"] == {"ids": [wish.id], "kind": "rest_wished", "lead": None}
    assert 'data-part="teeth_recorded" data-said hidden' in text


def test_a_reading_of_an_earlier_setting_is_not_corrected_but_may_be_confirmed(bench):
    zero = mounted(bench)
    read = bench.state(UndercutRead(35, "MB", 0.5, "both"), setting=zero.id)
    bench.state(SettingTaken(4.0, 0.0, "T1", 0.5), setting=zero.id)
    text = page_of(bench)

    assert known_in(text)["standing"] == {}
    assert f'data-held="{zero.id}"' in text
    assert f'name="finding" value="{read.id}"' in text


def test_the_page_says_what_stays_with_the_bench_pc(bench):
    mounted(bench)

    assert "it decides what may go to design" in page_of(bench)


def test_a_label_recorded_against_but_not_opened_offers_the_opening(bench):
    bench.say(Mounted(), case=bench.code)
    text = page_of(bench)

    assert "case_opened" in kinds_in(text)
    assert 'data-shape="[0-9]{2}-[0-9]{4}[A-Z]?"' in text


def test_the_page_knows_what_a_re_mount_is_read_against(bench):
    setting = locked(bench)
    tripod = bench.state(marks(), setting=setting.id)
    fell = bench.state(Disturbed("arm_moved"), setting=setting.id)
    known = known_in(page_of(bench))

    assert known["tripod"] == tripod.id
    assert known["brings_back"] == setting.id
    assert known["disturbed"] == [fell.id]
    assert known["fourth"] is None


def test_a_case_opened_only_is_shown_with_its_teeth(bench):
    opened(bench)
    text = page_of(bench)

    assert known_in(text)["setting"] is None
    assert 'value="48"' in text
    assert 'value="11"' not in text


def test_a_label_never_seen_offers_the_teeth_of_both_arches(technician):
    text = technician.get("/offline/label").text

    assert kinds_in(text) == KINDS | RECEIVED | {"case_opened"}
    assert 'value="48"' in text
    assert 'value="11"' in text


def test_only_who_may_record_is_offered(technician):
    text = technician.get("/offline/label").text

    assert re.findall(r"<option[^>]*>([A-Z]{3})</option>", text) == ["SUP", "TEC"]


def test_without_scripts_a_form_of_the_page_goes_to_the_bench_as_before(bench):
    zero = mounted(bench)
    form = {
        "setting": zero.id,
        "tooth": "35",
        "surface": "MB",
        "gauge_mm": "0.5",
        "contact": "both",
    }
    answer = bench.client.send(f"/case/{bench.code}/record/undercut_read", form)

    assert answer.status_code == 303
    assert [e.body.tooth for e in bench.entries("undercut_read")] == [35]


def test_a_stranger_sees_no_case_and_the_outbox_alone(stranger, code):
    assert stranger.get(f"/case/{code}/offline").status_code == 303
    assert stranger.get("/outbox").status_code == 200
