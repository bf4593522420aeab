from __future__ import annotations

from math import dist, radians, sin

import pytest

from bench.core.case import fold
from bench.core.entries import Disturbed, FourthMarkMade, InstrumentAdded, Mounted, PolicySet
from bench.web import telling
from tests.facts.tripod_figures import (
    REMOUNT_EQUILATERAL,
    REMOUNT_HEIGHTS_MM,
    REMOUNT_MARKS_MM,
    REMOUNT_OFF_DEG,
)
from tests.web.latercases import form_to, locked, marks, moved_on, received
from tests.web.sentforms import shown

HEIGHTS = ("h_a_mm", "h_b_mm", "h_c_mm")


def typed(heights):
    return dict(zip(HEIGHTS, (f"{height:g}" for height in heights), strict=True))


def marked_as(points, sense):
    """Return the tripod whose marks lie at these places."""
    a, b, c = points
    return marks(d_ab_mm=dist(a, b), d_ac_mm=dist(a, c), d_bc_mm=dist(b, c), sense=sense)


@pytest.fixture
def tripod(bench):
    """Marks in front, right and left of view, as in the worked figures."""
    setting = locked(bench)
    return bench.state(marked_as(REMOUNT_MARKS_MM, "clockwise"), setting=setting.id)


@pytest.fixture
def disturbed(bench, tripod):
    return bench.state(Disturbed("table_moved"), setting=tripod.setting)


def remount_form(bench, **asked):
    return form_to(bench.at("remount", **asked), "/remount")


def off(bench, **given):
    return bench.client.get(f"/case/{bench.code}/remount/off", query_string=given).text


def rounds(bench):
    return [entry.body for entry in bench.entries("remounted")]


def disturbances(bench):
    return fold(bench.code, bench.entries()).disturbances


def test_heights_show_at_once_how_far_off_the_cast_is_and_what_to_lower(bench, tripod):
    text = off(bench, method="tripod", **typed(REMOUNT_HEIGHTS_MM))

    ap_deg, lat_deg, total_deg = REMOUNT_OFF_DEG
    assert f"Off by {total_deg:.2f}° in all: front {ap_deg:.2f}° down" in text
    assert f"left of view {-lat_deg:.1f}° down" in text
    assert "lower the back by 1.27°" in text
    assert "lower the right of view by" in text
    assert "(patient&#39;s right)" in text
    assert "Look again" in text


def test_the_figures_recorded_are_worked_out_on_the_bench_pc(bench, tripod):
    form = remount_form(bench)

    answer = form.send(bench.client, **typed(REMOUNT_HEIGHTS_MM), ap_deg="0", total_deg="0")

    made = rounds(bench)[0]
    assert 303 == answer.status_code
    assert REMOUNT_OFF_DEG == pytest.approx((made.ap_deg, made.lat_deg, made.total_deg), abs=1e-4)
    assert (tripod.id, REMOUNT_HEIGHTS_MM) == (made.tripod, made.heights_mm)


def test_a_round_says_its_time_of_today_and_later_its_day_too(bench, tripod, hands):
    remount_form(bench).send(bench.client, **typed(REMOUNT_HEIGHTS_MM))
    told = '<span class="small soft">{} TEC</span>'
    at = telling.local(bench.entries()[-1].at)

    today = bench.client.get(f"/case/{bench.code}/remount").text
    hands.forward(24 * 3600)
    bench.client.sit("TEC")
    tomorrow = bench.client.get(f"/case/{bench.code}/remount").text

    assert told.format(f"{at:%H:%M}") in today
    assert told.format(f"{at:%Y-%m-%d %H:%M}") in tomorrow


def test_an_equilateral_tripod_is_read_as_worked_out_elsewhere(bench):
    side_mm, heights, total_deg = REMOUNT_EQUILATERAL
    setting = locked(bench)
    sides = dict.fromkeys(("d_ab_mm", "d_ac_mm", "d_bc_mm"), side_mm)
    bench.state(marks(**sides), setting=setting.id)

    remount_form(bench).send(bench.client, **typed(heights))

    assert total_deg == pytest.approx(rounds(bench)[0].total_deg, abs=1e-4)
    assert rounds(bench)[0].passes


