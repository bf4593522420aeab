"""The fulcrum line of every class, and on which side of it a tip lies.

Which rests the line runs through: removable prosthodontics textbooks (common teaching). Distances
here follow from the arch model alone.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.arch import WrongArch, arch_model
from bench.core.kennedy import classify
from bench.core.lines import FulcrumLine, Line, fulcrum_line, signed_distance_mm
from bench.core.retention import Tip
from bench.core.surfaces import SURFACES, Surface
from bench.core.teeth import mirrored

LOWER = arch_model("lower")
CLASS_I = classify("lower", [47, 46, 45, 35, 36, 37])
CLASS_II = classify("lower", [47, 46])
CLASS_IV = classify("lower", [42, 41, 31, 32])


def the_line(found: FulcrumLine) -> Line:
    assert found.line is not None
    return found.line


def test_class_one_runs_through_the_most_distal_rests_of_both_sides() -> None:
    found = fulcrum_line(LOWER, CLASS_I, [44, 43, 33, 34])

    assert found.reason == "most_distal_rests"
    assert (the_line(found).right_tooth, the_line(found).left_tooth) == (44, 34)


def test_class_two_runs_diagonally_to_the_most_posterior_rest_across() -> None:
    found = fulcrum_line(LOWER, CLASS_II, [45, 43, 34, 37])

    assert found.reason == "diagonal"
    assert (the_line(found).right_tooth, the_line(found).left_tooth) == (45, 37)


def test_class_four_runs_through_the_rests_nearest_the_space() -> None:
    found = fulcrum_line(LOWER, CLASS_IV, [43, 46, 33, 36])

    assert found.reason == "mesial_rests_of_the_space"
    assert (the_line(found).right_tooth, the_line(found).left_tooth) == (43, 33)


@pytest.mark.parametrize("missing", [[46], [], [*range(31, 39), *range(41, 49)]])
def test_classes_without_a_sinking_base_have_no_line(missing: list[int]) -> None:
    found = fulcrum_line(LOWER, classify("lower", missing), [45, 35])

    assert FulcrumLine(None, "class_has_no_line") == found


def test_a_side_without_a_rest_is_named() -> None:
    assert fulcrum_line(LOWER, CLASS_I, [34]).reason == "no_rest_on_right"
    assert fulcrum_line(LOWER, CLASS_I, [44]).reason == "no_rest_on_left"


def test_a_rest_on_a_missing_tooth_is_passed_over() -> None:
    found = fulcrum_line(LOWER, CLASS_I, [46, 44, 34])

    assert the_line(found).right_tooth == 44


def test_an_extension_past_the_midline_hangs_on_the_tooth_next_to_it() -> None:
    upper = arch_model("upper")
    one_side_left = classify("upper", [18, 13, 12, 11, *range(21, 29)])

    found = fulcrum_line(upper, one_side_left, [14, 17])

    assert (the_line(found).right_tooth, the_line(found).left_tooth) == (17, 14)
    assert fulcrum_line(upper, one_side_left, [14]).reason == "one_rest_only"


def test_tips_in_front_of_a_class_one_line_are_away_from_the_base() -> None:
    line = the_line(fulcrum_line(LOWER, CLASS_I, [44, 34]))

    assert signed_distance_mm(LOWER, line, Tip(43, "B")) > 0
    assert signed_distance_mm(LOWER, line, Tip(44, "DB")) < 0


def test_tips_behind_a_class_four_line_are_away_from_the_base() -> None:
    line = the_line(fulcrum_line(LOWER, CLASS_IV, [43, 33]))

    assert signed_distance_mm(LOWER, line, Tip(36, "MB")) > 15
    assert signed_distance_mm(LOWER, line, Tip(33, "MB")) < 0


def test_a_level_line_measures_along_the_arch() -> None:
    line = the_line(fulcrum_line(LOWER, CLASS_I, [44, 34]))
    tip_mm = LOWER.point_mm(Tip(43, "B"))  # type: ignore[arg-type]

    distance_mm = signed_distance_mm(LOWER, line, Tip(43, "B"))

    assert pytest.approx(tip_mm[1] - LOWER.place(44).y_mm) == distance_mm


@given(st.sampled_from([45, 44, 43, 33, 34, 35, 36, 37]), st.sampled_from(SURFACES))
def test_the_mirror_image_keeps_signed_distances(tooth: int, surface: Surface) -> None:
    here = the_line(fulcrum_line(LOWER, CLASS_II, [45, 37]))
    there = the_line(fulcrum_line(LOWER, classify("lower", [36, 37]), [35, 47]))

    distance_mm = signed_distance_mm(LOWER, there, Tip(mirrored(tooth), surface))

    assert pytest.approx(signed_distance_mm(LOWER, here, Tip(tooth, surface))) == distance_mm


def test_a_rest_on_the_other_arch_is_refused() -> None:
    with pytest.raises(WrongArch):
        fulcrum_line(LOWER, CLASS_I, [14])
