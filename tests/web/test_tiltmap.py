from __future__ import annotations

import ast
import re
from math import hypot
from pathlib import Path

import pytest

from bench.core import conflicts, finder, tiltreasons, wishes
from bench.core.entries import (
    ClaspWished,
    GuidePlaneRead,
    Mounted,
    SettingTaken,
    TeethRecorded,
    UndercutRead,
)
from bench.core.finder import find_tilt
from bench.core.remark import Remark
from bench.core.strips import depth_mm, place_of
from bench.core.survey import Survey
from bench.core.tilt import Tilt
from bench.core.wishes import wishes_of
from bench.words import Words
from bench.words.reader import Reader
from bench.words.remarks import lacking_in_words, remark_in_words, way_in_words
from tests.web.sentforms import shown
from tests.web.surveyedcases import mounted, opened, tilted

READER = Reader(Words("en"))


def codes_in(*modules) -> set[str]:
    """Return every code of a Remark that modules make, read from their source."""
    found = set()
    for module in modules:
        for node in ast.walk(ast.parse(Path(module.__file__).read_text("utf-8"))):
            if isinstance(node, ast.Call) and ast.unparse(node.func) == "Remark":
                found |= {
                    one.value
                    for one in ast.walk(node.args[0])
                    if isinstance(one, ast.Constant) and isinstance(one.value, str)
                }
    return found


def read(bench, gauge_mm: float = 0.25, drop_mm: float | None = 2.0):
    """A lower cast whose clasps on 37 ML and 35 DB are read at zero."""
    mounted(bench)
    zero = bench.entries("mounted")[0].id
    for tooth, surface in ((37, "ML"), (35, "DB")):
        bench.state(UndercutRead(tooth, surface, gauge_mm, "both", drop_mm, "G25"), setting=zero)
    return zero


def survey(bench) -> Survey:
    log = bench.app.extensions["log"]
    return Survey(log.case(bench.code), log.lab())


def tried(bench, **asked):
    return bench.client.get(f"/case/{bench.code}/tilt/tried", query_string=asked)


def area(page: str) -> list[tuple[float, float]]:
    path = re.search(r'class="area" d="M([^"]+)Z"', page)
    assert path
    return [tuple(map(float, pair.split())) for pair in path[1].split("L")]


def test_every_remark_of_the_finder_has_words():
    codes = codes_in(finder, conflicts, tiltreasons)

    assert {"lower_edge", "sites_exclude", "another_surface", "needs_turn", "estimate"} <= codes
    assert set() == {code for code in codes if not READER.words.has(f"tiltmap.remark.{code}")}


def test_every_reading_that_lacks_has_words():
    codes = {code for code in codes_in(wishes) if not code.startswith("plane_wish")}
    codes |= {"plane_without_scale", "plane_unmeasured"}

    assert {"undercut_unread", "no_undercut", "plane_unread"} <= codes
    assert set() == {code for code in codes if not READER.words.has(f"tiltmap.lacking.{code}")}


@pytest.mark.parametrize(
    ("remark", "said"),
    [
        (Remark("lower_edge", {"edge": "front", "by_deg": 2.04}), "Lower the front by 2.0°."),
        (Remark("sites_exclude", {"sites": ("44MB", "34MB")}), "44 MB and 34 MB exclude each other."),
        (Remark("sites_exclude", {"sites": ("44MB",)}), "44 MB cannot be reached by any tilt of the map."),
        (Remark("wire_arm", {"site": "44MB", "to_mm": 0.5}),
         "A wrought wire arm at 44 MB: it may lie as deep as 0.50\u00a0mm."),
    ],
)  # fmt: skip
def test_a_remark_is_said_in_the_words_of_the_bench(remark, said):
    assert said == remark_in_words(remark, READER)


def test_a_lacking_reading_names_its_site_and_gauge():
    remark = Remark("undercut_shallower", {"site": "44MB", "gauge_mm": 0.25})

    assert "44 MB" in lacking_in_words(remark, READER)
    assert READER.length(0.25) in lacking_in_words(remark, READER)


@pytest.mark.parametrize(
    ("azimuth_deg", "way"),
    [(90, "the front"), (0, "the right of view"), (180, "the left of view"), (270, "the back"),
     (45, "the front, right of view"), (359.9, "the right of view"), (112.6, "the front, left of view")],
)  # fmt: skip
def test_a_direction_is_named_by_the_edge_it_leads_to(azimuth_deg, way):
    assert way == way_in_words(azimuth_deg, READER)


