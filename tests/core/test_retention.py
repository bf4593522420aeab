"""Balanced retention: the taught rule, and the sum of the pushes that goes with it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.arch import WrongArch, arch_model
from bench.core.retention import Tip, judge_balance, resultant
from bench.core.surfaces import SURFACES, Surface, letter_of
from bench.core.teeth import mirrored, teeth_of
from tests.facts.retention_cells import CELLS, SHARES_LEFT

UPPER = arch_model("upper")
letter_tips = st.builds(Tip, st.sampled_from(teeth_of("upper")), st.sampled_from(("B", "L")))
any_tips = st.builds(Tip, st.sampled_from(teeth_of("upper")), st.sampled_from(SURFACES))


def tips_of(right: tuple[str, ...], left: tuple[str, ...]) -> list[Tip]:
    sides = ((10, right), (20, left))
    return [Tip(side + int(t[0]), t[1:]) for side, tips in sides for t in tips]  # type: ignore[arg-type]


@pytest.mark.parametrize(("right", "left", "balanced"), CELLS)
def test_the_sixteen_cells_balance_as_taught(right: str, left: str, balanced: bool) -> None:
    tips = tips_of(tuple(f"4{letter}" for letter in right), tuple(f"5{x}" for x in left))

    result = judge_balance(tips)

    assert balanced == result.balanced
    assert (set(right), set(left)) == (set(result.right_letters), set(result.left_letters))


def test_corner_surfaces_count_as_buccal_or_lingual() -> None:
    result = judge_balance([Tip(16, "MB"), Tip(26, "DB")])

    assert result.balanced
    assert result.reason == "shared_letter"


def test_a_proximal_tip_leaves_its_side_empty() -> None:
    result = judge_balance([Tip(16, "MB"), Tip(26, "M")])

    assert result.reason == "empty_side"


def test_no_tips_are_not_balanced_and_push_nothing() -> None:
    assert judge_balance([]).reason == "no_tips"
    assert resultant(UPPER, []).verdict == "no_tips"
    assert resultant(UPPER, []).transverse_ratio is None


@pytest.mark.parametrize(("right", "left", "least", "most"), SHARES_LEFT)
def test_the_share_left_across_the_arch_is_as_worked(
    right: tuple[str, ...], left: tuple[str, ...], least: float, most: float
) -> None:
    ratio = resultant(UPPER, tips_of(right, left)).transverse_ratio

    assert ratio is not None
    assert least <= round(ratio, 2) <= most


@given(st.lists(letter_tips, min_size=1, max_size=6))
def test_all_push_one_way_exactly_when_one_letter_faces_none_or_the_other(
    tips: list[Tip],
) -> None:
    balance = judge_balance(tips)
    letters = (balance.right_letters, balance.left_letters)

    verdict = resultant(UPPER, tips).verdict

    one_each = not letters[0] & letters[1] and max(len(side) for side in letters) == 1
    assert one_each == (verdict == "one_way")


@given(st.lists(any_tips, min_size=1, max_size=6))
def test_the_mirror_image_mirrors_the_sum_of_pushes(tips: list[Tip]) -> None:
    here = resultant(UPPER, tips)

    there = resultant(UPPER, [Tip(mirrored(tip.tooth), tip.surface) for tip in tips])

    assert pytest.approx((-here.x, here.y, -here.yaw)) == (there.x, there.y, there.yaw)
    assert here.transverse_ratio == pytest.approx(there.transverse_ratio)


@given(letter_tips)
def test_mirrored_tips_cancel_across_the_arch(tip: Tip) -> None:
    result = resultant(UPPER, [tip, Tip(mirrored(tip.tooth), tip.surface)])

    assert result.verdict == "cancel"
    assert pytest.approx((0, 0)) == (result.x, result.yaw)


@given(letter_tips)
def test_buccal_against_lingual_of_the_same_tooth_gives_zero(tip: Tip) -> None:
    other: Surface = "L" if letter_of(tip.surface) == "B" else "B"

    result = resultant(UPPER, [tip, Tip(tip.tooth, other)])

    assert pytest.approx((0, 0, 0)) == (result.x, result.y, result.yaw)


def test_a_lone_buccal_tip_on_a_molar_pushes_toward_its_side_of_the_view() -> None:
    result = resultant(UPPER, [Tip(26, "B")])

    assert result.x > 0.9
    assert result.verdict == "one_way"


def test_a_tip_of_the_other_arch_is_refused() -> None:
    with pytest.raises(WrongArch):
        resultant(UPPER, [Tip(36, "B")])
