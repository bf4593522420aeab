from __future__ import annotations

import json

import pytest

from bench.core.drills import drills_from
from bench.core.entries import (
    DrillPlanned,
    InstrumentAdded,
    Mounted,
    PersonChanged,
    UndercutRead,
)
from bench.core.ids import time_of_entry_id_ms
from bench.core.settling import settle
from bench.core.wire import body_document, digest_of
from bench.sync import receive
from tests.conftest import START_MS
from tests.sync.sealing import Device, remade, uuid7

HOUR_MS, DAY_MS = 3_600_000, 86_400_000


@pytest.fixture
def intake(app):
    return app.extensions["intake"]


@pytest.fixture
def send(app, device, intake):
    """Send texts as the paired tablet."""

    def sent(*texts, by=None):
        signer = by or app.extensions["log"].lab().devices[device.device]
        return intake.receive(signer, [text.encode() for text in texts])

    return sent


@pytest.fixture
def rest(device, opened_case):
    """Seal the wish for a rest: the tablet's next entry."""

    def sealed(tooth=34, at_ms=START_MS, **fields):
        body = {"tooth": tooth, "seat": "mesial"}
        return device.seal("rest_wished", body, at_ms, **{"case": opened_case, **fields})

    return sealed


def verdicts(answers):
    return [(one.verdict, one.code) for one in answers]


def test_a_chain_is_stored_and_answered_by_id_and_digest(send, rest, app, device):
    texts = [rest(34), rest(35), rest(36)]

    answers = send(*texts)

    assert verdicts(answers) == [("stored", "")] * 3
    assert [one.id for one in answers] == [json.loads(text)["id"] for text in texts]
    assert [one.digest for one in answers] == [digest_of(text.encode()) for text in texts]
    held = app.extensions["log"].after(device.device, 0)
    assert [stored.decode() for stored in held] == texts


def test_a_replay_is_answered_already_and_changes_nothing(send, rest, app):
    texts = [rest(34), rest(35)]
    send(*texts)
    before = app.extensions["log"].cursors()

    answers = send(*texts)

    assert verdicts(answers) == [("already", "")] * 2
    assert app.extensions["log"].cursors() == before


def test_a_gap_is_named_with_what_is_held_and_may_be_filled_later(send, rest):
    first, second, third = rest(34), rest(35), rest(36)
    send(first)

    (gap,) = send(third)
    filled = send(second, third)

    assert (gap.verdict, gap.code, gap.held_seq) == ("refused", "gap", 1)
    assert verdicts(filled) == [("stored", "")] * 2


def test_a_broken_chain_is_refused_for_good_and_kept_aside(send, rest, app):
    first, second = rest(34), rest(35)
    send(first)
    broken = remade(second, prev="0" * 64)

    answers = send(broken), send(broken)

    assert [verdicts(one) for one in answers] == [[("refused", "wrong_prev")]] * 2
    aside = app.extensions["store"].db.conn.execute("SELECT code FROM quarantine").fetchall()
    assert aside == [("wrong_prev",)]


def test_the_same_id_with_another_digest_is_refused_and_both_are_kept(send, rest, app, device):
    first = rest(34)
    send(first)
    other = remade(
        first, seq=2, prev=digest_of(first.encode()), body={"seat": "distal", "tooth": 34}
    )

    (answer,) = send(other)

    assert (answer.verdict, answer.code) == ("refused", "other_digest")
    assert app.extensions["log"].after(device.device, 0) == (first.encode(),)
    row = app.extensions["store"].db.conn.execute("SELECT bytes FROM quarantine").fetchone()
    assert row[0] == other.encode()


def test_an_entry_of_another_device_is_not_taken_from_this_one(send, rest, device):
    foreign = remade(rest(34), device="tablet-00000000ffff")

    assert verdicts(send(foreign)) == [("refused", "not_the_signer")]


@pytest.mark.parametrize(
    ("kind", "body", "reason"),
    [
        ("released", {"grounds": []}, ""),
        ("overruled", {"rule": "B1", "covers": ["B1"]}, "why"),
        ("exempted", {"sites": ["34M"]}, "why"),
        ("recall_taken", {"release": uuid7(START_MS, 1)}, "why"),
        ("person_added", {"initials": "NEW", "role": "supervisor"}, ""),
        ("person_changed", {"active": True, "initials": "TEC", "role": "supervisor"}, ""),
        ("policy_set", {"item": "B1", "value": "off"}, "why"),
        ("device_revoked", {"device": "tablet-00000000ffff"}, "why"),
    ],
)
def test_what_the_bench_decides_is_taken_from_no_tablet(
    send, device, opened_case, kind, body, reason
):
    of_the_lab = kind in ("person_added", "person_changed", "policy_set", "device_revoked")
    text = device.seal(
        kind, body, START_MS, person="SUP", case=None if of_the_lab else opened_case,
        setting=None if of_the_lab else uuid7(START_MS, 2), reason=reason,
    )  # fmt: skip

    assert verdicts(send(text)) == [("refused", "only_at_the_bench")]


