"""The arch model: where teeth stand and which way their surfaces face."""

from __future__ import annotations

from itertools import pairwise
from math import cos, hypot, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.arch import (
    CURVE_DEPTH_MM,
    MESIODISTAL_MM,
    Caliper,
    CaliperOutOfRange,
    WrongArch,
    arch_model,
)
from bench.core.surfaces import SURFACES, Site
from bench.core.teeth import ARCHES, Arch, arch_of, mirrored, teeth_of
from tests.facts.arch_means import (
    BETA_MIDLINE_HEIGHT_MM,
    CENTRES_MM,
    HALF_ARCH_1_TO_7_MM,
    WHEELER_MESIODISTAL_MM,
)

VIEW_RIGHT = {"upper": 20, "lower": 40}
teeth = st.sampled_from([tooth for arch in ARCHES for tooth in teeth_of(arch)])
scales = st.floats(0.7, 1.5)


@pytest.mark.parametrize("arch", ARCHES)
@pytest.mark.parametrize("position", range(1, 8))
def test_teeth_stand_where_the_published_curve_puts_them(arch: Arch, position: int) -> None:
    place = arch_model(arch).place(VIEW_RIGHT[arch] + position)

    assert CENTRES_MM[arch][position - 1] == pytest.approx((place.x_mm, place.y_mm), abs=0.1)


@pytest.mark.parametrize("arch", ARCHES)
def test_crowns_have_the_published_widths(arch: Arch) -> None:
    model = arch_model(arch)

    widths = tuple(model.place(VIEW_RIGHT[arch] + n).width_mm for n in range(1, 9))

    assert WHEELER_MESIODISTAL_MM[arch] == pytest.approx(widths)
    assert HALF_ARCH_1_TO_7_MM[arch] == pytest.approx(sum(widths[:7]))
    assert BETA_MIDLINE_HEIGHT_MM[arch] == CURVE_DEPTH_MM[arch]


def test_the_viewers_right_is_the_patients_right_below_and_left_above() -> None:
    lower, upper = arch_model("lower"), arch_model("upper")

    assert lower.place(46).x_mm > 0 > lower.place(36).x_mm
    assert upper.place(26).x_mm > 0 > upper.place(16).x_mm


@given(teeth, st.sampled_from(SURFACES), scales, scales)
def test_the_other_side_is_the_mirror_image(
    tooth: int, surface: str, across: float, along: float
) -> None:
    arch = arch_of(tooth)
    model = type(arch_model(arch))(arch, across, along)
    x, y = model.point_mm(Site(tooth, surface))  # type: ignore[arg-type]

    other = model.point_mm(Site(mirrored(tooth), surface))  # type: ignore[arg-type]

    assert (-x, y) == pytest.approx(other)


@given(teeth, scales, scales)
def test_outward_and_distal_are_square_unit_vectors(
    tooth: int, across: float, along: float
) -> None:
    arch = arch_of(tooth)
    place = type(arch_model(arch))(arch, across, along).place(tooth)

    assert pytest.approx(1) == hypot(*place.outward)
    assert pytest.approx(1) == hypot(*place.distal)
    square = place.outward[0] * place.distal[0] + place.outward[1] * place.distal[1]
    assert pytest.approx(0) == square


@given(teeth)
def test_buccal_faces_away_from_the_midline_and_distal_away_from_the_front(tooth: int) -> None:
    place = arch_model(arch_of(tooth)).place(tooth)

    assert place.outward[0] * place.x_mm > 0
    assert place.outward[1] >= 0
    assert place.distal[1] < 0


@given(teeth)
def test_surfaces_face_the_eight_directions_in_turn(tooth: int) -> None:
    model = arch_model(arch_of(tooth))
    right_of_view = model.place(tooth).x_mm > 0
    clockwise = ("B", "DB", "D", "DL", "L", "ML", "M", "MB")
    azimuths = [model.azimuth_deg(Site(tooth, surface)) for surface in clockwise]  # type: ignore[arg-type]

    turns = {round((after - before) % 360, 6) for before, after in pairwise(azimuths)}

    assert turns == ({315.0} if right_of_view else {45.0})


def test_a_molar_on_the_right_of_view_faces_buccally_to_the_right() -> None:
    azimuth = radians(arch_model("lower").azimuth_deg(Site(47, "B")))

    assert cos(azimuth) > 0.95
    assert sin(azimuth) > 0


@pytest.mark.parametrize("arch", ARCHES)
def test_third_molars_stand_behind_the_second_touching_it(arch: Arch) -> None:
    model = arch_model(arch)
    second, third = model.place(VIEW_RIGHT[arch] + 7), model.place(VIEW_RIGHT[arch] + 8)

    apart_mm = hypot(second.x_mm - third.x_mm, second.y_mm - third.y_mm)

    assert (MESIODISTAL_MM[arch][6] + MESIODISTAL_MM[arch][7]) / 2 == pytest.approx(
        apart_mm, abs=0.3
    )


def test_two_caliper_measures_fit_the_arch_to_the_cast() -> None:
    model = arch_model("lower", Caliper(width_mm=50.0, depth_mm=30.0))
    right, left = model.place(46), model.place(36)

    assert pytest.approx(50.0) == right.x_mm - left.x_mm
    assert pytest.approx(30.0) == CURVE_DEPTH_MM["lower"] * model.scale_y - right.y_mm


def test_one_caliper_measure_scales_the_arch_both_ways() -> None:
    model = arch_model("upper", Caliper(width_mm=50.0))

    assert model.scale_x == model.scale_y
    assert 30.0 * model.scale_x == model.half_width_mm


def test_a_measure_that_fits_no_arch_is_refused_with_the_range() -> None:
    with pytest.raises(CaliperOutOfRange, match="Measure again") as refused:
        arch_model("upper", Caliper(width_mm=5.0))

    assert refused.value.code == "caliper_out_of_range"
    assert refused.value.params["value_mm"] == 5.0


def test_a_tooth_of_the_other_arch_is_refused() -> None:
    with pytest.raises(WrongArch, match="16 was given for the lower arch") as refused:
        arch_model("lower").place(16)

    assert refused.value.params == {"tooth": 16, "arch": "lower"}
