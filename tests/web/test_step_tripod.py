from __future__ import annotations

import io
import re

import pytest
from PIL import Image

from bench.core.entries import Disturbed, InstrumentAdded, InstrumentChecked, TripodMarked
from tests.facts.tripod_figures import EQUILATERAL, FLAT
from tests.web.latercases import form_to, locked, marks, moved_on
from tests.web.sentforms import shown

DISTANCES = {"d_ab_mm": "40", "d_ac_mm": "40", "d_bc_mm": "40,0"}
DECLARED = {"one_tip_height": "on", "arm_locked": "on", "table_locked": "on", "ringed": "on"}
MARKED = {**DISTANCES, **DECLARED, "sense": "clockwise"}


def shape(bench, **typed):
    return bench.client.get(f"/case/{bench.code}/tripod/shape", query_string=typed)


def a_photo(shade=120):
    """Return the bytes of a small picture."""
    kept = io.BytesIO()
    Image.new("RGB", (640, 480), (shade, 110, 100)).save(kept, "JPEG")
    return kept.getvalue()


def test_marks_are_recorded_with_what_was_declared(bench):
    locked(bench)
    form = bench.at("tripod").form("tripod_marked")

    answer = form.send(bench.client, **MARKED, tip_height_mm="21.5")

    assert 303 == answer.status_code
    assert [TripodMarked(40, 40, 40, "clockwise", True, True, True, True, 21.5)] == [
        e.body for e in bench.entries("tripod_marked")
    ]


def test_a_double_tap_marks_once(bench):
    locked(bench)
    form = bench.at("tripod").form("tripod_marked")
    form.send(bench.client, **MARKED)
    form.send(bench.client, **MARKED)

    assert 1 == len(bench.entries("tripod_marked"))


def test_typed_distances_show_the_triangle_and_how_finely_it_holds(bench):
    locked(bench)
    side_mm, reading_sd_mm, sd_deg, total_deg = EQUILATERAL[1]
    side = f"{side_mm:g}"

    text = shape(bench, d_ab_mm=side, d_ac_mm=side, d_bc_mm=side, sense="clockwise").text

    assert 0.2 == reading_sd_mm
    assert "<svg" in text
    assert f"These marks hold only {sd_deg:.2f}°" in text
    within = re.search(r"within ([0-9.]+)° in all", text)
    assert within is not None
    assert total_deg == pytest.approx(float(within[1]), abs=0.007)


def test_a_flat_triangle_names_its_weak_way_and_what_would_mend_it(bench):
    locked(bench)
    (d_ab_mm, d_ac_mm, d_bc_mm), _, weak_deg = FLAT

    text = shape(bench, d_ab_mm=d_ab_mm, d_ac_mm=d_ac_mm, d_bc_mm=d_bc_mm, sense="clockwise").text

    assert f"rocking about the line from A to B: SD {weak_deg:.2f}°" in text
    assert "With mark C moved" in text


def test_a_triangle_inside_the_limit_of_the_lab_says_so(bench):
    locked(bench)

    text = shape(bench, **DISTANCES, sense="clockwise").text

    assert "These marks hold 0.41°. The lab asks for 0.5°." in text


@pytest.mark.parametrize(
    ("sides", "words"),
    [(("20", "20", "60"), "make no triangle"), (("40", "20", "20.3"), "almost in one line")],
)
def test_marks_that_hold_nothing_are_refused_in_words_while_typed(bench, sides, words):
    locked(bench)

    text = shape(bench, d_ab_mm=sides[0], d_ac_mm=sides[1], d_bc_mm=sides[2]).text

    assert words in text
    assert "easure all three again" in text or "measure again" in text


def test_an_impossible_triangle_is_not_recorded_and_all_typed_is_kept(bench):
    locked(bench)
    form = bench.at("tripod").form("tripod_marked")

    page = shown(form.send(bench.client, **{**MARKED, "d_bc_mm": "95", "remark": "chipped"}))

    kept = page.form("tripod_marked")
    assert 422 == page.status
    assert "d_bc_mm-error" in page.ids
    assert ("40", "95", "clockwise", "on", "chipped") == tuple(
        kept.value(name) for name in ("d_ab_mm", "d_bc_mm", "sense", "ringed", "remark")
    )
    assert [] == bench.entries("tripod_marked")


def test_the_way_round_must_be_said(bench):
    locked(bench)
    form = bench.at("tripod").form("tripod_marked")

    page = shown(form.send(bench.client, **DISTANCES, **DECLARED))

    assert 422 == page.status
    assert "sense-error" in page.ids