def test_somebody_the_lab_does_not_know_waits_until_it_does(send, rest, state):
    from bench.core.entries import PersonAdded

    text = rest(34, person="NEW")
    (before,) = send(text)
    state(PersonAdded("NEW", "technician"), person="SUP")

    (after,) = send(text)

    assert (before.verdict, before.code) == ("waits", "unknown_person")
    assert (after.verdict, after.code) == ("stored", "")


def test_a_reader_records_nothing_and_a_technician_nothing_of_a_supervisors(send, device, rest):
    tag = {"has_scale": False, "remark": "", "resolution_deg": None, "size_mm": 0.25, "sort": "gauge",
           "tag": "G25-9"}  # fmt: skip
    added = device.seal("instrument_added", tag, START_MS)

    assert verdicts(send(rest(34, person="REA"))) == [("refused", "not_allowed")]
    assert verdicts(send(added)) == [("refused", "not_allowed")]


def test_a_supervisor_may_add_an_instrument_from_a_tablet(send, device):
    tag = {"has_scale": False, "remark": "", "resolution_deg": None, "size_mm": 0.25, "sort": "gauge",
           "tag": "G25-9"}  # fmt: skip

    assert verdicts(send(device.seal("instrument_added", tag, START_MS, person="SUP"))) == [
        ("stored", "")
    ]


def test_a_person_is_judged_by_how_they_stood_when_they_stated_it(send, rest, state, hands):
    early = rest(34, at_ms=hands.now_ms())
    hands.forward(60)
    state(PersonChanged("TEC", "technician", False), person="SUP")
    late = rest(35, at_ms=hands.now_ms() + 1000)

    answers = send(early, late)

    assert verdicts(answers) == [("stored", ""), ("refused", "not_allowed")]


@pytest.mark.parametrize(
    ("off_ms", "verdict", "why", "note"),
    [
        (47 * HOUR_MS, "stored", "", ""),
        (49 * HOUR_MS, "stored", "", "clock_off"),
        (8 * DAY_MS, "refused", "far_clock", ""),
        (-9 * 365 * DAY_MS, "stored", "", ""),
        (-11 * 366 * DAY_MS, "refused", "far_clock", ""),
    ],
)
def test_a_clock_far_off_is_marked_and_one_beyond_reason_refused(
    send, rest, off_ms, verdict, why, note
):
    (answer,) = send(rest(34, at_ms=START_MS + off_ms))

    assert (answer.verdict, answer.code, answer.note) == (verdict, why, note)


def test_an_id_of_another_time_than_its_entry_is_judged_too(send, rest):
    ahead = remade(rest(34), id=uuid7(START_MS + 30 * DAY_MS, 7))

    assert verdicts(send(ahead)) == [("refused", "far_clock")]


def test_a_day_that_does_not_exist_is_refused(send, rest):
    assert verdicts(send(remade(rest(34), at="2026-02-31T08:00:00.000Z"))) == [
        ("refused", "bad_at")
    ]


