from __future__ import annotations

import math

from bench.core.entries import CaseOpened, GuidePlaneRead, TeethRecorded
from bench.web.speech import say
from tests.web.sentforms import shown
from tests.web.surveyedcases import mounted, opened, tilted


def words(bench, key, **params):
    with bench.app.test_request_context():
        return say(key, **params)


def readings(bench):
    return [entry.body for entry in bench.entries("guide_plane_read")]


def test_before_the_mounting_the_step_leads_to_it(bench):
    opened(bench)

    assert not bench.at("guide_planes").has("guide_plane_read")


def test_the_first_surface_facing_a_space_is_ready(bench):
    mounted(bench)

    form = bench.at("guide_planes").form("guide_plane_read")

    assert (form.value("tooth"), form.value("surface")) == ("35", "D")


def test_no_light_takes_two_taps_and_the_next_surface_is_chosen(bench):
    zero = mounted(bench)

    answer = bench.at("guide_planes").form("guide_plane_read").send(bench.client, light="none")

    entry = bench.entries("guide_plane_read")[0]
    after = shown(bench.client.get(answer.location)).form("guide_plane_read")
    assert (entry.body, entry.setting) == (GuidePlaneRead(35, "D", "none"), zero.id)
    assert (after.value("tooth"), after.value("surface")) == ("37", "M")


def test_width_and_height_of_the_light_take_off_and_run_are_kept(bench):
    mounted(bench)

    bench.at("guide_planes").form("guide_plane_read").send(
        bench.client,
        light="gingival",
        gap_mm="0,3",
        height_mm="4",
        take_off_mm="0.3",
        run_mm="3",
    )

    assert readings(bench) == [GuidePlaneRead(35, "D", "gingival", 0.3, 4.0, 0.3, 3.0)]


def test_the_angle_of_the_triangle_of_light_is_shown_while_it_is_tried(bench):
    mounted(bench)

    page = bench.at("guide_planes", gap_mm="0.3", height_mm="4", light="gingival")

    # Plane trigonometry: the angle of a right triangle is atan(opposite / adjacent).
    degrees = round(math.degrees(math.atan(0.3 / 4)), 1)
    assert words(bench, "steppages.plane.angle", angle=f"{degrees}°") in page.text


def test_a_width_without_light_is_refused_and_kept(bench):
    mounted(bench)

    form = bench.at("guide_planes").form("guide_plane_read")
    page = shown(form.send(bench.client, light="none", gap_mm="0.3", height_mm="4"))

    again = page.form("guide_plane_read")
    assert page.status == 422
    assert 'id="gap_mm-error"' in page.text
    assert (again.value("light"), again.value("gap_mm"), again.value("height_mm")) == (
        "none",
        "0.3",
        "4",
    )


def test_a_width_without_its_height_is_refused_beside_the_height(bench):
    mounted(bench)

    form = bench.at("guide_planes").form("guide_plane_read")
    page = shown(form.send(bench.client, light="gingival", gap_mm="0.3"))

    assert page.status == 422
    assert 'id="height_mm-error"' in page.text


def test_without_saying_where_the_light_shows_nothing_is_recorded(bench):
    mounted(bench)

    page = shown(bench.at("guide_planes").form("guide_plane_read").send(bench.client))

    assert page.status == 422
    assert 'id="light-error"' in page.text
    assert readings(bench) == []


def test_the_surface_across_the_space_is_told_beside(bench):
    zero = mounted(bench)
    bench.state(GuidePlaneRead(37, "M", "occlusal", 0.2, 4.0), setting=zero.id)

    page = bench.at("guide_planes", tooth=35, surface="D")

    found = "2.9°, " + words(bench, "choices.light.occlusal")
    assert words(bench, "steppages.plane.facing", site="37 M", found=found) in page.text


