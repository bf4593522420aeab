"""Repeated directions: published sets, coverage of the cone, and turning all of them."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, degrees, radians, sin, tan
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from scipy.stats import directional_stats

from bench.core.directions import (
    KNOWN_RECORD,
    TWO_RECORDS,
    NoDirection,
    directions,
    pooled_spread,
    two_means,
    two_means_critical,
)
from bench.core.tilt import Path, angle_of_paths_deg
from tests.facts.direction_studies import (
    B2,
    B2_RESULTS,
    FISHROT,
    FISHROT_RESULTS,
    GROUP_ONE,
    GROUP_TWO,
    WATSON,
)


def vector(declination_deg: float, inclination_deg: float) -> Path:
    """The unit vector of a declination and an inclination."""
    d, i = radians(declination_deg), radians(inclination_deg)
    return cos(i) * cos(d), cos(i) * sin(d), sin(i)


def as_angles(path: Path) -> tuple[float, float]:
    """Declination and inclination of a unit vector, degrees."""
    x, y, z = path
    return degrees(np.arctan2(y, x)) % 360, degrees(np.arcsin(z))


def from_slopes(slopes: Sequence[tuple[float, float]]) -> list[Path]:
    """Directions given by their slopes (degrees) along two axes."""
    return [(tan(radians(a)), tan(radians(b)), 1.0) for a, b in slopes]


def test_the_set_of_the_textbook_has_its_published_figures() -> None:
    found = directions([vector(d, i) for d, i in B2])

    assert found.mean is not None
    assert pytest.approx(B2_RESULTS["mean"], abs=0.05) == as_angles(found.mean)
    assert pytest.approx(B2_RESULTS["concentration"], abs=0.5) == found.concentration
    assert pytest.approx(B2_RESULTS["cone_deg"], abs=0.05) == found.cone_deg
    assert (26, ()) == (found.count, found.missing)


def test_ten_directions_have_the_published_digits() -> None:
    found = directions([vector(d, i) for d, i in FISHROT])

    assert found.mean is not None
    assert pytest.approx(FISHROT_RESULTS, rel=1e-12) == (
        *as_angles(found.mean),
        found.resultant_length,
        found.concentration,
        found.cone_deg,
    )


def test_two_groups_differ_as_published() -> None:
    one, two = ([vector(d, i) for d, i in group] for group in (GROUP_ONE, GROUP_TWO))

    found = two_means(one, two)

    assert pytest.approx(WATSON, abs=0.005) == (found.ratio, two_means_critical(20))
    assert pytest.approx((21.534334, 0.0101337), rel=1e-5) == (
        found.angle_deg,
        found.chance,
    )  # recomputed, not published


def test_mean_and_length_agree_with_scipy() -> None:
    draw = Random(47).gauss
    vectors = [(draw(0.3, 0.2), draw(-0.1, 0.2), 1.0) for _ in range(12)]

    expected = directional_stats(np.array(vectors))

    found = directions(vectors)
    assert found.resultant_length is not None
    assert pytest.approx(tuple(expected.mean_direction), rel=1e-12) == found.mean
    assert pytest.approx(expected.mean_resultant_length, rel=1e-12) == found.resultant_length / 12


def test_spread_is_pooled_over_casts() -> None:
    # Constructed and recomputed apart from this code; no published source.
    casts = [
        from_slopes([(5.0, -3.0), (5.4, -2.7), (4.8, -3.2)]),
        from_slopes([(8.0, 2.0), (7.6, 2.3)]),
        from_slopes([(-2, 6), (-2.3, 6.1), (-1.6, 5.7), (-2.1, 6.4)]),
        from_slopes([(1.0, 1.0)]),
    ]

    found = pooled_spread(casts)

    assert (3, 9, 12) == (found.groups, found.count, found.df)
    assert pytest.approx((0.2804089, 0.42491, 0.97067), rel=2e-5) == (
        found.axis_sd_deg,
        found.axis_sd_upper_deg,
        found.two_records_deg,
    )


def test_limits_of_an_angle_are_those_of_rayleigh() -> None:
    # Derived from Rayleigh's distribution and simulated; no published source.
    assert pytest.approx((2.4477468, 3.4616368), abs=1e-7) == (KNOWN_RECORD, TWO_RECORDS)


turns = st.tuples(*[st.floats(-180, 180)] * 3)
bundles = st.lists(
    st.tuples(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5), st.just(1.0)), min_size=2, max_size=9
)


@given(bundles, turns)
def test_turning_all_directions_turns_only_the_mean(
    vectors: list[Path], turn: tuple[float, float, float]
) -> None:
    rotation = Rotation.from_euler("xyz", turn, degrees=True)
    turned = [tuple(map(float, rotation.apply(path))) for path in vectors]

    before, after = directions(vectors), directions(turned)

    assert before.mean is not None
    assert after.mean is not None
    assert 1e-5 > angle_of_paths_deg(tuple(rotation.apply(before.mean)), after.mean)
    assert pytest.approx(
        (before.resultant_length, before.axis_sd_deg, before.cone_deg), rel=1e-6, abs=1e-6
    ) == (after.resultant_length, after.axis_sd_deg, after.cone_deg)


def test_directions_a_millionth_of_a_degree_apart_keep_their_digits() -> None:
    found = directions(from_slopes([(0.0, 0.0), (2e-6, 0.0)]))

    # Two directions 2d apart lie d from their mean: axis SD d.
    assert pytest.approx(1e-6, rel=1e-6) == found.axis_sd_deg


@pytest.mark.parametrize(("count", "sd_deg"), [(2, 1.0), (3, 0.5), (5, 3.0)])
def test_the_cone_holds_the_true_mean_95_times_of_100(count: int, sd_deg: float) -> None:
    draw = Random(53).gauss
    runs, held = 3000, 0

    for _ in range(runs):
        slopes = [(draw(0, sd_deg), draw(0, sd_deg)) for _ in range(count)]
        found = directions(from_slopes(slopes))
        assert found.mean is not None
        assert found.cone_deg is not None
        held += angle_of_paths_deg(found.mean, (0.0, 0.0, 1.0)) <= found.cone_deg

    assert 0.93 <= held / runs <= 0.97


def test_two_readings_differ_less_than_their_limit_95_times_of_100() -> None:
    draw = Random(59).gauss
    runs, below = 4000, 0

    for _ in range(runs):
        one, two = from_slopes([(draw(0, 0.5), draw(0, 0.5)) for _ in "12"])
        below += angle_of_paths_deg(one, two) <= TWO_RECORDS * 0.5

    assert 0.94 <= below / runs <= 0.96


def test_one_direction_has_a_mean_and_lacks_another() -> None:
    found = directions([(0.0, 0.0, 2.0)])

    assert ((0.0, 0.0, 1.0), None) == (found.mean, found.cone_deg)
    assert [("directions", 1)] == [(m.what, m.missing) for m in found.missing]


@pytest.mark.parametrize("vectors", [[], [(0.0, 0.0, 1.0), (0.0, 0.0, -1.0)]])
def test_without_agreeing_directions_there_is_no_mean(vectors: list[Path]) -> None:
    found = directions(vectors)

    assert (len(vectors), None) == (found.count, found.mean)
    assert ["agreeing directions"] == [m.what for m in found.missing]


def test_the_same_direction_twice_has_no_spread() -> None:
    found = directions([(0.0, 0.6, 0.8)] * 3)

    assert pytest.approx(0.0, abs=1e-6) == found.axis_sd_deg
    assert pytest.approx(0.0, abs=1e-6) == found.cone_deg


def test_scattered_directions_have_a_cone_of_everything() -> None:
    found = directions([(1.0, 0.0, 0.1), (-1.0, 0.0, 0.1), (0.0, 1.0, 0.1)])

    assert pytest.approx(180.0) == found.cone_deg


def test_too_few_for_two_means_or_pooling_are_answers() -> None:
    alone = [(0.0, 0.0, 1.0)]

    assert ["directions of the first"] == [m.what for m in two_means(alone, alone * 2).missing]
    assert ["groups with repeats"] == [m.what for m in pooled_spread([alone]).missing]


def test_a_vector_of_no_length_is_refused() -> None:
    with pytest.raises(NoDirection, match="points nowhere"):
        directions([(0.0, 0.0, 0.0)])
