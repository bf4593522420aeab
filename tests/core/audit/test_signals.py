"""What signals, what an acknowledgement covers, and what comes back after it. All figures invented."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from bench.core.audit.samples import Remount
from bench.core.audit.signals import AGAIN_AFTER, AuditSignal, acknowledgement, signals_of
from bench.core.audit.spread import Spread, spread_of
from bench.core.audit.sums import sums_of
from bench.core.audit.watching import WINDOW, Watched, watch
from bench.core.charts import SETTLED
from bench.core.entries import Draft, Entry, SignalAcknowledged, sealed
from bench.core.instruments import Standing
from bench.core.lab import Instrument
from bench.core.policy import Policy, changed
from tests.core.audit.simulatedlab import quiet, remount

POLICY = Policy()


def group(sd_deg: float, count: int) -> Spread:
    return spread_of({"TA": sums_of(quiet(Random(3), count, sd_deg))}, 1.0)


def kinds(*signals: AuditSignal) -> list[tuple[str, str, str]]:
    return [(one.kind, one.by, one.of) for one in signals]


def acknowledged(key: str, number: int = 1) -> Entry:
    draft = Draft(SignalAcknowledged(key), "SV", reason="looked at")
    return sealed(draft, entry_id=f"a{number}", device="bench", at="", seq=number, prev="")


def with_outliers(*places: int, count: int = 120) -> list[Remount]:
    made = quiet(Random(4), count, 0.2)
    for place in places:
        made[place] = remount(place, "TA", "S1", 3.0, 0.0)
    return made


def run(remounts: list[Remount]) -> Watched:
    return watch(remounts[-WINDOW:])


def beyond(remounts: list[Remount]) -> AuditSignal:
    found = signals_of({("surveyor", "S1"): run(remounts)}, {}, (), POLICY)
    return next(one for one in found if one.kind == "beyond")


def test_a_point_beyond_the_limit_names_its_entry():
    made = with_outliers(90, 100)

    signal = beyond(made)

    assert (made[90].entry, made[100].entry) == signal.entries
    assert (2, made[100].entry) == (signal.figures["count"], signal.mark)


def test_a_point_among_those_that_set_the_limits_is_not_judged():
    found = signals_of({("surveyor", "S1"): run(with_outliers(10))}, {}, (), POLICY)

    assert [] == [one for one in found if one.kind == "beyond"]


@pytest.mark.parametrize("count", [0, 1, 2, SETTLED])
def test_too_few_re_mounts_are_watched_without_judgement(count):
    watched = run(with_outliers(count=count))

    assert (0, (), 0.0) == (watched.judged, watched.beyond, watched.false_alarms_expected)
    assert [("re-mounts", count, SETTLED + 1)] == [
        (s.what, s.have, s.need) for s in watched.missing
    ]
    assert () == signals_of({("surveyor", "S1"): watched}, {}, (), POLICY)


def test_an_acknowledged_point_stays_seen_until_another_comes():
    first, second = beyond(with_outliers(90)), beyond(with_outliers(90, 100))

    assert first.seen_in(first.key)
    assert not second.seen_in(first.key)
    assert first.seen_in(second.key)


def test_a_drift_stays_seen_while_the_same_run_goes_on():
    made = [
        remount(n, "TA", "S1", one.ap_deg + max(0, n - 80) * 0.05, one.lat_deg)
        for n, one in enumerate(quiet(Random(5), 120, 0.2))
    ]
    now, later = (
        next(
            one for one in signals_of({("surveyor", "S1"): run(some)}, {}, (), POLICY)
            if one.kind == "drift" and one.figures["axis"] == "ap"
        )
        for some in (made[:110], made)
    )  # fmt: skip

    assert later.seen_in(now.key)
    assert set(now.entries) < set(later.entries)
    assert later.figures["moved_deg"] > now.figures["moved_deg"] > 0


def test_spread_beyond_the_policy_signals_for_the_lab_and_a_surveyor_and_not_for_a_person():
    wide = group(0.6, 60)
    spreads = {("whole", ""): wide, ("surveyor", "S1"): wide, ("surveyor", "S2"): group(0.3, 60)}

    found = signals_of({}, spreads, (), POLICY)

    assert [("spread", "whole", ""), ("spread", "surveyor", "S1")] == kinds(*found)
    loose = changed(POLICY, "remount_spread_deg", "0.9")
    assert () == signals_of({}, spreads, (), loose)


def test_spread_that_only_chance_may_have_put_above_the_policy_is_quiet():
    found = group(0.46, 12)

    assert found.axis_sd_deg > POLICY.number("remount_spread_deg")
    assert () == signals_of({}, {("whole", ""): found}, (), POLICY)


def test_a_technician_whose_limit_lies_beyond_the_tolerance_signals():
    (signal,) = signals_of({}, {("technician", "TA"): group(0.6, 60)}, (), POLICY)

    assert ("limit", "technician", "TA") == kinds(signal)[0]
    assert signal.of_a_person
    assert 1.0 < signal.figures["low_deg"] < signal.figures["limit_deg"]


def test_a_figure_comes_back_after_25_more_re_mounts():
    first, few, many = (
        signals_of({}, {("technician", "TA"): group(0.6, n)}, (), POLICY)[0]
        for n in (50, 50 + AGAIN_AFTER - 1, 50 + AGAIN_AFTER)
    )

    assert (True, False) == (few.seen_in(first.key), many.seen_in(first.key))


@pytest.mark.parametrize(
    ("state", "signals"), [("failed", 1), ("overdue", 1), ("never", 1), ("soon", 0), ("sound", 0)]
)
def test_an_instrument_that_is_due_signals(state, signals):
    standing = Standing(Instrument("G1", "gauge", 0.25, None, False, True), state, "2026-03-01")

    found = signals_of({}, {}, [standing], POLICY)

    assert [("due", "instrument", "G1")] * signals == kinds(*found)


def test_the_newest_entry_that_covers_a_signal_is_named():
    signal = AuditSignal("limit", "technician", "TA", "2")
    said = [acknowledged(signal.key, 1), acknowledged(signal.key, 2), acknowledged("drift", 3)]

    assert said[1] == acknowledgement(signal, said)
    assert None is acknowledgement(replace(signal, of="TB"), said)


@pytest.mark.parametrize("key", ["", ":", "limit:technician", "limit:technician:TA", "x" * 200])
def test_a_key_of_another_shape_covers_nothing(key):
    assert not AuditSignal("limit", "technician", "TA", "2").seen_in(key)


def test_what_concerns_the_whole_lab_stands_first():
    spreads = {("technician", "TA"): group(0.6, 60), ("whole", ""): group(0.6, 60)}

    assert ["whole", "technician"] == [one.by for one in signals_of({}, spreads, (), POLICY)]
