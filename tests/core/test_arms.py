from __future__ import annotations

import pytest

from bench.core.arms import arms_beside, arms_unmeasured
from bench.core.entries import TipChosen
from tests.core.bench_story import a_ready_cast, a_tip


def with_arms(right_mm, left_mm, left_material="wrought_wire"):
    story = a_ready_cast("I")
    for tooth, arm_mm, material in (
        (45, right_mm, "wrought_wire"),
        (35, left_mm, left_material),
    ):
        tip = story.of(tooth, TipChosen)
        story.correct(tip, arm_mm=arm_mm, material=material)
    return story.survey


# Theory of elastic beams, a cantilever: the push goes with 1 / length³, so (12 / 9)³ = 2.370.
def test_a_shorter_arm_in_the_same_depth_pushes_by_the_cube_of_the_lengths():
    told = {one.code: one.params for one in arms_beside(with_arms(12.0, 9.0))}

    assert ("35MB", "45MB") == (told["pushes_more"]["arm"], told["pushes_more"]["beside"])
    assert told["pushes_more"]["times"] == pytest.approx((12 / 9) ** 3)
    assert told["pushes_more"]["length_mm"] == pytest.approx(12.0)


def test_arms_alike_are_said_to_push_alike():
    assert ["pushes_alike"] == [one.code for one in arms_beside(with_arms(12.0, 12.0))]


def test_arms_of_different_materials_are_not_compared():
    assert () == arms_beside(with_arms(12.0, 6.0, "co_cr"))


def test_an_arm_without_its_length_is_named_and_not_compared():
    survey = with_arms(12.0, None)

    assert () == arms_beside(survey)
    assert ("35MB",) == arms_unmeasured(survey)


def test_a_tip_that_does_not_count_is_not_compared():
    story = a_ready_cast("I")
    story.tilt(5.0, 0.0)
    story.say(a_tip(45, "MB", arm_mm=4.0))

    assert () == arms_beside(story.survey)
