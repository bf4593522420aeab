"""Whatever is sent is answered in words: never a failure of ours, never half an entry."""

from __future__ import annotations

import io
from random import Random
from typing import Any

import pytest
from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from werkzeug.datastructures import MultiDict

from bench.core.entries import (
    KINDS,
    OF_THE_LAB,
    ClaspWished,
    PhotoKept,
    Remounted,
    Withdrawn,
)
from bench.core.ids import case_code
from bench.store import integrity
from bench.web.roles import PHOTO_BYTES
from tests.conftest import Tablet
from tests.web.fuzzing import (
    FORMS,
    PATH_PARTS,
    PICTURES,
    Asked,
    Fuzzer,
    ask,
    count,
    parts_known,
    trouble_with,
)
from tests.web.latercases import moved_on, ready
from tests.web.surveyedcases import OnBench, opened

PEOPLE = ("TEC", "SUP")
OF_OTHER_PAGES = {*OF_THE_LAB, Withdrawn, PhotoKept, Remounted}
AT_A_CASE = sorted(kind for kind, body in KINDS.items() if body not in OF_OTHER_PAGES)


@pytest.fixture
def setting(bench: OnBench) -> str:
    """Everything recorded of a lower cast with its molars missing; the id of its setting."""
    return ready(bench).id


@pytest.fixture(params=PEOPLE)
def person(request: pytest.FixtureRequest, app: Flask) -> Tablet:
    return app.test_client().sit(request.param)


def states(
    person: Tablet, bench: OnBench, kind: str, at: str, /, **changed: Any
) -> tuple[Any, int]:
    """Send a good form with something changed (None: left out); return the answer and what was added."""
    form = {**FORMS[kind], "setting": at, "step": "receive", **changed}
    data = MultiDict((name, value) for name, value in form.items() if value is not None)
    before = count(bench.app)
    answer = person.send(f"/case/{bench.code}/record/{kind}", data=data.to_dict(flat=False))
    return answer, count(bench.app) - before