def test_the_area_drawn_is_the_one_that_the_finder_finds(bench):
    read(bench)
    found = find_tilt(wishes_of(survey(bench)).sites)
    unit = 210 / 15

    points = area(bench.at("tilt").text)

    # x is the right of view lowered, y counts downward from the front lowered.
    for corner in found.map.corners:
        near = min(hypot(x - corner.lat_deg * unit, y + corner.ap_deg * unit) for x, y in points)
        assert near < 0.1


def test_a_sites_edge_is_where_it_just_reaches_its_wish(bench):
    read(bench)
    made = wishes_of(survey(bench))
    edges = re.findall(r'class="edge" d="M([^"]+)"', bench.at("tilt").text)

    ends = [[tuple(map(float, p.split())) for p in path.split("L")] for path in edges]
    for path, strip in zip(ends, made.strips, strict=True):
        for x, y in path:
            tilt = Tilt(-y / 14, x / 14)
            assert strip.least_mm == pytest.approx(depth_mm(strip, place_of(tilt)), abs=0.002)


def test_each_edge_of_the_map_is_named_by_the_edge_of_the_cast_that_goes_down(bench):
    read(bench)

    page = bench.at("tilt").text

    for words in ("front down", "back down", "right of view down", "left of view down"):
        assert words in page


# Common practice, no source: on a lower cast seen from behind the right of view is the patient's right.
@pytest.mark.parametrize(("arch", "side"), [("lower", "right"), ("upper", "left")])
def test_the_patients_side_is_named_at_the_right_of_view(bench, arch, side):
    opened(bench, arch)
    teeth = {"lower": (46, 47), "upper": (16, 17)}[arch]
    bench.state(TeethRecorded(missing=(teeth[0],), replaced=(teeth[0],)))
    bench.state(ClaspWished(teeth[1], "B", "circumferential", "co_cr", 0.25))
    zero = bench.state(Mounted())
    bench.state(UndercutRead(teeth[1], "B", 0.25, "both", 1.5), setting=zero.id)

    page = bench.at("tilt").text.replace("&#39;", "'")

    assert f"right of view down (patient's {side})" in page


def test_every_site_shows_what_it_reads_now_and_then(bench):
    read(bench)
    strip = wishes_of(survey(bench)).strips[0]
    then_mm = depth_mm(strip, place_of(Tilt(3.0, -2.0)))

    answer = tried(bench, ap_deg="3", lat_deg="-2")

    assert 200 == answer.status_code
    assert f"0.25 → <strong>{READER.length(then_mm)}</strong>" in answer.text
    assert "confirm with the gauge" in answer.text


# Closed form of a straight wall: 0.3 mm over 2.5 mm is 6.84 degrees, to be taken off 2.5·tan.
def test_every_guide_plane_shows_its_angle_now_and_then_and_what_is_taken_off(bench):
    zero = read(bench)
    bench.state(GuidePlaneRead(37, "M", "gingival", 0.3, 2.5), setting=zero)

    answer = tried(bench, ap_deg="0", lat_deg="0")

    assert "6.8° → <strong>6.8°</strong>" in answer.text
    assert READER.say("tiltmap.off", off=READER.length(0.3)) in answer.text


def test_trying_records_nothing(bench):
    read(bench)
    before = len(bench.entries())

    tried(bench, ap_deg="3", lat_deg="-2")

    assert before == len(bench.entries())


def test_a_tilt_that_is_none_says_nothing_of_sites(bench):
    read(bench)

    answer = tried(bench, ap_deg="much", lat_deg="-2")

    assert 200 == answer.status_code
    assert "<table" not in answer.text


def test_a_steep_tilt_asks_why_while_it_is_tried(bench):
    read(bench)

    answer = tried(bench, ap_deg="14", lat_deg="9", reason="37 leans")

    assert 'name="reason"' in answer.text
    assert "37 leans" in answer.text


