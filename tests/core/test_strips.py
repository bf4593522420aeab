"""The strip of tilts that gives a site the depth wished of it."""

from __future__ import annotations

from math import inf, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from bench.core.polygon import square
from bench.core.strips import (
    BadWish,
    common,
    depth_mm,
    miss_mm,
    place_of,
    sides_of,
    strip_of,
    turn_for_deg,
)
from bench.core.tilt import Tilt, path_of_insertion
from bench.core.undercut import NoUndercutRead, turn_deg, undercut_after
from tests.core.wishedcases import site
from tests.facts.survey_figures import SPHERE_DEPTH_MM, SPHERE_DROP_MM

angles = st.floats(-12, 12)
azimuths = st.floats(0, 360)
depths = st.floats(0.05, 1.0)
drops = st.floats(0.8, 4.0)


@given(azimuths, depths, drops, angles, angles)
def test_the_depth_in_the_plane_of_tilts_is_the_depth_at_the_tilt(
    azimuth_deg: float, gauge_mm: float, drop_mm: float, ap_deg: float, lat_deg: float
) -> None:
    tilt = Tilt(ap_deg, lat_deg)
    wished = site("34MB", azimuth_deg, gauge_mm, drop_mm=drop_mm)

    expected = undercut_after(gauge_mm, drop_mm, turn_deg(azimuth_deg, tilt)).depth_mm

    assert pytest.approx(expected, abs=1e-12) == depth_mm(strip_of(wished), place_of(tilt))


@given(azimuths, angles, angles, angles, angles)
def test_a_reading_at_another_setting_counts_from_there(
    azimuth_deg: float, ap_deg: float, lat_deg: float, to_ap_deg: float, to_lat_deg: float
) -> None:
    was, to = Tilt(ap_deg, lat_deg), Tilt(to_ap_deg, to_lat_deg)
    strip = strip_of(site("34MB", azimuth_deg, read_at=was))

    expected = undercut_after(0.25, 2.0, turn_deg(azimuth_deg, to, was)).depth_mm

    assert pytest.approx(0.25) == depth_mm(strip, place_of(was))
    assert pytest.approx(expected, abs=1e-12) == depth_mm(strip, place_of(to))


@given(azimuths, depths, drops, st.floats(0, 0.6), st.floats(0, 0.5), angles, angles)
def test_a_tilt_lies_within_the_strip_exactly_when_the_depth_is_as_wished(
    azimuth_deg: float, gauge_mm: float, drop_mm: float,
    least_mm: float, wide_mm: float, ap_deg: float, lat_deg: float,
) -> None:  # fmt: skip
    wished = site(
        "34MB", azimuth_deg, gauge_mm,
        drop_mm=drop_mm, least_mm=least_mm, most_mm=least_mm + wide_mm,
    )  # fmt: skip
    strip, place = strip_of(wished), place_of(Tilt(ap_deg, lat_deg))
    depth = depth_mm(strip, place)

    beyond = [s.x * place.x + s.y * place.y - s.least for s in sides_of(strip)]

    if min(abs(depth - least_mm), abs(depth - least_mm - wide_mm)) > 1e-6:
        assert (miss_mm(strip, place) == 0) == all(b >= 0 for b in beyond)


@pytest.mark.parametrize(("tilt_deg", "depth"), SPHERE_DEPTH_MM)
def test_a_sphere_turns_to_its_depth_at_the_derived_tilt(tilt_deg: int, depth: float) -> None:
    at_zero = dict(SPHERE_DEPTH_MM)[0]
    strip = strip_of(site("34B", 90.0, at_zero, drop_mm=SPHERE_DROP_MM))

    # Depths are rounded to 0.001 mm, which is 0.03 degrees there.
    assert pytest.approx(tilt_deg, abs=0.05) == turn_for_deg(strip, depth)


@given(azimuths, angles, angles)
def test_a_wall_turns_as_a_rotation_library_turns_it(
    azimuth_deg: float, ap_deg: float, lat_deg: float
) -> None:
    tilt = Tilt(ap_deg, lat_deg)
    facing = Rotation.from_euler("z", azimuth_deg, degrees=True).apply([1.0, 0.0, 0.0])
    place, strip = place_of(tilt), strip_of(site("34MB", azimuth_deg))

    turned = strip.x * place.x + strip.y * place.y

    assert pytest.approx(-facing @ path_of_insertion(tilt), abs=1e-12) == turned


def test_no_undercut_at_all_can_be_wished() -> None:
    strip = strip_of(site("35D", 90.0, 0.25, least_mm=0.0, most_mm=0.0))
    (only,) = sides_of(strip)

    assert -only.least == pytest.approx(sin(-strip.theta))
    assert 0.0 == depth_mm(strip, place_of(Tilt(turn_for_deg(strip, 0.0) or inf, 0.0)))


def test_a_depth_that_no_tilt_reaches_leaves_no_tilt() -> None:
    strip = strip_of(site("34MB", 90.0, least_mm=50.0))

    assert turn_for_deg(strip, 50.0) is None
    assert () == common(square(sin(radians(15))), [strip])


def test_a_window_wider_than_the_wall_has_no_side() -> None:
    strip = strip_of(site("34MB", 90.0, least_mm=0.0, most_mm=100.0))

    assert [] == list(sides_of(strip))


def test_a_missing_drop_is_guessed_and_said_to_be() -> None:
    guessed = strip_of(site("34MB", 90.0, drop_mm=None), guessed_drop_mm=1.5)

    assert guessed.drop_is_guessed
    assert strip_of(site("34MB", 90.0, drop_mm=1.5)).radius_mm == guessed.radius_mm


@pytest.mark.parametrize(("least_mm", "most_mm"), [(-0.1, None), (0.3, 0.2), (float("nan"), 1.0)])
def test_a_window_that_is_none_is_refused(least_mm: float, most_mm: float | None) -> None:
    with pytest.raises(BadWish, match="34MB"):
        strip_of(site("34MB", 90.0, least_mm=least_mm, most_mm=most_mm))


def test_a_reading_that_draws_no_wall_is_refused() -> None:
    with pytest.raises(NoUndercutRead):
        strip_of(site("34MB", 90.0, 0.0))
