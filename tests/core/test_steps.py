"""How far each of the ten steps has come at the present setting."""

from __future__ import annotations

import pytest

from bench.core.entries import (
    CastReceived,
    GuidePlaneRead,
    InterferenceNoted,
    SurveyLinesDrawn,
    Withdrawn,
)
from bench.core.steps import STEPS, Step, next_step, steps_of
from tests.core.bench_story import (
    Story,
    a_ready_cast,
    a_received_cast,
    a_tilted_cast,
    an_undercut,
)


def steps(story: Story) -> dict[str, Step]:
    return {step.key: step for step in steps_of(story.survey, story.verdict)}


def progress(story: Story) -> dict[str, str]:
    return {key: step.progress for key, step in steps(story).items()}


def test_the_steps_come_in_the_order_of_the_bench() -> None:
    assert tuple(steps(a_ready_cast())) == STEPS


def test_a_received_cast_is_next_mounted() -> None:
    story = a_received_cast()

    assert progress(story)["receive"] == "done"
    assert set(progress(story).values()) == {"done", "todo"}
    assert next_step(steps(story).values()) == "mount"


def test_a_step_half_done_says_so() -> None:
    story = a_tilted_cast()
    story.say(GuidePlaneRead(45, "D", "none"))

    step = steps(story)["guide_planes"]

    assert Step("guide_planes", "part", 1, 2, True) == step
    assert next_step(steps(story).values()) == "guide_planes"


def test_receiving_wants_the_cast_looked_over() -> None:
    story = a_received_cast()

    story.say(Withdrawn(story.last(CastReceived).id), reason="other cast")

    assert Step("receive", "part", 3, 4, False) == steps(story)["receive"]


def test_a_ready_cast_has_only_its_release_to_do() -> None:
    story = a_ready_cast()

    found = progress(story)

    assert found.pop("release") == "todo"
    assert set(found.values()) == {"done"}
    assert next_step(steps(story).values()) == "release"


def test_a_new_setting_makes_every_step_with_findings_stale() -> None:
    story = a_ready_cast()

    story.tilt(3.0, 2.0)

    stale = {key for key, found in progress(story).items() if found == "stale"}
    assert stale == set(STEPS) - {"receive", "mount", "tilt", "release"}


def test_a_setting_not_yet_final_is_half_a_tilt() -> None:
    story = a_ready_cast()

    story.tilt(3.0, 2.0, final=False)

    assert Step("tilt", "part", 1, 2, True) == steps(story)["tilt"]


def test_something_noted_anew_leaves_the_interferences_done() -> None:
    story = a_ready_cast()
    story.tilt(3.0, 2.0)

    story.say(InterferenceNoted("right_lingual", "torus"))

    assert progress(story)["interferences"] == "done"


@pytest.mark.parametrize("lead", [True, False])
def test_a_step_with_all_records_is_done_unless_a_rule_of_it_blocks(lead: bool) -> None:
    story = a_ready_cast()

    story.correct(story.last(SurveyLinesDrawn), lead_at_gingival=lead)

    step = steps(story)["survey_lines"]
    assert (step.done, step.wanted, step.blocks) == (12, 12, not lead)
    assert step.progress == ("done" if lead else "part")


def test_release_is_done_when_released_and_stale_when_recalled() -> None:
    story = a_ready_cast()
    story.release()
    released = steps(story)["release"]

    story.say(an_undercut(44, "B"))

    assert Step("release", "done", 1, 1, False) == released
    assert Step("release", "stale", 0, 1, False) == steps(story)["release"]
