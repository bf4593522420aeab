from __future__ import annotations

import re

from bench.core.claims import _STATES
from bench.core.entries import kind_of
from bench.web.stating import CLAIMS
from tests.web.formvectors import FILE, FORMS, written


def test_the_vectors_of_the_scripts_are_what_the_bench_makes_of_the_forms():
    assert written() == FILE.read_text(encoding="utf-8")


def test_every_kind_of_the_offline_page_has_a_vector(technician):
    page = technician.get("/offline/label").text

    assert set(re.findall(r'data-statement="(\w+)"', page)) <= {kind for kind, _ in FORMS}


def test_claims_are_named_for_every_kind_that_makes_one():
    assert set(CLAIMS) == {kind_of(body) for body in _STATES}


def test_the_kinds_come_with_the_words_of_their_faults(stranger):
    told = stranger.get("/sync/stating").json

    assert told["faults"]["missing"].startswith("The {field} is missing.")
    assert told["fields"]["drop_mm"] == "drop below the line"
    assert told["kinds"]["undercut_read"]["at_a_setting"] is True
    assert not {"released", "exempted", "overruled", "remounted"} & set(told["kinds"])
    assert {"case_opened", "remount_read"} <= set(told["kinds"])
    assert told["choices"]["contact"]["lip_short"]
    assert told["said"]["undercut_read"] == "undercut reading"


def test_of_the_lab_a_tablet_states_what_technicians_record_and_nothing_of_a_supervisors(stranger):
    kinds = stranger.get("/sync/stating").json["kinds"]

    of_the_lab = {kind for kind, told in kinds.items() if told["of_the_lab"]}

    assert {
        "instrument_checked", "uncertainty_stated", "table_described", "drill_reading"
    } == of_the_lab  # fmt: skip