REFUSED = {
    "missing": ("undercut_read", {"gauge_mm": None, "tooth": "35"}),
    "no tooth": ("guide_plane_read", {"tooth": None}),
    "out of range": ("undercut_read", {"drop_mm": "400"}),
    "below zero": ("tripod_marked", {"d_ab_mm": "-40"}),
    "inches for millimetres": ("undercut_read", {"gauge_mm": "", "gauge_in": "25"}),
    "a unit in the number": ("undercut_read", {"drop_mm": "1.4 mm"}),
    "no number": ("setting_taken", {"ap_deg": "NaN"}),
    "endless": ("setting_taken", {"lat_deg": "inf"}),
    "an exponent": ("setting_taken", {"ap_deg": "1e309"}),
    "digits without end": ("undercut_read", {"drop_mm": "9" * 5000}),
    "very long": ("cast_received", {"remark": "x" * 50_000}),
    "control characters": ("cast_received", {"remark": "a\x00b\x1b[2J"}),
    "tooth of the other arch": ("undercut_read", {"tooth": "15"}),
    "no such tooth": ("undercut_read", {"tooth": "39"}),
    "missing tooth": ("undercut_read", {"tooth": "36"}),
    "no such surface": ("undercut_read", {"surface": "O"}),
    "proximal clasp": ("clasp_wished", {"surface": "M"}),
    "impossible triangle": ("tripod_marked", {"d_ab_mm": "10", "d_ac_mm": "10", "d_bc_mm": "40"}),
    "three marks in a row": ("tripod_marked", {"d_ab_mm": "20", "d_ac_mm": "20", "d_bc_mm": "40"}),
    "no such word": ("disinfection_recorded", {"status": "perhaps"}),
    "no such day": ("prescription_recorded", {"dated": "2026-02-30"}),
    "no such setting": ("undercut_read", {"setting": "0190a0b0-0000-7000-8000-000000000000"}),
    "no id": ("undercut_read", {"entry_id": "../../etc/passwd"}),
    "no id to supersede": ("undercut_read", {"supersedes": "x" * 300, "reason": "why"}),
    "nothing of that id": ("confirmed", {"finding": "0190a0b0-0000-7000-8000-000000000000"}),
    "a photo nobody sent": ("photo_kept", {}),
    "a re-mount worked out elsewhere": ("remounted", {}),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_is_refused_in_words_and_nothing_is_recorded(
    name: str, person: Tablet, bench: OnBench, setting: str
) -> None:
    kind, changed = REFUSED[name]

    answer, added = states(person, bench, kind, setting, **changed)

    assert (0, True) == (added, answer.status_code in (404, 409, 422))
    assert 'class="notice stop"' in answer.text or 'class="error"' in answer.text or (
        "<h1" in answer.text
    )  # fmt: skip
    assert integrity.check(bench.app.extensions["store"]).clean


@pytest.mark.parametrize("kind", AT_A_CASE)
def test_a_form_without_any_field_records_nothing_that_has_to_be_said(
    kind: str, person: Tablet, bench: OnBench, setting: str
) -> None:
    answer = person.send(f"/case/{bench.code}/record/{kind}")

    assert answer.status_code in (303, 403, 409, 422)


def test_two_values_where_one_is_expected_make_one_entry_at_most(
    person: Tablet, bench: OnBench, setting: str
) -> None:
    answer, added = states(
        person, bench, "undercut_read", setting, tooth=["35", "45"], gauge_mm=["0.25", "9"]
    )

    assert (answer.status_code, added) in ((303, 1), (422, 0))


def test_a_finding_of_a_setting_that_passed_is_refused(person: Tablet, bench: OnBench) -> None:
    before = ready(bench)
    moved_on(bench, before)

    answer, added = states(person, bench, "undercut_read", before.id)

    assert (409, 0) == (answer.status_code, added)


@pytest.mark.parametrize(
    ("kind", "field"),
    [("confirmed", "finding"), ("released", "grounds"), ("recall_taken", "release")],
)
def test_an_entry_of_another_case_is_none_of_this_one(
    kind: str, field: str, person: Tablet, bench: OnBench, setting: str
) -> None:
    other = OnBench(bench.app, person, case_code(77), bench.say)
    opened(other)
    foreign = other.state(ClaspWished(37, "ML", "bar", "co_cr", 0.25))

    answer, added = states(person, bench, kind, setting, **{field: foreign.id})

    assert added == 0
    assert answer.status_code in (403, 409, 422)


def test_nobody_withdraws_an_entry_of_another_case(
    person: Tablet, bench: OnBench, setting: str
) -> None:
    other = OnBench(bench.app, person, case_code(78), bench.say)
    foreign = opened(other)

    answer = person.send(f"/case/{bench.code}/withdraw/{foreign.id}", {"reason": "why"})

    assert 422 == answer.status_code
    assert [] == bench.entries("withdrawn")


def test_what_was_typed_is_still_in_the_form_after_a_refusal(
    technician: Tablet, bench: OnBench, setting: str
) -> None:
    answer, _ = states(
        technician, bench, "undercut_read", setting, step="undercuts", drop_mm="77.7", tooth="34"
    )

    assert 'value="77.7"' in answer.text


def test_markup_typed_comes_back_as_text(technician: Tablet, bench: OnBench, setting: str) -> None:
    remark = "<script>alert(1)</script>" * 40
    answer, _ = states(technician, bench, "mounted", setting, step="mount", remark=remark)

    assert "<script>alert" not in answer.text


@pytest.mark.parametrize(
    "kind",
    [
        "unheard_of",
        "withdrawn",
        "photo_kept",
        "remounted",
        "policy_set",
        "person_added",
        "__init__",
    ],
)
def test_a_kind_that_no_form_states_is_no_page(
    kind: str, person: Tablet, bench: OnBench, setting: str
) -> None:
    answer = person.send(f"/case/{bench.code}/record/{kind}", FORMS.get(kind, {}))

    assert 404 == answer.status_code


@pytest.mark.parametrize("body", [b"tooth=%ed%a0%80", b"tooth=%ff%fe", b"\xff\xfe\x00t", b"&=&;=;"])
def test_bytes_that_are_no_text_are_refused(
    body: bytes, person: Tablet, bench: OnBench, setting: str
) -> None:
    before = count(bench.app)
    answer = person.post(
        f"/case/{bench.code}/record/undercut_read", data=body,
        headers={"X-CSRF-Token": person.token()}, content_type="application/x-www-form-urlencoded",
    )  # fmt: skip

    assert answer.status_code in (400, 409, 422)
    assert before == count(bench.app)


@pytest.mark.parametrize(
    "kind", ["application/json", "text/plain", "image/png", "multipart/form-data"]
)
def test_a_body_of_another_kind_is_refused(
    kind: str, person: Tablet, bench: OnBench, setting: str
) -> None:
    answer = person.post(
        f"/case/{bench.code}/record/undercut_read", data=b'{"tooth": 35}', content_type=kind,
        headers={"X-CSRF-Token": person.token()},
    )  # fmt: skip

    assert answer.status_code in (400, 409, 415, 422)


@pytest.mark.parametrize(("path", "most"), [("record/mounted", 256_000), ("photo", PHOTO_BYTES)])
def test_a_huge_body_is_refused_before_it_is_read(
    path: str, most: int, person: Tablet, bench: OnBench, setting: str
) -> None:
    answer = person.post(
        f"/case/{bench.code}/{path}", data=b"a=" + b"x" * most,
        headers={"X-CSRF-Token": person.token()}, content_type="application/x-www-form-urlencoded",
    )  # fmt: skip

    assert 413 == answer.status_code


@pytest.mark.parametrize("number", range(len(PICTURES)))
@pytest.mark.parametrize("path", ["/case/{code}/photo", "/scan/photo"])
def test_a_hostile_picture_is_refused_in_words(
    path: str, number: int, person: Tablet, bench: OnBench, setting: str
) -> None:
    before = count(bench.app)
    photo = (io.BytesIO(PICTURES[number]), "../../x.jpg")
    answer = person.send(path.format(code=bench.code), {"shows": "cast", "photo": photo})

    assert 422 == answer.status_code
    assert 'class="notice stop' in answer.text
    assert before == count(bench.app)


@pytest.mark.parametrize("initials", PEOPLE)
def test_no_part_of_a_path_leads_anywhere_else(
    initials: str, app: Flask, bench: OnBench, setting: str
) -> None:
    fuzzer, before = Fuzzer(app, {}), count(app)
    client = app.test_client().sit(initials)
    failed = []
    for rule in fuzzer.rules():
        method = "POST" if "POST" in (rule.methods or ()) else "GET"
        for at in range(len(PATH_PARTS) if rule.arguments else 0):
            path, _ = fuzzer.path(rule, Nth(at))
            answer = ask(client, Asked(method, path))
            if answer.status_code not in (303, 308, 400, 401, 403, 404, 405, 409, 422) and not (
                "22222222" in path or "2222-2222" in path
            ):
                failed.append((answer.status_code, path))

    assert [] == failed
    assert before == count(app)


class Nth(Random):
    """Chooses the n-th of everything."""

    def __init__(self, at: int) -> None:
        super().__init__(0)
        self.at = at

    def choice(self, seq: Any) -> Any:
        return seq[self.at % len(seq)]

    def random(self) -> float:
        return 0.99


@pytest.mark.parametrize("initials", PEOPLE)
@settings(
    max_examples=250, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(seed=st.integers(0, 2**32 - 1))
def test_any_request_is_answered(
    initials: str, app: Flask, bench: OnBench, setting: str, seed: int
) -> None:
    entries = [entry.id for entry in bench.entries()]
    fuzzer = Fuzzer(app, parts_known(app, [bench.code]), entries)
    client = app.test_client().sit(initials)

    assert "" == trouble_with(app, client, fuzzer.asked(Random(seed)))


@pytest.mark.parametrize("initials", PEOPLE)
def test_a_logbook_is_sound_after_many_hostile_requests(
    initials: str, app: Flask, bench: OnBench, setting: str
) -> None:
    chance = Random(initials)
    entries = [entry.id for entry in bench.entries()]
    fuzzer = Fuzzer(app, parts_known(app, [bench.code, case_code(9)]), entries)
    client = app.test_client()
    troubles = []
    for _ in range(400):
        client.sit(initials)
        troubles.append(trouble_with(app, client, fuzzer.asked(chance)))

    assert [] == [one for one in troubles if one]
    assert count(app) > len(entries)
    assert () == integrity.check(app.extensions["store"]).problems