def test_three_degrees_off_comes_inside_the_tolerance_in_rounds(bench, disturbed):
    """The table is put right by what the page says, each time to nine tenths only."""
    front_mm = 36.0
    off_deg, verdicts = 3.0, []
    for _ in range(3):
        height = front_mm * sin(radians(off_deg))
        remount_form(bench).send(bench.client, **typed((-height, 0.0, 0.0)))
        made = rounds(bench)[-1]
        verdicts.append((round(made.ap_deg, 1), made.passes, made.settles))
        off_deg -= 0.5 * made.ap_deg

    assert [(3.0, False, ()), (1.5, False, ()), (0.8, True, (disturbed.id,))] == [
        (ap, passes, settles) for ap, passes, settles in verdicts
    ]
    assert () == disturbances(bench)


def test_outside_the_tolerance_nothing_counts_as_put_back(bench, disturbed):
    remount_form(bench).send(bench.client, **typed((0.0, 4.0, 0.0)))

    page = bench.at("remount")

    assert 1 == len(disturbances(bench))
    assert "Outside: repeat" in page.text
    assert "Never average" in page.text


def test_the_tolerance_is_the_labs(bench, disturbed):
    bench.say(
        PolicySet("remount_tolerance_deg", "2"), person="SUP", reason="an older table on loan"
    )

    remount_form(bench).send(bench.client, **typed(REMOUNT_HEIGHTS_MM))

    assert (2.0, True) == (rounds(bench)[0].tolerance_deg, rounds(bench)[0].passes)


def test_a_double_tap_records_one_round(bench, disturbed):
    form = remount_form(bench)
    form.send(bench.client, **typed((0.0, 0.0, 0.0)))
    again = form.send(bench.client, **typed((0.0, 0.0, 0.0)))

    assert 303 == again.status_code
    assert 1 == len(rounds(bench))


def test_a_missing_height_is_named_and_the_others_are_kept(bench, tripod):
    page = shown(remount_form(bench).send(bench.client, h_a_mm="1,2", h_b_mm="", h_c_mm="x"))

    kept = form_to(page, "/remount")
    assert 422 == page.status
    assert {"h_b_mm-error", "h_c_mm-error"} <= set(page.ids)
    assert ("1,2", "x") == (kept.value("h_a_mm"), kept.value("h_c_mm"))
    assert [] == rounds(bench)


def test_heights_steeper_than_the_marks_allow_are_refused(bench, tripod):
    page = shown(remount_form(bench).send(bench.client, **typed((0.0, 50.0, -50.0))))

    assert 422 == page.status
    assert "more than marks so close together can" in page.text


def test_marks_replaced_meanwhile_make_the_page_out_of_date(bench, tripod):
    form = remount_form(bench)
    bench.state(marks(), setting=tripod.setting, supersedes=(tripod.id,), reason="measured again")

    answer = form.send(bench.client, **typed((0.5, 0.0, 0.0)))

    assert 409 == answer.status_code
    assert "0.5" == form_to(shown(answer), "/remount").value("h_a_mm")
    assert [] == rounds(bench)


def test_turning_mark_a_aside_moves_the_tilt_between_the_axes_and_keeps_its_size(bench, tripod):
    straight, aside = (
        off(bench, method="tripod", a_turn_deg=turn, **typed((1.0, 0.0, 0.0)))
        for turn in ("0", "90")
    )

    assert "So: lower the front by 1.59°." in straight
    assert "So: lower the right of view by 1.59°" in aside


def test_an_inclinometer_is_read_against_the_setting(bench, disturbed):
    form = remount_form(bench, method="inclinometer")
    form.send(bench.client, ap_deg="4.5", lat_deg="-0,5", second_check="gauge_touches")

    made = rounds(bench)[0]
    assert (0.5, -0.5) == (made.ap_deg, made.lat_deg)
    assert ("inclinometer", "gauge_touches") == (made.method, made.second_check)
    assert 0.706 == pytest.approx(made.total_deg, abs=0.002)
    assert (disturbed.id,) == made.settles


