from __future__ import annotations

import pytest

from bench.core.entries import (
    DrillPlanned,
    DrillReading,
    FourthMarkMade,
    InstrumentAdded,
    Remounted,
    TripodMarked,
)
from bench.store.integrity import check
from bench.store.log import Log
from bench.store.readingsd import repeats_in
from tests.web.latercases import locked, marks

SHAPE = "d_ab_mm=40&d_ac_mm=40&d_bc_mm=40&sense=clockwise"


def drilled(bench, readings):
    """A drill of one distance on one cast, read again and again by one technician."""
    plan = bench.say(
        DrillPlanned("distance", ("stone block",), ("TEC",), len(readings), 7), person="SUP"
    )
    for turn, value_mm in enumerate(readings, start=1):
        bench.say(DrillReading(plan.id, turn, "stone block", values_mm=(value_mm,)))
    return plan


def the_lab_goes_on(bench, tag="C1"):
    """Something of the lab itself is recorded: from then on its figures hold what came before."""
    bench.say(InstrumentAdded(tag, "caliper"), person="SUP")


def sd(bench):
    return Log(bench.app.extensions["store"]).lab().reading_sd


def test_without_repeats_the_policys_figure_is_used_and_said(bench):
    locked(bench)

    answer = bench.client.get(f"/case/{bench.code}/tripod/shape?{SHAPE}")

    assert "the figure of the policy" in answer.text
    assert ("policy", 0) == (sd(bench).source, sd(bench).spare)


# By hand: five times 40.0 and five times 40.2 have squares 10·0.01 = 0.1 about 40.1, over 9 degrees.
def test_nine_degrees_of_freedom_are_not_enough(bench):
    drilled(bench, [40.0, 40.2] * 5)
    the_lab_goes_on(bench)

    assert ("policy", 9) == (sd(bench).source, sd(bench).spare)


def test_enough_repeats_give_the_labs_own_figure_and_the_page_says_so(bench):
    locked(bench)
    drilled(bench, [40.0, 40.2] * 5)
    drilled(bench, [35.0, 35.2])
    the_lab_goes_on(bench)

    answer = bench.client.get(f"/case/{bench.code}/tripod/shape?{SHAPE}")

    # Squares 0.1 + 0.02 over 9 + 1 degrees.
    assert sd(bench).sd_mm == pytest.approx((0.12 / 10) ** 0.5)
    # The own figure of 10 degrees of freedom.
    assert "own from 10 repeats" in answer.text


def test_the_rule_of_the_width_rests_on_the_same_figure_in_the_same_words(bench):
    setting = locked(bench)
    bench.state(marks(d_ab_mm=25.0, d_ac_mm=25.0, d_bc_mm=25.0), setting=setting.id)
    before = bench.at("tripod").text
    # By hand: squares 10·0.16 + 2·0.16 = 1.92 over 9 + 1 degrees: 0.438 mm.
    drilled(bench, [40.0, 40.8] * 5)
    drilled(bench, [35.0, 35.8])
    the_lab_goes_on(bench)

    after = bench.at("tripod").text

    assert "at a reading SD of 0.20\u00a0mm (the figure of the policy)" in before
    assert "at a reading SD of 0.44\u00a0mm (the lab&#39;s own from 10 repeats)" in after
    assert 2 == after.count("the lab&#39;s own from 10 repeats")


def test_the_board_rests_on_the_same_figure_as_the_page(bench):
    setting = locked(bench)
    bench.state(marks(), setting=setting.id)
    drilled(bench, [40.0, 41.0] * 5)
    drilled(bench, [35.0, 36.0])
    held = check(bench.app.extensions["store"]).clean
    the_lab_goes_on(bench)
    bench.app.extensions["log"].models.catch_up()

    row = (
        bench.app.extensions["store"]
        .db.conn.execute("SELECT warning FROM case_summaries WHERE code = ?", (bench.code,))
        .fetchone()
    )

    assert held
    assert "R6" in row[0].split()
    assert check(bench.app.extensions["store"]).clean


def test_a_re_mount_of_four_marks_counts_once_the_lab_goes_on(bench):
    setting = locked(bench)
    tripod = bench.state(
        TripodMarked(40, 40, 40, "clockwise", True, True, True, True), setting=setting.id
    )
    bench.state(FourthMarkMade(tripod.id, 69.28, 40, 40))
    for number in range(12):
        heights = (0.0, 0.0, 0.0, 0.3 if number % 2 else -0.3)
        bench.state(Remounted("tripod", 0, 0, 0, 1.0, heights, tripod.id))
    before = sd(bench)

    the_lab_goes_on(bench)

    assert ("policy", "own", 12) == (before.source, sd(bench).source, sd(bench).spare)
    assert sd(bench) == bench.app.extensions["log"].lab().reading_sd


def test_repeats_of_different_casts_and_drills_are_kept_apart(bench):
    drilled(bench, [40.0, 40.2])
    drilled(bench, [35.0, 35.2])

    entries = bench.app.extensions["log"].lab_entries()

    assert [[40.0, 40.2], [35.0, 35.2]] == repeats_in(entries)
