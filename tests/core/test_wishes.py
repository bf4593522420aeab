from __future__ import annotations

from dataclasses import replace

import pytest

from bench.core.entries import (
    ClaspWished,
    Confirmed,
    GuidePlaneRead,
    Mounted,
    SettingTaken,
    UndercutRead,
)
from bench.core.finder import find_tilt
from bench.core.remark import Remark
from bench.core.strips import WishedSite
from bench.core.tilt import Tilt
from bench.core.whatif import planes_then, settable, sites_then
from bench.core.wishes import tilt_now, wishes_of
from tests.core.bench_story import a_received_cast, a_tip, an_undercut


@pytest.fixture
def mounted():
    """A lower cast of Class I at zero, clasps of 0.50 mm wished on 45 MB and 35 MB, nothing read yet."""
    story = a_received_cast("I")
    story.say(Mounted("S1", "T1"))
    return story


def site(wishes, name) -> WishedSite:
    return next(one for one in wishes.sites if one.name == name)


def codes(wishes):
    return [(one.code, one.params["site"]) for one in wishes.lacking if "undercut" in one.code]


def test_a_site_carries_its_reading_and_asks_for_its_wish_at_least(mounted):
    mounted.say(UndercutRead(45, "MB", 0.25, "both", 1.4))

    found = site(wishes_of(mounted.survey), "45MB")

    azimuth_deg = mounted.survey.model.azimuth_deg(mounted.survey.undercut_sites[0])
    wanted = WishedSite("45MB", azimuth_deg, 0.25, 1.4, 0.45, None, Tilt(0.0, 0.0))
    assert replace(wanted, azimuth_deg=found.azimuth_deg) == found
    assert {"45MB", "35MB"} == {one.text for one in mounted.survey.undercut_sites}


def test_the_labs_tolerance_makes_the_least_that_serves(mounted):
    mounted.say(UndercutRead(45, "MB", 0.25, "both", 1.4))
    mounted.policy("wanted_tolerance_mm", "0.1")

    assert 0.4 == site(wishes_of(mounted.survey), "45MB").least_mm


def test_what_is_not_read_is_named_as_lacking(mounted):
    mounted.say(UndercutRead(45, "MB", 0.25, "lip_first"))

    wishes = wishes_of(mounted.survey)

    assert () == wishes.sites
    assert Remark("undercut_shallower", {"site": "45MB", "gauge_mm": 0.25}) in wishes.lacking
    assert Remark("undercut_unread", {"site": "35MB"}) in wishes.lacking
    assert Remark("plane_unread", {"site": "45D"}) in wishes.lacking


def test_a_site_without_any_undercut_is_lacking_as_such(mounted):
    mounted.say(UndercutRead(45, "MB", 0.25, "none"))

    assert Remark("no_undercut", {"site": "45MB"}) in wishes_of(mounted.survey).lacking


def test_a_reading_belongs_to_the_tilt_it_was_made_at(mounted):
    mounted.say(UndercutRead(45, "MB", 0.25, "both", 1.4))
    mounted.tilt(4.0, -2.0, final=False)
    mounted.say(UndercutRead(35, "MB", 0.25, "both", 1.4))

    wishes = wishes_of(mounted.survey)

    assert (Tilt(0.0, 0.0), Tilt(4.0, -2.0)) == tuple(
        site(wishes, name).read_at for name in ("45MB", "35MB")
    )
    assert Tilt(4.0, -2.0) == tilt_now(mounted.survey) == wishes.bench.current


def test_a_confirmed_reading_belongs_to_the_tilt_at_which_it_was_confirmed(mounted):
    read = mounted.say(UndercutRead(45, "MB", 0.25, "both", 1.4))
    mounted.tilt(1.0, 0.0, final=False)
    mounted.say(Confirmed(read.id))

    assert Tilt(1.0, 0.0) == site(wishes_of(mounted.survey), "45MB").read_at


def test_an_earlier_touch_serves_where_the_present_gauge_does_not(mounted):
    mounted.say(UndercutRead(45, "MB", 0.25, "both", 1.4))
    mounted.tilt(-3.0, 0.0, final=False)
    mounted.say(UndercutRead(45, "MB", 0.5, "lip_first"))

    found = site(wishes_of(mounted.survey), "45MB")

    assert (0.25, Tilt(0.0, 0.0)) == (found.gauge_mm, found.read_at)


def test_a_gauge_that_is_too_small_tells_the_least_depth(mounted):
    mounted.say(UndercutRead(45, "MB", 0.25, "lip_short", 1.4))

    wishes = wishes_of(mounted.survey)

    assert ("45MB",) == wishes.as_least
    assert sites_then(wishes, Tilt(0.0, 0.0))[0].as_least


