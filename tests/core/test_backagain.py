from __future__ import annotations

from math import dist

import pytest

from bench.core.entries import TripodMarked
from bench.core.off import Off, off_by_lines, off_by_marks, off_by_reading
from bench.core.policy import Policy, changed
from bench.core.tilt import Tilt
from tests.facts.tripod_figures import REMOUNT_HEIGHTS_MM, REMOUNT_MARKS_MM, REMOUNT_OFF_DEG


@pytest.fixture
def marked():
    a, b, c = REMOUNT_MARKS_MM
    return TripodMarked(dist(a, b), dist(a, c), dist(b, c), "clockwise", True, True, True, True)


def test_heights_on_the_marks_tell_the_tilt_worked_out_elsewhere(marked):
    off = off_by_marks(marked, REMOUNT_HEIGHTS_MM)

    assert REMOUNT_OFF_DEG == pytest.approx((off.ap_deg, off.lat_deg, off.total_deg), abs=1e-6)


def test_the_size_of_what_is_off_does_not_depend_on_where_a_lies(marked):
    totals = [off_by_marks(marked, REMOUNT_HEIGHTS_MM, turn).total_deg for turn in (-90, 0, 35)]

    assert [REMOUNT_OFF_DEG[2]] * 3 == pytest.approx(totals)


def test_the_edges_to_lower_undo_what_is_off(marked):
    edges = off_by_marks(marked, REMOUNT_HEIGHTS_MM).edges

    assert [("back", 1.273), ("right", 0.996)] == [(e.edge, round(e.by_deg, 3)) for e in edges]


def test_a_reading_is_off_by_the_angle_between_the_paths():
    # Closed form: both settings tilt about one axis alone, so the angle is their plain difference.
    off = off_by_reading(Tilt(5.5, 0.0), Tilt(4.0, 0.0))

    assert (1.5, 0.0, 1.5) == pytest.approx((off.ap_deg, off.lat_deg, off.total_deg))


def test_two_scored_lines_off_at_once_are_off_by_more_than_either():
    # Small angles add like the sides of a right triangle: 3, 4, 5 (geometry, no source).
    assert 5.0 == pytest.approx(off_by_lines(3.0, -4.0).total_deg, abs=0.005)


def test_the_verdict_follows_the_tolerance_of_the_lab():
    strict = changed(Policy(), "remount_tolerance_deg", "0.5")

    assert "pass" == Off(0.8, 0.0, 0.8).verdict(Policy())
    assert "look_again" == Off(0.8, 0.0, 0.8).verdict(strict)
    assert "repeat" == Off(2.1, 0.0, 2.1).verdict(strict)