def test_the_wishes_met_are_counted_beside_the_map(bench):
    read(bench)
    ap_deg, lat_deg = re.search(r'data-tilt-to="([^ ]+) ([^"]+)"', bench.at("tilt").text).groups()

    level = tried(bench, ap_deg="0", lat_deg="0").text
    found = tried(bench, ap_deg=ap_deg, lat_deg=lat_deg).text

    # 35 DB is read with 0.25 and wishes 0.50, so level serves 37 ML alone.
    assert READER.say("tiltmap.met", met=1, count=2) in level
    assert READER.say("tiltmap.met_all", count=2) in found


def test_the_tilt_found_fills_the_form_by_a_plain_link(bench):
    read(bench, gauge_mm=0.22, drop_mm=2.0)
    bench.state(UndercutRead(35, "DB", 0.4, "both", 2.0), setting=bench.entries("mounted")[0].id)
    link = re.search(r'href="([^"]+)" data-tilt-to="([^ ]+) ([^"]+)"', bench.at("tilt").text)

    page = shown(bench.client.get(link[1].replace("&amp;", "&")))

    form = page.form("setting_taken")
    assert (link[2], link[3]) == (form.value("ap_deg"), form.value("lat_deg"))


def test_without_scripts_the_whole_page_shows_what_was_typed(bench):
    read(bench)
    typed = {"ap_deg": "3", "lat_deg": "-2", "reason": ""}

    answer = bench.client.post(
        f"/case/{bench.code}/tilt/look", data={"csrf_token": bench.client.token(), **typed}
    )

    assert 303 == answer.status_code
    form = shown(bench.client.get(answer.location)).form("setting_taken")
    assert ("3", "-2") == (form.value("ap_deg"), form.value("lat_deg"))


def test_wishes_that_exclude_each_other_are_named_with_what_would_free_them(bench):
    opened(bench)
    bench.state(TeethRecorded(missing=(36,), replaced=(36,)))
    for surface in ("B", "L"):
        bench.state(ClaspWished(37, surface, "circumferential", "co_cr", 0.5))
    zero = bench.state(Mounted())
    for surface in ("B", "L"):
        bench.state(UndercutRead(37, surface, 0.25, "both", 1.5), setting=zero.id)

    page = bench.at("tilt").text

    assert "37 B and 37 L exclude each other." in page
    assert READER.say("tiltmap.remark.another_tooth", site="37 B") in page
    assert 'class="area"' not in page


def test_a_table_without_a_scale_says_why_there_is_no_map(bench):
    zero = read(bench)
    bench.state(SettingTaken(None, None), setting=zero)

    page = bench.at("tilt")

    assert READER.say("tiltmap.no_scale") in page.text
    assert "data-tiltmap" not in page.text
    assert page.has("setting_taken")


def test_before_anything_is_read_the_cast_is_shown_and_why(bench):
    mounted(bench)

    page = bench.at("tilt").text

    assert READER.say("tiltmap.no_readings") in page
    assert "data-archmap" in page


def test_the_cast_can_be_shown_in_place_of_the_map(bench):
    read(bench)

    page = bench.at("tilt", view="cast")

    assert "data-archmap" in page.text
    assert "data-tiltmap" not in page.text
    assert f"/case/{bench.code}/tilt" in page.links


def test_earlier_settings_lie_on_the_map_and_can_be_tried_again(bench):
    zero = read(bench)
    first = tilted(bench, bench.entries("mounted")[0], 4.0, -2.0)
    tilted(bench, first, 1.0, 1.0)

    page = bench.at("tilt")

    assert 'data-tilt-to="0.0 0.0"' in page.text
    assert 'data-tilt-to="4.0 -2.0"' in page.text
    assert zero in [entry.id for entry in bench.entries("mounted")]


def test_what_is_lacking_leads_to_where_it_is_read(bench):
    mounted(bench)
    zero = bench.entries("mounted")[0].id
    bench.state(UndercutRead(37, "ML", 0.25, "both", 2.0), setting=zero)

    page = bench.at("tilt")

    assert "35 DB: no undercut is read." in page.text
    assert f"/case/{bench.code}/undercuts?tooth=35&surface=DB" in page.links


def test_a_reader_may_try_and_not_take(bench, reader):
    read(bench)

    answer = reader.get(f"/case/{bench.code}/tilt/tried?ap_deg=1&lat_deg=1")

    assert 200 == answer.status_code


def test_nothing_can_be_tried_before_the_cast_is_mounted(bench):
    opened(bench)

    assert 404 == tried(bench, ap_deg="1", lat_deg="1").status_code