def test_a_free_end_has_no_surface_across(bench):
    bench.state(CaseOpened(bench.code, "26-0042", "lower", "master"))
    bench.state(TeethRecorded(missing=(36, 37, 38), replaced=(36, 37)))
    bench.at("mount").form("mounted").send(bench.client)

    page = bench.at("guide_planes")

    assert page.form("guide_plane_read").value("tooth") == "35"
    assert words(bench, "steppages.plane.facing", site="", found="")[:10] not in page.text


def test_read_again_takes_the_place_of_what_the_page_saw(bench):
    zero = mounted(bench)
    first = bench.state(GuidePlaneRead(35, "D", "none"), setting=zero.id)

    form = bench.at("guide_planes", tooth=35, surface="D").form("guide_plane_read")
    form.send(bench.client, light="gingival")

    entry = bench.entries("guide_plane_read")[-1]
    assert entry.supersedes == (first.id,)
    assert entry.reason == words(bench, "steppages.why.read_again")


def test_a_stale_reading_is_confirmed_by_one_tap_and_the_next_surface_chosen(bench):
    zero = mounted(bench)
    stale = bench.state(GuidePlaneRead(35, "D", "none"), setting=zero.id)
    now = tilted(bench, zero)

    page = bench.at("guide_planes", tooth=35, surface="D")
    confirm = next(form for form in page.forms if form.action.endswith("/record/confirmed"))
    after = shown(bench.client.get(confirm.send(bench.client).location))

    said = bench.entries("confirmed")[0]
    assert (said.body.finding, said.setting) == (stale.id, now.id)
    assert after.form("guide_plane_read").value("tooth") == "37"


def test_a_page_from_before_another_setting_is_out_of_date_and_keeps_what_was_typed(bench):
    zero = mounted(bench)
    form = bench.at("guide_planes").form("guide_plane_read")
    tilted(bench, zero)

    page = shown(form.send(bench.client, light="gingival", gap_mm="0.4", height_mm="5"))

    again = page.form("guide_plane_read")
    assert page.status == 409
    assert (again.value("light"), again.value("gap_mm")) == ("gingival", "0.4")
    assert again.value("setting") == bench.entries("setting_taken")[0].id


def test_a_reading_of_somebody_else_meanwhile_is_not_overwritten(bench):
    zero = mounted(bench)
    form = bench.at("guide_planes", tooth=35, surface="D").form("guide_plane_read")
    bench.state(GuidePlaneRead(35, "D", "occlusal"), setting=zero.id, person="SUP")

    assert form.send(bench.client, light="none").status_code == 409
    assert readings(bench) == [GuidePlaneRead(35, "D", "occlusal")]


def test_a_double_tap_records_once(bench):
    mounted(bench)
    form = bench.at("guide_planes").form("guide_plane_read")

    answers = [form.send(bench.client, light="none") for _ in range(2)]

    assert [303, 303] == [answer.status_code for answer in answers]
    assert len(readings(bench)) == 1


def test_a_missing_tooth_offers_no_form_of_its_own(bench):
    mounted(bench)

    form = bench.at("guide_planes", tooth=36, surface="M").form("guide_plane_read")

    assert form.value("tooth") == "35"


def test_a_tooth_of_the_other_arch_sent_all_the_same_is_refused(bench):
    mounted(bench)
    form = bench.at("guide_planes").form("guide_plane_read")

    page = shown(form.send(bench.client, light="none", tooth="16"))

    assert page.status == 422
    assert words(bench, "errors.entry.other_arch", value="16", arch="lower", field="") in page.text


def test_a_surface_that_faces_no_space_can_be_read_too(bench):
    mounted(bench)

    form = bench.at("guide_planes", tooth=44, surface="L").form("guide_plane_read")
    form.send(bench.client, light="none")

    assert readings(bench) == [GuidePlaneRead(44, "L", "none")]


def test_what_was_measured_is_emptied_once_no_light_is_chosen(bench):
    mounted(bench)

    page = bench.at("guide_planes", gap_mm="0.3", height_mm="2", light="none")

    form = page.form("guide_plane_read")
    assert ("", "") == (form.value("gap_mm"), form.value("height_mm"))
