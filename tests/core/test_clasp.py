"""Clasp arms compared."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from bench.core.clasp import (
    CO_CR_E_GPA,
    FARTHEST_FIBRE,
    SECOND_MOMENT,
    Arm,
    BadArm,
    advise,
    beside,
    length_to_match_mm,
    push_n,
    stiffness_n_per_mm,
    stress_mpa,
)
from tests.facts.clasp_figures import (
    FARTHEST_FIBRE_OVER_R,
    PUBLISHED_N,
    PUSH_10_MM_N,
    PUSH_N,
    RATIO_10_TO_15_MM,
    SECOND_MOMENT_OVER_R4,
    STRESS_10_MM_MPA,
    STRESS_MPA,
    TITANIUM_E_GPA,
)

LONG, SHORT = Arm("34", 15.0, 0.8, 0.25), Arm("44", 10.0, 0.8, 0.25)
tapers = st.floats(0.2, 1.0)


def test_the_worked_arms_push_and_strain_as_derived() -> None:
    assert pytest.approx(PUSH_N, abs=0.001) == push_n(LONG)
    assert pytest.approx(STRESS_MPA, abs=0.1) == stress_mpa(LONG)
    assert pytest.approx(PUSH_10_MM_N, abs=0.005) == push_n(SHORT)
    assert pytest.approx(STRESS_10_MM_MPA, abs=0.5) == stress_mpa(SHORT)


def test_the_half_round_section_is_the_one_of_a_half_disc() -> None:
    def width(y: float) -> float:
        return 2 * float(np.sqrt(1 - y * y))

    middle = quad(lambda y: y * width(y), 0, 1)[0] / (pi / 2)
    second_moment = quad(lambda y: (y - middle) ** 2 * width(y), 0, 1)[0]

    assert pytest.approx(second_moment) == SECOND_MOMENT["half_round"]
    assert pytest.approx(SECOND_MOMENT_OVER_R4, abs=5e-5) == SECOND_MOMENT["half_round"]
    assert pytest.approx(1 - middle) == FARTHEST_FIBRE["half_round"]
    assert pytest.approx(FARTHEST_FIBRE_OVER_R, abs=5e-5) == FARTHEST_FIBRE["half_round"]


@given(tapers, st.floats(5, 25))
def test_a_taper_softens_by_itself_as_the_bending_integral_says(
    taper: float, length_mm: float
) -> None:
    arm = Arm("34", length_mm, 0.8, 0.25, taper=taper)
    root = CO_CR_E_GPA * 1000 * SECOND_MOMENT["half_round"] * 0.8**4

    bend_mm = quad(
        lambda x: x * x / (root * (taper + (1 - taper) * x / length_mm) ** 4), 0, length_mm
    )[0]

    assert pytest.approx(1 / bend_mm, rel=1e-6) == stiffness_n_per_mm(arm)


@given(tapers)
def test_the_greatest_stress_is_the_greatest_along_the_arm(taper: float) -> None:
    arm = Arm("34", 15.0, 0.8, 0.25, taper=taper)
    share = np.linspace(0, 1, 4001)[1:]
    radius_mm = 0.8 * (taper + (1 - taper) * share)
    fibre = FARTHEST_FIBRE["half_round"] / SECOND_MOMENT["half_round"]

    along = push_n(arm) * 15.0 * share * fibre / radius_mm**3

    assert pytest.approx(along.max(), rel=1e-4) == stress_mpa(arm)


@pytest.mark.parametrize(("depth_mm", "co_cr_n", "titanium_n"), PUBLISHED_N)
def test_materials_compare_as_published(depth_mm: float, co_cr_n: float, titanium_n: float) -> None:
    co_cr = Arm("Co-Cr", 15.0, 0.8, depth_mm)
    titanium = Arm("Ti", 15.0, 0.8, depth_mm, e_gpa=TITANIUM_E_GPA)

    assert pytest.approx(co_cr_n / titanium_n, rel=0.07) == beside(co_cr, titanium).push


def test_depths_compare_as_published() -> None:
    first, *deeper = PUBLISHED_N
    for depth_mm, co_cr_n, _ in deeper:
        ratio = beside(Arm("a", 15.0, 0.8, depth_mm), Arm("b", 15.0, 0.8, first[0])).push

        assert pytest.approx(co_cr_n / first[1], rel=0.08) == ratio


def test_an_arm_a_third_shorter_is_more_than_three_times_as_stiff() -> None:
    found = beside(SHORT, LONG)

    assert pytest.approx(RATIO_10_TO_15_MM) == found.stiffness == found.push
    assert pytest.approx(2.25) == found.stress


def test_an_arm_made_as_long_as_said_pushes_alike() -> None:
    deep = Arm("44", 12.0, 0.8, 0.50)

    matched = Arm("44", length_to_match_mm(deep, LONG), 0.8, 0.50)

    assert pytest.approx(push_n(LONG)) == push_n(matched)


def test_advice_speaks_in_ratios_and_names_no_force() -> None:
    told = advise([LONG, SHORT])

    assert ["pushes_more", "strains_more"] == [remark.code for remark in told]
    assert ("44", "34") == (told[0].params["arm"], told[0].params["beside"])
    assert pytest.approx((3.375, 15.0)) == (told[0].params["times"], told[0].params["length_mm"])
    assert not any(name.endswith(("_n", "_mpa")) for r in told for name in r.params)


def test_arms_alike_are_said_to_be_and_one_arm_has_nothing_beside_it() -> None:
    (told,) = advise([LONG, Arm("44", 14.8, 0.8, 0.25)])

    assert ("pushes_alike", ("34", "44")) == (told.code, told.params["arms"])
    assert () == advise([LONG])


def test_a_round_wire_is_stiffer_than_half_of_it() -> None:
    wire = Arm("34", 15.0, 0.8, 0.25, section="round")

    assert pytest.approx(pi / 4 / SECOND_MOMENT["half_round"]) == beside(wire, LONG).push


@pytest.mark.parametrize(
    "wrong",
    [
        (0.0, 0.8, 0.25, 220.0, 1.0),
        (15.0, -0.8, 0.25, 220.0, 1.0),
        (15.0, 0.8, float("nan"), 220.0, 1.0),
        (15.0, 0.8, 0.25, 220.0, 1.2),
    ],
)
def test_an_arm_that_cannot_be_is_refused(wrong: tuple[float, ...]) -> None:
    with pytest.raises(BadArm, match="Measure from the shoulder"):
        Arm("34", *wrong)
