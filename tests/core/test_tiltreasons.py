"""What is told of a tilt that was found."""

from __future__ import annotations

import pytest

from bench.core.finder import Bench, find_tilt
from bench.core.polygon import MadeBy
from bench.core.tilt import Tilt
from bench.core.toothchange import GuidePlane
from tests.core.test_conflicts import told
from tests.core.wishedcases import site


def test_the_edge_to_lower_is_told_from_the_setting_now() -> None:
    found = find_tilt([], [GuidePlane("35D", 270.0, 4.0, 3.0)], Bench(current=Tilt(6.0, 0.0)))
    (move,) = told(found, "lower_edge")

    assert "back" == move.params["edge"]
    assert pytest.approx(2.0, abs=0.005) == move.params["by_deg"]


def test_a_cast_that_lies_right_stays() -> None:
    found = find_tilt([site("34B", 90.0)])

    assert [{}] == [remark.params for remark in told(found, "stay")]
    assert [] == told(found, "lower_edge")


def test_each_site_is_told_from_and_to_with_what_was_wished() -> None:
    found = find_tilt([site("34B", 90.0, least_mm=0.30, most_mm=0.35), site("37B", 80.0)])
    first, second = (remark.params for remark in told(found, "depth_becomes"))

    assert pytest.approx((0.25, 0.30)) == (first["from_mm"], first["to_mm"])
    assert (0.30, 0.35) == (first["least_mm"], first["most_mm"])
    assert ("37B", None) == (second["site"], second["most_mm"])


def test_the_site_that_holds_the_tilt_back_decides() -> None:
    found = find_tilt(
        [site("34B", 270.0, least_mm=0.20), site("37B", 80.0, least_mm=0.1)],
        [GuidePlane("35D", 270.0, 8.0, 3.0)],
    )
    (remark,) = told(found, "site_decides")

    assert {"site": "34B", "bound": "least"} == remark.params
    assert MadeBy("34B", "least") in found.map.made_by


def test_nothing_decides_where_the_teeth_change_least_within_the_map() -> None:
    found = find_tilt([site("34B", 90.0, least_mm=0.1)], [GuidePlane("35D", 270.0, 2.0, 3.0)])

    assert 1 == len(told(found, "nothing_decides"))


def test_each_guide_plane_is_told_from_and_to_with_what_to_take_off() -> None:
    found = find_tilt([], [GuidePlane("34D", 270.0, 6.0, 4.0), GuidePlane("37M", 90.0, 2.0, 4.0)])
    first, second = (remark.params for remark in told(found, "plane_becomes"))

    assert pytest.approx((6.0, 4.0), abs=0.01) == (first["from_deg"], first["to_deg"])
    assert pytest.approx((2.0, 4.0), abs=0.01) == (second["from_deg"], second["to_deg"])
    # 4 mm times the tangents of 6 and of 4 degrees.
    assert pytest.approx((0.4204, 0.2797), abs=0.001) == (
        first["from_take_off_mm"],
        first["to_take_off_mm"],
    )


def test_a_site_much_deeper_than_wished_is_remarked_on() -> None:
    found = find_tilt([site("34B", 90.0, 0.40, least_mm=0.20), site("35B", 90.0, 0.25)])
    (remark,) = told(found, "deeper_than_wanted")

    assert "34B" == remark.params["site"]
    assert pytest.approx(0.20) == remark.params["by_mm"]


def test_a_guessed_drop_and_the_estimate_are_owned_to() -> None:
    found = find_tilt([site("34B", 90.0, drop_mm=None)])

    assert ["drop_guessed", "estimate"] == [remark.code for remark in found.explanation[-2:]]