def test_an_unknown_kind_is_kept_to_the_letter(send, device, opened_case, app):
    text = device.seal("glaze_fired", {"oven": 3}, START_MS, case=opened_case)

    (answer,) = send(text)

    assert (answer.verdict, answer.note) == ("stored", "unknown_kind")
    assert app.extensions["log"].after(device.device, 0) == (text.encode(),)


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        (lambda text: "{}", "unreadable"),
        (lambda text: text.replace(":", ": ", 1), "not_canonical"),
        (lambda text: remade(text, body={"tooth": 99, "seat": "mesial"}), "no_such_tooth"),
        (lambda text: remade(text, reason="x" * 70_000), "too_large"),
        (lambda text: remade(text, id="x"), "no_entry_id"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_reason(send, rest, spoil, why):
    assert verdicts(send(spoil(rest(34)))) == [("refused", why)]


def test_what_was_refused_never_slips_in_later(send, rest, device, app):
    """The sealed-anew entry stands in its place; the delayed copy of the first sealing stays out."""
    first, second = rest(34, person="REA"), rest(35)
    assert verdicts(send(first, second)) == [("refused", "not_allowed"), ("refused", "gap")]
    anew = remade(second, seq=1, prev="")

    answers = send(anew), send(first, second)

    assert verdicts(answers[0]) == [("stored", "")]
    assert verdicts(answers[1]) == [("refused", "not_allowed"), ("refused", "other_digest")]
    assert app.extensions["log"].after(device.device, 0) == (anew.encode(),)


def test_another_bench_hands_on_the_chains_of_devices_known_here(send, rest, app, device):
    from bench.core.lab import Device as Known

    peer = Known("bench-00aa11bb22cc", "upstairs", Device().public_key, "", "SUP")
    ours, foreign = rest(34, person="XX"), remade(rest(35), device="tablet-00000000ffff")

    answers = send(ours, foreign, by=peer)

    assert verdicts(answers) == [("stored", ""), ("refused", "not_the_signer")]


def test_a_clock_of_the_bench_pc_far_behind_its_log_judges_nobody(intake, hands, send, rest):
    send(rest(34))
    assert not intake.clock_is_behind()

    hands.forward(-3 * 86_400)

    assert intake.clock_is_behind()
    assert receive.AHEAD_MS == 2 * DAY_MS


def test_a_case_is_opened_from_a_tablet_under_the_label_it_is_said_of(send, device, app):
    said = {"number": "26-0101", "arch": "lower", "cast_kind": "master"}
    other = device.seal("case_opened", {**said, "code": "22QY4JDS"}, START_MS, case="23456782")
    assert verdicts(send(other)) == [("refused", "bad_code")]

    device.sealed.clear()
    own = device.seal("case_opened", {**said, "code": "22QY4JDS"}, START_MS, case="22QY4JDS")
    assert verdicts(send(own)) == [("stored", "")]
    assert app.extensions["log"].case("22QY4JDS").opened.body.number == "26-0101"


def gauge_checked(device, n=0, **more):
    body = {"passed": True, "reading": 0.25, "reference": 0.25, "remark": "", "tag": "G1",
            "unit": "mm"}  # fmt: skip
    return device.seal("instrument_checked", body, START_MS + n, **more)


def test_a_check_its_uncertainty_and_the_note_beside_them_are_of_the_lab(send, device, state, app):
    state(InstrumentAdded("G1", "gauge", 0.25), person="SUP")
    check = gauge_checked(device)
    key = json.loads(check)["id"]
    said = {"check": key, "uncertainty_deg": None, "uncertainty_mm": 0.01}
    texts = [
        check,
        device.seal("uncertainty_stated", said, START_MS),
        device.seal("person_unconfirmed", {"entries": [key]}, START_MS),
    ]

    answers = send(*texts), send(*texts)

    (one,) = app.extensions["log"].lab().instruments["G1"].unproved
    assert [["stored"] * 3, ["already"] * 3] == [[one.verdict for one in two] for two in answers]
    assert (key, {key: 0.01}) == (
        one.id,
        app.extensions["log"].lab().instruments["G1"].uncertainties,
    )


def test_what_a_tablet_says_of_the_lab_puts_nothing_of_it_aside(send, device, app):
    (person,) = [e for e in app.extensions["log"].lab_entries() if "TEC" in str(e.body)]
    text = gauge_checked(device, supersedes=[person.id], reason="x")

    assert verdicts(send(text)) == [("refused", "only_at_the_bench")]


def test_a_reading_of_a_drill_is_taken_and_one_that_came_for_a_turn_read_already_changes_nothing(
    send, device, state, app
):
    plan = state(DrillPlanned("distance", ("P",), ("TEC",), 2, 8), person="SUP")
    body = {"cast": "P", "contact": "", "drill": plan.id, "instrument": "", "turn": 1}
    texts = [
        device.seal("drill_reading", {**body, "values_mm": [mm]}, plan_ms(plan) + n)
        for n, mm in enumerate((40, 40.5))
    ]

    answers = send(*texts, *texts)

    drill = drills_from(app.extensions["log"].lab_entries())[plan.id]
    assert ["stored", "stored", "already", "already"] == [one.verdict for one in answers]
    assert (40.0,) == drill.read["TEC"][1].body.values_mm
    assert ["said_meanwhile"] == [one.code for one in drill.uncounted]


def plan_ms(plan):
    return time_of_entry_id_ms(plan.id) + 1000


def test_a_contradiction_that_two_tablets_settle_differently_is_shown_again(
    send, device, state, app, opened_case
):
    zero = state(Mounted(), case=opened_case)
    first, second = (
        state(UndercutRead(34, "MB", 0.25, told), case=opened_case, setting=zero.id)
        for told in ("both", "lip_short")
    )
    (found,) = app.extensions["log"].case(opened_case).contradictions
    (here,) = settle(found, first, zero.id)
    (there,) = settle(found, second, zero.id)
    state(there.body, case=opened_case, setting=zero.id, supersedes=there.supersedes, reason="Mine")
    text = device.seal(
        "undercut_read", body_document(here.body), START_MS, case=opened_case, setting=zero.id,
        supersedes=list(here.supersedes), reason="Read again here",
    )  # fmt: skip

    answers = send(text)

    case = app.extensions["log"].case(opened_case)
    assert verdicts(answers) == [("stored", "")]
    (again,) = case.contradictions
    assert found.key == again.key
    assert {"Mine", "Read again here"} == {entry.reason for entry in again.entries}
