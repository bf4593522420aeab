"""What would free wished sites that exclude each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from bench.core.finder import FoundTilt, find_tilt
from bench.core.remark import Figure, Remark
from bench.core.strips import WishedSite
from tests.core.wishedcases import cases, site


def told(found: FoundTilt, code: str) -> list[Remark]:
    return [remark for remark in found.explanation if remark.code == code]


def figures(found: FoundTilt, code: str, name: str = "to_mm") -> dict[Figure, Figure]:
    return {remark.params["site"]: remark.params[name] for remark in told(found, code)}


def changed(sites: Sequence[WishedSite], name: Figure, **change: object) -> list[WishedSite]:
    return [
        replace(one, **change) if one.name == name else one  # type: ignore[arg-type]
        for one in sites
    ]


FACING = (
    site("34B", 180.0, least_mm=0.35),
    site("44B", 0.0, least_mm=0.35),
    site("33L", 80.0, least_mm=0.2),
)


def test_the_sites_of_a_conflict_are_named_and_the_others_left_out() -> None:
    found = find_tilt(FACING)
    (remark,) = told(found, "sites_exclude")

    assert ("34B", "44B") == found.conflict == remark.params["sites"]


def test_what_each_site_misses_is_told() -> None:
    found = find_tilt(FACING)

    missed = {r.params["site"]: r.params["by_mm"] for r in told(found, "misses_by")}

    assert pytest.approx({"34B": 0.1, "44B": 0.1}, abs=1e-6) == missed
    assert {"least"} == {r.params["bound"] for r in told(found, "misses_by")}


def test_every_way_out_of_a_conflict_frees_the_sites() -> None:
    ways = 0
    for two_sided in (False, True):
        for sites, planes in cases(80, 21, two_sided=two_sided):
            found = find_tilt(sites, planes)
            for remark in told(found, "another_tooth"):
                rest = [one for one in sites if one.name != remark.params["site"]]
                ways += 1

                assert find_tilt(rest, planes).feasible
            for name, to_mm in figures(found, "shallower_gauge").items():
                assert find_tilt(changed(sites, name, least_mm=to_mm), planes).feasible
            for name, to_mm in figures(found, "deeper_gauge").items():
                assert find_tilt(changed(sites, name, most_mm=to_mm), planes).feasible
            for name, way_deg in figures(found, "another_surface", "azimuth_deg").items():
                assert find_tilt(changed(sites, name, azimuth_deg=way_deg), planes).feasible
    assert ways > 50


def test_a_shallower_gauge_is_the_deepest_that_still_frees() -> None:
    (at, *_), found = list(FACING), find_tilt(FACING)
    to_mm = figures(found, "shallower_gauge")[at.name]

    assert isinstance(to_mm, float)
    assert not find_tilt(changed(FACING, at.name, least_mm=to_mm + 0.011)).feasible


def test_a_wire_arm_is_named_where_a_wire_takes_the_depth() -> None:
    shallow = site("34B", 180.0, least_mm=0.20, most_mm=0.25)
    asks = site("35B", 180.0, 0.25, least_mm=0.40)

    found = find_tilt([shallow, asks])

    assert figures(found, "deeper_gauge") == figures(found, "wire_arm") == {"34B": 0.40}


def test_no_wire_arm_is_named_for_a_depth_that_no_wire_takes() -> None:
    shallow = site("34B", 180.0, least_mm=0.20, most_mm=0.25)
    asks = site("35B", 180.0, 0.25, least_mm=0.60)

    found = find_tilt([shallow, asks])

    assert {"34B": 0.60} == figures(found, "deeper_gauge")
    assert {} == figures(found, "wire_arm")


def test_a_site_that_needs_more_than_the_limit_says_how_much() -> None:
    found = find_tilt([site("34B", 90.0, 0.05, least_mm=3.0)])
    (remark,) = told(found, "needs_turn")

    assert ("34B",) == found.conflict
    assert isinstance(remark.params["by_deg"], float)
    assert 15 < remark.params["by_deg"] < 40
    assert pytest.approx(15.0) == found.tilt.ap_deg


def test_a_depth_that_no_tilt_gives_is_out_of_reach() -> None:
    (remark,) = told(find_tilt([site("34B", 90.0, least_mm=40.0)]), "out_of_reach")

    assert {"site": "34B", "want_mm": 40.0} == remark.params


def test_two_conflicts_apart_need_more_than_one_change() -> None:
    sites = [
        *FACING,
        site("33B", 90.0, least_mm=0.35),
        site("37D", 270.0, least_mm=0.35),
    ]

    assert 1 == len(told(find_tilt(sites), "more_than_one_change"))
