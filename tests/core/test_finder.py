"""The tilt finder beside general optimisers, and its properties."""

from __future__ import annotations

from dataclasses import replace
from math import asin, radians, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import differential_evolution, linprog, minimize

from bench.core.finder import BadLimit, Bench, FoundTilt, NameTwice, find_tilt
from bench.core.strips import Place, WishedSite, depth_mm, place_of, sides_of, strip_of
from bench.core.tilt import LEVEL, Tilt, angle_between_deg
from bench.core.toothchange import BadPlane, GuidePlane, cost_mm2, pulls_of
from tests.core.wishedcases import Case, cases, mirrored_case, mirrored_tilt, site

REACH = sin(radians(15))
SQUARE = [(-REACH, REACH), (-REACH, REACH)]


def rows_of(sites: list[WishedSite]) -> tuple[np.ndarray, np.ndarray]:
    sides = [side for one in sites for side in sides_of(strip_of(one))]
    rows = np.array([[-side.x, -side.y] for side in sides]).reshape(-1, 2)
    return rows, np.array([-side.least for side in sides])


def programme_finds_a_tilt(sites: list[WishedSite]) -> bool:
    rows, least = rows_of(sites)
    return bool(linprog([0, 0], rows, least, bounds=SQUARE).status == 0)


def by_programme(case: Case) -> Tilt:
    """Find the least tooth change with a sequential quadratic programme from several starts."""
    rows, least = rows_of(case[0])
    pulls = pulls_of(case[1], 0.01)
    held = {"type": "ineq", "fun": lambda s: least - rows @ s, "jac": lambda s: -rows}
    answers = [
        minimize(
            lambda s: 100 * cost_mm2(pulls, Place(*s)), start, method="SLSQP", bounds=SQUARE,
            constraints=[held], options={"ftol": 1e-14, "maxiter": 200},
        )
        for start in ([0.0, 0.0], [0.1, 0.1], [-0.1, 0.1])
    ]  # fmt: skip
    sound = [one for one in answers if np.all(rows @ one.x <= least + 1e-8)]
    return Place(*np.clip(min(sound, key=lambda one: one.fun).x, -1, 1)).tilt


def by_evolution(case: Case) -> Tilt:
    """Find the least tooth change with a global search that pays for every wish missed."""
    rows, least = rows_of(case[0])
    pulls = pulls_of(case[1], 0.01)

    def pays(s: np.ndarray) -> float:
        return cost_mm2(pulls, Place(*s)) + 1e3 * float(np.maximum(rows @ s - least, 0).sum())

    found = differential_evolution(pays, SQUARE, seed=1, tol=1e-12, maxiter=300, popsize=12)
    return Place(*found.x).tilt


def asking_less(sites: list[WishedSite], by_mm: float) -> list[WishedSite]:
    return [replace(one, least_mm=max(0.0, one.least_mm - by_mm)) for one in sites]


def feasible(count: int, seed: int, at_least: int) -> list[tuple[Case, FoundTilt]]:
    pairs = [(case, find_tilt(*case)) for case in cases(count, seed)]
    found = [(case, tilt) for case, tilt in pairs if tilt.feasible]
    assert len(found) >= at_least
    return found


def test_a_linear_programme_agrees_whether_a_tilt_serves() -> None:
    told = [
        (programme_finds_a_tilt(case[0]), find_tilt(*case).feasible)
        for two_sided in (False, True)
        for case in cases(150, 7, two_sided=two_sided)
    ]

    assert [] == [pair for pair in told if pair[0] != pair[1]]
    assert {True, False} == {served for served, _ in told}


def test_a_quadratic_programme_finds_the_same_tilt() -> None:
    worst = max(
        angle_between_deg(found.tilt, by_programme(case)) for case, found in feasible(120, 8, 40)
    )

    assert worst < 0.05


def test_a_global_search_finds_the_same_tilt() -> None:
    worst = max(
        angle_between_deg(found.tilt, by_evolution(case)) for case, found in feasible(30, 9, 8)
    )

    assert worst < 0.05


