"""Tilts and paths of insertion: there and back, angles between settings, edges that go down."""

from __future__ import annotations

from itertools import product
from math import cos, hypot, radians, sin, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.tilt import (
    EdgeDown,
    Path,
    Tilt,
    TiltTooSteep,
    angle_between_deg,
    angle_of_paths_deg,
    edges_down,
    edges_to_lower,
    path_of_insertion,
    patients_side,
    tilt_of,
    total_deg,
)
from tests.facts.survey_figures import (
    BETWEEN_TANGENT,
    NESTED_DIFFERS,
    TOTAL_NESTED_DEG,
    TOTAL_TANGENT_DEG,
)

LEVEL: Path = (0.0, 0.0, 1.0)
angles = st.floats(-40, 40)
tilts = st.builds(Tilt, angles, angles)


def added_slopes(ap_deg: float, lat_deg: float) -> Path:
    """The path on a table whose slopes add."""
    return -tan(radians(lat_deg)), -tan(radians(ap_deg)), 1.0


def nested_axes(ap_deg: float, lat_deg: float) -> Path:
    """The path on a table whose side axis is carried by the front axis."""
    a, b = radians(ap_deg), radians(lat_deg)
    return -sin(b), -sin(a) * cos(b), cos(a) * cos(b)


@given(tilts)
def test_a_tilt_makes_a_unit_path_and_comes_back_from_it(tilt: Tilt) -> None:
    path = path_of_insertion(tilt)

    assert pytest.approx(1) == hypot(*path)
    assert pytest.approx(tilt, abs=1e-9) == tilt_of(path)


@pytest.mark.parametrize(("setting", "other", "deg"), BETWEEN_TANGENT)
def test_angles_between_settings_of_a_slope_table_are_as_derived(
    setting: tuple[int, int], other: tuple[int, int], deg: float
) -> None:
    found = angle_of_paths_deg(added_slopes(*setting), added_slopes(*other))

    assert pytest.approx(deg, abs=0.0005) == found


def test_totals_of_ten_and_ten_on_two_kinds_of_table_are_as_derived() -> None:
    slopes, nested = added_slopes(10, 10), nested_axes(10, 10)

    assert pytest.approx(TOTAL_TANGENT_DEG, abs=0.0005) == angle_of_paths_deg(LEVEL, slopes)
    assert pytest.approx(TOTAL_NESTED_DEG, abs=0.0005) == angle_of_paths_deg(LEVEL, nested)


@pytest.mark.parametrize(("limit", "most_deg"), NESTED_DIFFERS)
def test_a_table_with_nested_axes_differs_by_no_more_than_was_derived(
    limit: int, most_deg: float
) -> None:
    worst = max(
        angle_of_paths_deg(path_of_insertion(Tilt(a, b)), nested_axes(a, b))
        for a, b in product((-limit, limit), repeat=2)
    )

    assert pytest.approx(most_deg, rel=0.05) == worst


@given(tilts, tilts)
def test_the_angle_between_settings_is_the_same_both_ways(one: Tilt, other: Tilt) -> None:
    assert pytest.approx(angle_between_deg(one, other)) == angle_between_deg(other, one)
    assert angle_between_deg(one, other) <= total_deg(one) + total_deg(other) + 1e-9


@given(st.floats(-45, 45))
def test_a_tilt_on_one_axis_totals_what_the_inclinometer_shows(deg: float) -> None:
    assert pytest.approx(abs(deg), abs=1e-9) == total_deg(Tilt(deg, 0.0))
    assert pytest.approx(abs(deg), abs=1e-9) == total_deg(Tilt(0.0, deg))


def test_lowering_the_front_leans_the_path_backward() -> None:
    x, y, z = path_of_insertion(Tilt(10.0, 0.0))

    assert y < 0 < z
    assert abs(x) == 0


def test_forty_five_on_both_axes_is_the_last_tilt_there_is() -> None:
    assert pytest.approx(90.0) == total_deg(Tilt(45.0, 45.0))


@pytest.mark.parametrize("tilt", [Tilt(50, 50), Tilt(170, 0), Tilt(float("nan"), 0)])
def test_a_tilt_past_the_horizontal_is_refused(tilt: Tilt) -> None:
    with pytest.raises(TiltTooSteep, match="Read the inclinometer again") as refused:
        path_of_insertion(tilt)

    assert refused.value.code == "tilt_too_steep"


def test_edges_are_named_for_what_goes_down() -> None:
    assert edges_down(Tilt(3.0, -2.0)) == (EdgeDown("front", 3.0), EdgeDown("left", 2.0))
    assert edges_down(Tilt(-3.0, 2.0)) == (EdgeDown("back", 3.0), EdgeDown("right", 2.0))
    assert not edges_down(Tilt(0.0, -0.0))


def test_edges_to_lower_go_from_one_setting_to_the_next() -> None:
    steps = edges_to_lower(Tilt(5.0, 2.0), Tilt(2.0, 2.0))

    assert steps == (EdgeDown("back", 3.0),)


def test_the_right_of_view_is_the_patients_left_on_an_upper_cast() -> None:
    assert patients_side("upper", "right") == "left"
    assert patients_side("upper", "left") == "right"
    assert patients_side("lower", "right") == "right"