def test_scored_lines_tell_both_angles_themselves(bench, tripod):
    remount_form(bench, method="scored_lines").send(bench.client, ap_deg="3", lat_deg="0")

    assert ("scored_lines", 3.0) == (rounds(bench)[0].method, rounds(bench)[0].total_deg)


def test_without_scripts_a_plain_key_shows_how_far_off_it_is(bench, tripod):
    form = remount_form(bench)
    form.action += "/look"

    page = shown(form.send(bench.client, **typed(REMOUNT_HEIGHTS_MM)))

    assert 200 == page.status
    assert "Off by 1.62° in all" in page.text
    assert [] == rounds(bench)


def test_marks_of_an_earlier_setting_settle_nothing_of_this_one(bench, tripod):
    later = moved_on(bench, bench.entries("setting_taken")[-1])
    bench.state(Disturbed("arm_moved"), setting=later.id)
    page = bench.at("remount")

    form_to(page, "/remount").send(bench.client, **typed((0.0, 0.0, 0.0)))

    assert "The marks hold this earlier setting" in page.text
    assert () == rounds(bench)[0].settles
    assert 1 == len(disturbances(bench))


def test_the_surveyors_of_the_lab_are_keys(bench, tripod):
    for tag in ("S2", "S3"):
        bench.say(InstrumentAdded(tag, "surveyor"), person="SUP")

    remount_form(bench).send(bench.client, **typed((0.0, 0.0, 0.0)), surveyor="S2")

    assert ["S2", "S3"] == remount_form(bench).choices("surveyor")
    assert "S2" == rounds(bench)[0].surveyor
    assert ["S2"] == remount_form(bench).values("surveyor")


def test_without_a_tripod_other_ways_remain(bench):
    locked(bench)

    page = bench.at("remount")

    assert 200 == page.status
    assert "No tripod is recorded" in page.text
    assert form_to(page, "/remount").value("method") == "scored_lines"


def test_a_cast_that_was_never_mounted_has_no_tilt_to_go_back_to(bench):
    received(bench)

    assert 404 == bench.at("remount").status


def test_zero_is_brought_back_like_any_setting(bench):
    received(bench)
    zero = bench.state(Mounted())
    bench.state(marks(), setting=zero.id)

    assert "setting 0 (zero): level" in bench.at("remount").text


def test_readers_see_the_record_and_record_nothing(bench, reader, tripod):
    seen = reader.get(f"/case/{bench.code}/remount")
    sent = reader.send(f"/case/{bench.code}/remount", typed((0.0, 0.0, 0.0)))

    assert 200 == seen.status_code
    assert "Record this round" not in seen.text
    assert 403 == sent.status_code


@pytest.fixture
def four(bench, tripod):
    """The worked marks with a fourth one 20 mm behind the middle of B and C."""
    a, b, c = REMOUNT_MARKS_MM
    d = ((b[0] + c[0]) / 2, (b[1] + c[1]) / 2 - 20.0)
    fourth = FourthMarkMade(tripod.id, *(round(dist(d, mark), 3) for mark in (a, b, c)))
    bench.state(fourth)
    return (a, b, c, d)


def four_heights(marks_mm, ap_deg, lat_deg, *, misread=0.0):
    """Heights of a lowered front and right of view: lower in front means less high there."""
    front, right = sin(radians(ap_deg)), sin(radians(lat_deg))
    heights = [-front * y - right * x for x, y in marks_mm]
    heights[0] += misread
    return dict(zip((*HEIGHTS, "h_d_mm"), (f"{one:.3f}" for one in heights), strict=True))


def plainly(text):
    return text.replace("\u00a0", " ").replace("&#39;", "'")


def test_with_a_fourth_mark_four_heights_are_asked_for(bench, four):
    form = remount_form(bench)

    assert [*HEIGHTS, "h_d_mm"] == [name for name, _ in form.fields if name.startswith("h_")]