def test_the_tilt_found_gives_every_site_what_is_wished() -> None:
    for case, found in feasible(300, 10, 80):
        depths = [(one, depth_mm(strip_of(one), place_of(found.tilt))) for one in case[0]]

        assert all(depth >= one.least_mm - 1e-7 for one, depth in depths)


def test_every_corner_of_the_map_serves_and_lies_on_the_edges_named() -> None:
    for (sites, _), found in feasible(200, 11, 60):
        named = {one.name: strip_of(one) for one in sites}
        for n, corner in enumerate(found.map.corners):
            place = place_of(corner)

            assert all(depth_mm(s, place) >= s.least_mm - 1e-7 for s in named.values())
            maker = found.map.made_by[n]
            if maker.bound == "least":
                strip = named[maker.name]
                assert pytest.approx(strip.least_mm, abs=1e-7) == depth_mm(strip, place)
            else:
                assert pytest.approx(15.0) == max(abs(corner.ap_deg), abs(corner.lat_deg))


def test_a_conflict_names_up_to_three_sites_that_a_linear_programme_confirms() -> None:
    conflicts = 0
    for case in cases(150, 12, two_sided=True):
        found = find_tilt(*case)
        named = [one for one in case[0] if one.name in found.conflict]
        if found.feasible:
            continue
        conflicts += 1

        assert 1 <= len(named) <= 3
        assert not programme_finds_a_tilt(named)
        assert all(
            programme_finds_a_tilt([one for one in named if one is not left]) for left in named
        )
    assert conflicts > 50


def test_no_tilt_misses_less_than_the_one_shown_for_a_conflict() -> None:
    missed = 0
    for sites, planes in cases(80, 13):
        found = find_tilt(sites, planes)
        if found.feasible:
            continue
        missed += 1
        by_mm = [one.least_mm - depth_mm(strip_of(one), place_of(found.tilt)) for one in sites]

        assert pytest.approx(found.miss_mm, abs=1e-6) == max(by_mm)
        assert not find_tilt(asking_less(sites, found.miss_mm - 1e-6)).feasible
        assert find_tilt(asking_less(sites, found.miss_mm + 1e-6)).feasible
    assert missed >= 20


def test_the_mirror_image_of_a_case_mirrors_every_answer() -> None:
    for two_sided in (False, True):
        for case in cases(80, 14, two_sided=two_sided):
            found, mirror = find_tilt(*case), find_tilt(*mirrored_case(case))

            assert found.feasible == mirror.feasible
            assert set(found.conflict) == set(mirror.conflict)
            assert angle_between_deg(mirrored_tilt(found), mirror.tilt) < 1e-5
            assert pytest.approx(found.cost_mm2, rel=1e-5) == mirror.cost_mm2
            assert len(found.map.corners) == len(mirror.map.corners)


@given(st.floats(-6, 6), st.floats(-6, 6))
def test_readings_at_another_setting_find_the_same_tilt(ap_deg: float, lat_deg: float) -> None:
    sites = [site("34MB", 140.0, least_mm=0.3), site("44MB", 40.0, least_mm=0.2)]
    planes = [GuidePlane("34D", 265.0, 3.0, 3.0)]
    was = Tilt(ap_deg, lat_deg)
    place = place_of(was)

    def turned_deg(azimuth_deg: float) -> float:
        x, y = sin(radians(azimuth_deg)), sin(radians(azimuth_deg + 90))
        return float(np.degrees(asin(x * place.x + y * place.y)))

    moved_planes = [
        replace(p, angle_deg=p.angle_deg + turned_deg(p.azimuth_deg), read_at=was) for p in planes
    ]
    moved = [replace(one, read_at=was) for one in sites]
    for n, one in enumerate(sites):
        strip = strip_of(one)
        angle = strip.theta + radians(turned_deg(one.azimuth_deg))
        gauge_mm = 2 * strip.radius_mm * sin(angle / 2) ** 2
        moved[n] = replace(moved[n], gauge_mm=gauge_mm, drop_mm=strip.radius_mm * sin(angle))

    assert (
        angle_between_deg(find_tilt(sites, planes).tilt, find_tilt(moved, moved_planes).tilt) < 1e-5
    )


