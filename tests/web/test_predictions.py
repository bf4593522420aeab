from __future__ import annotations

import re

import pytest

from bench.core.entries import Mounted, SettingTaken, UndercutRead, Withdrawn
from bench.core.ids import case_code
from bench.words import Words
from bench.words.reader import Reader
from tests.web.surveyedcases import OnBench, with_teeth

READER = Reader(Words("en"))


def plain(answer) -> str:
    return answer.text.replace("\u00a0", " ").replace("&#39;", "'")


def read_again(bench: OnBench, contact: str = "both", gauge_mm: float = 0.25, drop_mm=2.0):
    """37 ML touches at zero with 0.25 mm, 2.0 mm below the line; the cast is tilted; it is read again."""
    with_teeth(bench)
    zero = bench.state(Mounted())
    bench.state(UndercutRead(37, "ML", 0.25, "both", drop_mm, "G25"), setting=zero.id)
    there = bench.state(SettingTaken(2.0, 0.0, "I1", 0.1), setting=zero.id)
    return bench.state(UndercutRead(37, "ML", gauge_mm, contact, 2.0, "G25"), setting=there.id)


def another(bench: OnBench, number: int) -> OnBench:
    return OnBench(bench.app, bench.client, case_code(20_260_400 + number), bench.say)


def page(client) -> str:
    return plain(client.get("/predictions"))


def test_without_a_second_reading_it_says_what_makes_a_comparison(supervisor, app):
    assert READER.say("predictions.none") in page(supervisor)


@pytest.mark.parametrize("who", ["technician", "reader"])
def test_only_a_supervisor_sees_the_predictions_of_all_cases(request, who):
    assert 403 == request.getfixturevalue(who).get("/predictions").status_code


def test_a_supervisors_signpost_leads_there(supervisor, technician):
    assert 'href="/predictions"' in supervisor.get("/audit").text
    assert 'href="/predictions"' not in technician.get("/drills").text


def test_too_few_readings_give_no_bias_and_say_how_many_are_wanting(bench, supervisor):
    read_again(bench)

    shown = page(supervisor)

    assert READER.say("predictions.short", have=1, missing=4) in shown
    assert READER.say("predictions.bias") not in re.sub(r'<p class="soft">.*?</p>', "", shown)


def test_five_readings_give_bias_and_spread(bench, supervisor):
    for number in range(5):
        read_again(another(bench, number), gauge_mm=0.25)

    shown = page(supervisor)

    # All five tilts are alike, so the spread is nothing.
    assert READER.say("predictions.spread") in shown
    assert "0.00 mm" in shown
    assert re.search(r"0\.\d\d mm too (deep|shallow)", shown)


def test_each_comparison_leads_to_its_reading(bench, supervisor):
    read_again(bench)

    shown = page(supervisor)

    assert f"/case/{bench.code}/undercuts?tooth=37&amp;surface=ML" in shown
    assert "0.25 mm touches" in shown
    assert "26-0042" in shown


@pytest.mark.parametrize(
    ("contact", "said"), [("lip_short", "more than 0.25 mm"), ("lip_first", "less than 0.25 mm")]
)
def test_a_gauge_that_does_not_touch_tells_a_side_only(bench, supervisor, contact, said):
    read_again(bench, contact)

    shown = page(supervisor)

    assert said in shown
    assert "had the depth on the side that was expected" in shown


def test_a_new_reading_is_counted_at_the_next_look(bench, supervisor):
    first = read_again(bench)
    before = page(supervisor)
    further = bench.state(SettingTaken(5.0, 0.0, "I1", 0.1), setting=first.setting)
    bench.state(UndercutRead(37, "ML", 0.25, "both", 2.0, "G25"), setting=further.id)

    after = page(supervisor)

    assert "The one so far" in before
    assert "All 2," in after


def test_a_reading_taken_back_counts_no_more(bench, supervisor):
    again = read_again(bench)
    page(supervisor)
    bench.state(Withdrawn(again.id), reason="misread")

    assert READER.say("predictions.none") in page(supervisor)


def test_before_the_gauge_is_brought_the_undercut_page_says_what_is_expected(bench):
    again = read_again(bench)
    bench.state(SettingTaken(4.0, 0.0, "I1", 0.1), setting=again.setting)

    shown = plain(bench.client.get(f"/case/{bench.code}/undercuts?tooth=37&surface=ML"))

    assert re.search(r"Expected here: 0\.\d\d mm\. Estimate, confirm with the gauge\.", shown)


def test_a_guessed_drop_is_said_before_the_gauge_is_brought(bench):
    with_teeth(bench)
    zero = bench.state(Mounted())
    bench.state(UndercutRead(37, "ML", 0.25, "both", None, "G25"), setting=zero.id)
    bench.state(SettingTaken(2.0, 0.0, "I1", 0.1), setting=zero.id)

    shown = plain(bench.client.get(f"/case/{bench.code}/undercuts?tooth=37&surface=ML"))

    assert "a guess, as no drop was read" in shown


def test_once_read_again_expected_and_read_stand_side_by_side(bench):
    read_again(bench)

    shown = plain(bench.client.get(f"/case/{bench.code}/undercuts?tooth=37&surface=ML"))

    assert re.search(r"Expected 0\.\d\d mm, estimate; read: 0\.25 mm touches\.", shown)


def test_at_the_setting_of_its_first_reading_nothing_is_expected(bench):
    with_teeth(bench)
    zero = bench.state(Mounted())
    bench.state(UndercutRead(37, "ML", 0.25, "both", 2.0, "G25"), setting=zero.id)

    shown = plain(bench.client.get(f"/case/{bench.code}/undercuts?tooth=37&surface=ML"))

    assert "Expected" not in shown


def test_who_read_stands_beside_a_prediction_only_after_a_logged_look(bench, supervisor):
    read_again(bench)

    before = supervisor.get("/predictions").text
    answer = supervisor.send("/audit/look", {"page": "predictions"})
    after = supervisor.get("/predictions").text

    assert (303, "/predictions") == (answer.status_code, answer.location)
    assert ("<span>TEC " in before, "<span>TEC " in after) == (False, True)
