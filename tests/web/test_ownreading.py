from __future__ import annotations

import pytest

from bench.core.entries import DrillPlanned, DrillReading
from bench.web.ownreading import own_reading_sd, repeats_in
from tests.web.latercases import locked


def drilled(bench, readings):
    """A drill of one distance on one cast, read again and again by one technician."""
    plan = bench.say(
        DrillPlanned("distance", ("stone block",), ("TEC",), len(readings), 7), person="SUP"
    )
    for turn, value_mm in enumerate(readings, start=1):
        bench.say(DrillReading(plan.id, turn, "stone block", values_mm=(value_mm,)))
    return plan


def sd(bench):
    with bench.app.test_request_context():
        return own_reading_sd()


def test_without_repeats_the_policys_figure_is_used_and_said(bench):
    setting = locked(bench)

    answer = bench.client.get(
        f"/case/{bench.code}/tripod/shape?d_ab_mm=40&d_ac_mm=40&d_bc_mm=40&sense=clockwise"
    )

    assert setting
    assert "the figure of the policy" in answer.text
    assert ("policy", 0) == (sd(bench).source, sd(bench).spare)


# By hand: five times 40.0 and five times 40.2 have squares 10·0.01 = 0.1 about 40.1, over 9 degrees.
def test_nine_degrees_of_freedom_are_not_enough(bench):
    drilled(bench, [40.0, 40.2] * 5)

    assert ("policy", 9) == (sd(bench).source, sd(bench).spare)


def test_enough_repeats_give_the_labs_own_figure_and_the_page_says_so(bench):
    locked(bench)
    drilled(bench, [40.0, 40.2] * 5)
    drilled(bench, [35.0, 35.2])

    answer = bench.client.get(
        f"/case/{bench.code}/tripod/shape?d_ab_mm=40&d_ac_mm=40&d_bc_mm=40&sense=clockwise"
    )

    # Squares 0.1 + 0.02 over 9 + 1 degrees.
    assert sd(bench).sd_mm == pytest.approx((0.12 / 10) ** 0.5)
    # The own figure of 10 degrees of freedom.
    assert "own from 10 repeats" in answer.text


def test_repeats_of_different_casts_and_drills_are_kept_apart(bench):
    drilled(bench, [40.0, 40.2])
    drilled(bench, [35.0, 35.2])

    entries = bench.app.extensions["log"].lab_entries()

    assert [[40.0, 40.2], [35.0, 35.2]] == repeats_in(entries)