def test_with_nothing_asked_the_cast_stays_level() -> None:
    found = find_tilt([])

    assert (LEVEL, True, 0.0) == (found.tilt, found.feasible, found.cost_mm2)
    assert 4 == len(found.map.corners)


def test_without_guide_planes_the_tilt_nearest_to_level_is_taken() -> None:
    found = find_tilt([site("34B", 90.0, least_mm=0.30)])

    assert pytest.approx(0.0, abs=1e-9) == found.tilt.lat_deg
    assert 1.0 < found.tilt.ap_deg < 2.0


def test_one_guide_plane_alone_is_brought_upright() -> None:
    found = find_tilt([], [GuidePlane("35D", 270.0, 4.0, 3.0)])

    assert pytest.approx(4.0, abs=0.005) == found.tilt.ap_deg


def test_two_facing_planes_meet_half_way() -> None:
    found = find_tilt(
        [], [GuidePlane("34D", 270.0, 6.0, 3.0), GuidePlane("37M", 90.0, 2.0, 3.0)]
    )  # fmt: skip

    assert pytest.approx(2.0, abs=0.005) == found.tilt.ap_deg


def test_a_heavier_plane_is_changed_less() -> None:
    planes = [GuidePlane("34D", 270.0, 6.0, 3.0, weight=9.0), GuidePlane("37M", 90.0, 2.0, 3.0)]

    assert pytest.approx(5.2, abs=0.005) == find_tilt([], planes).tilt.ap_deg


def test_sites_that_face_alike_make_parallel_edges() -> None:
    found = find_tilt(
        [site("34B", 90.0, least_mm=0.20), site("35B", 90.0, least_mm=0.20, most_mm=0.25)]
    )  # fmt: skip

    assert {"34B", "35B", "left", "right"} >= {maker.name for maker in found.map.made_by}
    assert found.feasible


def test_a_window_of_one_depth_leaves_a_line_of_tilts() -> None:
    found = find_tilt(
        [site("34B", 90.0, least_mm=0.30, most_mm=0.30)], [GuidePlane("35D", 180.0, 2.0, 3.0)]
    )  # fmt: skip

    assert 2 == len(found.map.corners)
    assert pytest.approx(2.0, abs=0.01) == found.tilt.lat_deg


def test_facing_sites_that_both_want_more_exclude_each_other() -> None:
    found = find_tilt([site("34B", 180.0, least_mm=0.35), site("44B", 0.0, least_mm=0.35)])

    assert ("34B", "44B") == found.conflict
    assert (False, ()) == (found.feasible, found.map.corners)
    assert pytest.approx(0.10, abs=1e-6) == found.miss_mm
    assert pytest.approx(0.0, abs=1e-4) == angle_between_deg(LEVEL, found.tilt)


def test_the_limit_of_the_table_is_kept() -> None:
    found = find_tilt([], [GuidePlane("35D", 270.0, 12.0, 3.0)], Bench(limit_deg=6.0))

    assert pytest.approx(6.0) == found.tilt.ap_deg
    assert "limit_decides" in [remark.code for remark in found.explanation]


def test_a_tie_weight_of_nothing_still_breaks_ties() -> None:
    found = find_tilt([], [GuidePlane("35D", 270.0, 4.0, 3.0)], Bench(tie_weight_mm2=0.0))

    assert pytest.approx((4.0, 0.0), abs=0.001) == tuple(found.tilt)


@pytest.mark.parametrize("limit_deg", [0.0, -3.0, 41.0, float("nan")])
def test_a_limit_that_is_none_is_refused(limit_deg: float) -> None:
    with pytest.raises(BadLimit, match="above 0 and up to 40"):
        find_tilt([], [], Bench(limit_deg=limit_deg))


def test_what_cannot_be_told_apart_or_weighed_is_refused() -> None:
    with pytest.raises(NameTwice, match="34B"):
        find_tilt([site("34B", 90.0), site("34B", 0.0)])
    with pytest.raises(NameTwice, match="35D"):
        find_tilt([], [GuidePlane("35D", 270.0, 4.0, 3.0)] * 2)
    with pytest.raises(BadPlane, match="35D"):
        find_tilt([], [GuidePlane("35D", 270.0, 89.0, 3.0)])