def test_without_scripts_a_plain_key_shows_the_triangle_and_records_nothing(bench):
    locked(bench)
    form = bench.at("tripod").form("tripod_marked")
    form.action = f"/case/{bench.code}/tripod/look"

    page = shown(form.send(bench.client, **DISTANCES, sense="anticlockwise"))

    assert 200 == page.status
    assert 'class="triangle"' in page.text
    assert "40" == page.form("tripod_marked").value("d_ab_mm")
    assert [] == bench.entries("tripod_marked")


def test_what_was_not_declared_is_named_beside_the_marks(bench):
    setting = locked(bench)
    bench.state(marks(ringed=False), setting=setting.id)

    assert "Not said: marks ringed" in bench.at("tripod").text


def test_marks_are_measured_anew_with_a_reason(bench):
    setting = locked(bench)
    first = bench.state(marks(), setting=setting.id)
    form = bench.at("tripod", again=1).form("tripod_marked")
    refused = form.send(bench.client, **MARKED)

    answer = form.send(bench.client, **{**MARKED, "d_ab_mm": "41"}, reason="It was entered wrong")

    assert 422 == refused.status_code
    assert 303 == answer.status_code
    assert (first.id,) == bench.entries("tripod_marked")[-1].supersedes


def test_a_page_of_an_earlier_setting_keeps_the_distances(bench):
    setting = locked(bench)
    form = bench.at("tripod").form("tripod_marked")
    moved_on(bench, setting)

    answer = form.send(bench.client, **MARKED)

    assert 409 == answer.status_code
    assert "40" == shown(answer).form("tripod_marked").value("d_ac_mm")


def test_marks_of_an_earlier_setting_are_called_stale_and_marked_anew(bench):
    setting = locked(bench)
    bench.state(marks(), setting=setting.id)
    moved_on(bench, setting)

    page = bench.at("tripod")

    assert "These marks hold setting 1" in page.text
    assert page.has("tripod_marked")


def test_a_photo_is_tied_to_the_marks_and_a_retake_adds_another(bench):
    setting = locked(bench)
    tripod = bench.state(marks(), setting=setting.id)
    for shade in (90, 140):
        form = form_to(bench.at("tripod"), "/photo")
        answer = form.send(bench.client, photo=[(io.BytesIO(a_photo(shade)), "marks.jpg")])
        assert 303 == answer.status_code

    page = bench.at("tripod")

    assert [tripod.id, tripod.id] == [e.body.about for e in bench.entries("photo_kept")]
    assert 2 == page.text.count("/thumb")
    assert 'capture="environment"' in page.text


def test_after_a_disturbance_the_page_shows_the_way_out(bench):
    setting = locked(bench)
    bench.state(marks(), setting=setting.id)
    bench.state(Disturbed("table_moved"), setting=setting.id)

    page = bench.at("tripod")

    assert "The way out" in page.text
    assert f"/case/{bench.code}/remount" in page.links


def test_a_disturbance_without_a_tripod_has_no_way_back(bench):
    setting = locked(bench)
    bench.state(Disturbed("arm_moved"), setting=setting.id)

    assert "No tripod was marked before" in bench.at("tripod").text


def test_the_caliper_used_last_is_chosen_and_named_by_the_entry(bench):
    for tag in ("C1", "C2"):
        bench.say(InstrumentAdded(tag, "caliper"), person="SUP")
    locked(bench)
    form = bench.at("tripod").form("tripod_marked")

    form.send(bench.client, **MARKED, caliper="C2")

    assert (["C1", "C2"], []) == (form.choices("caliper"), form.values("caliper"))
    assert ["C2"] == [entry.body.caliper for entry in bench.entries("tripod_marked")]
    assert ["C2"] == bench.at("tripod").form("fourth_mark_made").values("caliper")


def test_the_only_caliper_of_the_lab_is_named_without_a_question(bench):
    bench.say(InstrumentAdded("C1", "caliper"), person="SUP")
    locked(bench)

    bench.at("tripod").form("tripod_marked").send(bench.client, **MARKED)

    assert ["C1"] == [entry.body.caliper for entry in bench.entries("tripod_marked")]
    assert "caliper C1" in bench.client.get(f"/case/{bench.code}/trail").text


def test_a_caliper_whose_check_failed_says_so_on_its_key(bench):
    for tag in ("C1", "C2"):
        bench.say(InstrumentAdded(tag, "caliper"), person="SUP")
    bench.say(InstrumentChecked("C2", False), person="SUP")
    locked(bench)

    assert ">C2<small>check failed</small>" in bench.at("tripod").text