def test_without_a_drop_the_policys_guess_stands_in_and_is_said_to_be_one(mounted):
    mounted.say(UndercutRead(45, "MB", 0.25, "both"))
    mounted.policy("guessed_drop_mm", "1.5")
    wishes = wishes_of(mounted.survey)

    found = sites_then(wishes, Tilt(2.0, 0.0))[0]

    given = wishes_of(_read_with_drop(mounted, 1.5).survey)
    assert found.drop_guessed
    assert found.then_mm == pytest.approx(sites_then(given, Tilt(2.0, 0.0))[0].then_mm)
    assert Remark("drop_guessed", {"site": "45MB"}) in find_tilt(wishes.sites).explanation


def _read_with_drop(story, drop_mm):
    other = a_received_cast("I")
    other.say(Mounted("S1", "T1"))
    other.say(UndercutRead(45, "MB", 0.25, "both", drop_mm))
    return other


def test_a_table_without_a_scale_has_no_tilt_and_its_readings_serve_nothing(mounted):
    mounted.say(SettingTaken(None, None))
    mounted.say(an_undercut(45, "MB"))

    wishes = wishes_of(mounted.survey)

    assert tilt_now(mounted.survey) is None
    assert ("undercut_without_scale", "45MB") in codes(wishes)


def test_a_chosen_tip_asks_for_the_depth_of_its_arm(mounted):
    mounted.say(an_undercut(44, "DB"))
    mounted.say(a_tip(44, "DB", material="co_cr"))

    assert 0.2 == pytest.approx(site(wishes_of(mounted.survey), "44DB").least_mm)


def test_a_chosen_tip_takes_the_place_of_its_tooths_wish(mounted):
    mounted.say(an_undercut(45, "MB"))
    mounted.say(an_undercut(45, "DB"))
    mounted.say(a_tip(45, "DB"))

    assert ["45DB"] == [one.name for one in wishes_of(mounted.survey).sites]


# Arithmetic: atan(0.3 / 2.5) = 6.843 degrees.
@pytest.mark.parametrize(
    ("light", "angle_deg"), [("gingival", 6.843), ("occlusal", -6.843), ("none", 0.0)]
)
def test_a_guide_plane_leans_by_its_triangle_of_light(mounted, light, angle_deg):
    measured = (None, None) if light == "none" else (0.3, 2.5)
    mounted.say(GuidePlaneRead(45, "D", light, *measured))

    wishes = wishes_of(mounted.survey)

    assert angle_deg == pytest.approx(wishes.planes[0].angle_deg, abs=0.001)
    assert wishes.heights_guessed == (("45D",) if light == "none" else ())


def test_a_plane_with_light_that_was_not_measured_is_lacking(mounted):
    mounted.say(GuidePlaneRead(45, "D", "gingival"))

    assert Remark("plane_unmeasured", {"site": "45D"}) in wishes_of(mounted.survey).lacking


def test_now_is_the_present_setting_and_then_the_one_tried(mounted):
    mounted.say(UndercutRead(45, "MB", 0.25, "both", 1.4))
    mounted.say(GuidePlaneRead(45, "D", "gingival", 0.3, 2.5))
    wishes = wishes_of(mounted.survey)

    one, plane = sites_then(wishes, Tilt(-5.0, 0.0))[0], planes_then(wishes, Tilt(-5.0, 0.0))[0]

    # 45 D faces back, so lowering the back by 5 degrees turns it in by nearly as much.
    assert 0.25 == pytest.approx(one.now_mm)
    assert plane.now_deg == pytest.approx(6.843, abs=0.001)
    assert plane.then_deg > plane.now_deg + 4
    assert plane.take_off_mm == pytest.approx(0.5, abs=0.05)


def test_a_tilt_that_can_be_set_serves_all_that_the_one_found_serves(mounted):
    for tooth in (45, 35):
        mounted.say(UndercutRead(tooth, "MB", 0.4, "both", 2.2))
    wishes = wishes_of(mounted.survey)
    found = find_tilt(wishes.sites, wishes.planes, wishes.bench)

    tilt = settable(wishes, found, 0.5)

    assert found.feasible
    assert all(one.meets for one in sites_then(wishes, tilt))
    assert tilt == Tilt(round(tilt.ap_deg * 2) / 2, round(tilt.lat_deg * 2) / 2)


def test_a_wish_for_a_surface_of_an_upper_cast_faces_as_the_cast_lies():
    story = a_received_cast("III")
    story.say(Mounted("S1", "T1"))
    story.say(ClaspWished(47, "B", "circumferential", "co_cr", 0.25))
    story.say(UndercutRead(47, "B", 0.25, "both", 1.4))

    # 47 stands at the right of view of a lower cast, and its buccal side faces right (+X).
    azimuth_deg = site(wishes_of(story.survey), "47B").azimuth_deg
    assert min(azimuth_deg, 360 - azimuth_deg) < 30