def test_four_heights_of_one_plane_fit_and_tell_the_tilt(bench, four):
    text = plainly(off(bench, method="tripod", **four_heights(four, 1.5, -0.5)))

    assert "Off by 1.58° in all: front 1.5° down, left of view 0.5° down" in text
    assert "fit one plane within 0.00 mm" in text


def test_a_misread_mark_is_told_by_the_residual(bench, four):
    text = plainly(off(bench, method="tripod", **four_heights(four, 1.5, -0.5, misread=2.0)))

    assert "a mark was misread or rubbed off" in text


def test_three_heights_say_that_they_cannot_show_a_misread_mark(bench, tripod):
    text = off(bench, method="tripod", **typed(REMOUNT_HEIGHTS_MM))

    assert "Three heights always fit one plane" in text


def test_a_round_of_four_marks_is_recorded_with_its_four_heights(bench, four):
    heights = four_heights(four, 0.4, 0.0)

    remount_form(bench).send(bench.client, **heights, second_check="line_matches", surveyor="S1")

    (made,) = rounds(bench)
    assert 4 == len(made.heights_mm)
    assert (made.passes, made.second_check, made.surveyor) == (True, "line_matches", "S1")
    assert "fit one plane" in bench.at("remount").text


def test_a_second_form_of_the_fourth_mark_that_fits_nowhere_is_refused_beside_its_field(
    bench, tripod
):
    form = bench.at("tripod").form("fourth_mark_made")

    answer = form.send(bench.client, d_ad_mm="20", d_bd_mm="20", d_cd_mm="90")

    page = shown(answer)
    assert 422 == page.status
    assert 'id="d_cd_mm-error"' in page.text
    assert [] == bench.entries("fourth_mark_made")


def test_the_fourth_mark_is_recorded_at_the_tripod(bench, tripod):
    a, b, c = REMOUNT_MARKS_MM
    sides = {
        f"d_{n}d_mm": f"{dist((0, -30), m):.2f}" for n, m in zip("abc", (a, b, c), strict=True)
    }

    bench.at("tripod").form("fourth_mark_made").send(bench.client, **sides)

    assert tripod.id == bench.entries("fourth_mark_made")[0].body.tripod
    assert "Fourth mark D" in bench.at("tripod").text


def test_what_a_screw_does_is_said_beside_the_edge_to_lower(bench, tripod):
    bench.say(InstrumentAdded("T1", "table", None, 0.5, True), person="SUP")
    bench.client.post(
        "/tables/T1",
        data={"csrf_token": bench.client.token(), "lowers_back": "hind screw, to the right"},
    )

    text = off(bench, method="tripod", **typed(REMOUNT_HEIGHTS_MM))

    # The worked cast is too low in front, so its back is to be lowered.
    assert "lower the back by 1.27°" in plainly(text)
    assert "hind screw, to the right" in text


def test_a_table_is_described_anew_and_the_newest_words_count(bench, tripod):
    bench.say(InstrumentAdded("T1", "table", None, 0.5, True), person="SUP")
    for words in ("first", "second"):
        bench.client.post(
            "/tables/T1", data={"csrf_token": bench.client.token(), "lowers_back": words}
        )

    assert "second" in bench.client.get("/tables/T1").text
    assert "back: second" in off(bench, method="tripod", **typed(REMOUNT_HEIGHTS_MM))


def test_only_a_table_has_screws_to_be_described(bench, tripod):
    bench.say(InstrumentAdded("G25", "gauge", 0.25), person="SUP")

    assert 404 == bench.client.get("/tables/G25").status_code


# By hand: 0.1 degree steps at both readings: 0.1·√(2/12) = 0.0408, times 2.4477 is 0.10 degrees.
def test_each_way_says_how_finely_it_tells_the_tilt(bench, tripod):
    by_inclinometer = plainly(bench.at("remount", method="inclinometer").text)
    by_lines = plainly(bench.at("remount", method="scored_lines").text)

    assert (
        "within 0.10° in all, 95 times of 100: both readings to the nearest 0.1°" in by_inclinometer
    )
    assert "within 2.64° in all" in by_lines
    assert "check by a second means" in by_lines
