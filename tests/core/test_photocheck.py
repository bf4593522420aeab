"""What a photo says of the caliper's distances, by cases and by many invented photos."""

from __future__ import annotations

from itertools import permutations
from math import cos, radians, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from bench.core.arch import Vector
from bench.core.photocheck import Check, checked, compared, slip, unevenness
from bench.core.photoplane import Three
from tests.core.everyday_photos import invented, wrong_by

CALIPER = (38.2, 41.6, 45.1)


def check(photo: Three, caliper: Three = CALIPER, same_sense: bool = True) -> Check:
    return checked(caliper, "clockwise", photo, "clockwise" if same_sense else "anticlockwise")


def test_distances_that_agree_say_so_and_by_how_much() -> None:
    found = check((38.4, 41.5, 45.3))

    assert found.fits
    assert (found.verdict, found.why) == ("agree", "")
    assert pytest.approx((0.2, -0.1, 0.2)) == found.off_mm


def test_an_uneven_agreement_names_the_side_to_look_at() -> None:
    found = check((38.2, 42.5, 45.1))

    assert (found.verdict, found.why, found.odd_side) == ("agree", "uneven", "AC")
    assert pytest.approx(42.5 / 41.6 - 1) == found.uneven
    assert pytest.approx(-0.85, abs=0.1) == found.slip_mm


@pytest.mark.parametrize(("place", "side"), [(0, "AB"), (1, "AC"), (2, "BC")])
@pytest.mark.parametrize("off_mm", [-2.5, 2.0])
def test_one_wrong_side_is_looked_at_again_and_named(place: int, side: str, off_mm: float) -> None:
    caliper = [*CALIPER]
    caliper[place] += off_mm

    found = check(CALIPER, (caliper[0], caliper[1], caliper[2]))

    assert (found.verdict, found.why, found.odd_side) == ("look_again", "one_side", side)


def test_two_sides_typed_in_each_others_place_are_told_from_two_marks_named_so() -> None:
    exchanged = (CALIPER[1], CALIPER[0], CALIPER[2])

    typed, named = check(exchanged), check(exchanged, same_sense=False)

    assert (typed.verdict, typed.why, typed.order) == ("swapped", "sides", ("AC", "AB", "BC"))
    assert (named.verdict, named.why) == ("swapped", "names")


def test_three_sides_in_a_ring_may_be_either() -> None:
    found = check((CALIPER[1], CALIPER[2], CALIPER[0]))

    assert (found.verdict, found.why, found.order) == ("swapped", "either", ("AC", "BC", "AB"))


def test_a_mirrored_triangle_is_told_by_its_sense_alone() -> None:
    found = check(CALIPER, same_sense=False)

    assert found.verdict == "mirrored"
    assert found.uneven == 0


def test_another_casts_triangle_is_told() -> None:
    assert check((29.0, 30.5, 46.0)).verdict == "other_triangle"


def test_one_mark_that_lies_elsewhere_is_named() -> None:
    found = check((34.2, 45.9, 45.0))

    assert (found.verdict, found.why, found.odd_mark) == ("other_triangle", "one_mark", "A")


@pytest.mark.parametrize(("by", "why"), [(1.25, "all_longer"), (0.8, "all_shorter")])
def test_a_label_of_another_size_shows_as_all_longer_or_all_shorter(by: float, why: str) -> None:
    a, b, c = CALIPER

    found = check((a * by, b * by, c * by))

    assert (found.verdict, found.why) == ("look_again", why)


sides = st.floats(20, 60)


@given(st.tuples(sides, sides, sides), st.tuples(sides, sides, sides), st.floats(0.5, 2))
def test_unevenness_does_not_know_scale_or_which_is_which(
    one: Three, other: Three, scale: float
) -> None:
    found = unevenness(one, other)

    assert pytest.approx(found, abs=1e-9) == unevenness(one, [scale * side for side in other])
    assert pytest.approx(found, abs=1e-9) == unevenness(other, one)


triangles = st.tuples(st.floats(25, 50), st.floats(25, 50), st.floats(35, 47))


@given(triangles, st.sampled_from((0, 1, 2)), st.floats(-3, 3), st.floats(-0.008, 0.008))
def test_a_slip_of_one_side_is_told_with_its_length_whatever_the_scale(
    true: Three, place: int, by_mm: float, scale: float
) -> None:
    caliper = [*true]
    caliper[place] += by_mm
    a, b, c = (side * (1 + scale) for side in true)

    _, found = slip((caliper[0], caliper[1], caliper[2]), (a, b, c))

    assert pytest.approx(by_mm, abs=0.3 + 0.15 * abs(by_mm)) == found


@given(triangles, st.tuples(*[st.floats(-1.5, 1.5)] * 3))
def test_the_slip_is_the_one_that_general_least_squares_finds(true: Three, by: Three) -> None:
    caliper = np.array(true)
    ab, ac, bc = true
    angles = {
        (0, 1): (ab**2 + ac**2 - bc**2) / (2 * ab * ac),
        (0, 2): (ab**2 + bc**2 - ac**2) / (2 * ab * bc),
        (1, 2): (ac**2 + bc**2 - ab**2) / (2 * ac * bc),
    }
    cosines = np.eye(3)
    for (i, j), cosine in angles.items():
        cosines[i, j] = cosines[j, i] = cosine
    errors = np.outer(caliper, caliper) * (0.009**2 + (0.004 * cosines) ** 2) + 0.11**2 * np.eye(3)
    inverse = np.linalg.inv(errors)
    estimates = inverse @ np.array(by) / np.diag(inverse)
    gains = estimates**2 * np.diag(inverse)

    side, found = slip(true, tuple(caliper + by))

    assert pytest.approx(max(gains), abs=1e-6) == gains[("AB", "AC", "BC").index(side)]
    assert pytest.approx(-estimates[("AB", "AC", "BC").index(side)], abs=1e-9) == found


def test_sides_that_make_no_triangle_are_held_against_a_photo_all_the_same() -> None:
    assert ("look_again", "one_side") == (
        check((40.0, 41.0, 42.0), (40.0, 41.0, 95.0)).verdict,
        check((40.0, 41.0, 42.0), (40.0, 41.0, 95.0)).why,
    )


@given(st.tuples(sides, sides, sides), st.tuples(sides, sides, sides))
def test_naming_the_marks_otherwise_in_both_leaves_the_verdict(one: Three, other: Three) -> None:
    verdicts = {
        check((other[a], other[b], other[c]), (one[a], one[b], one[c])).verdict
        for a, b, c in permutations(range(3))
    }

    assert len(verdicts) == 1


def test_everyday_photos_raise_no_false_alarm_and_find_what_is_wrong() -> None:
    photos = invented(3000, seed=11)
    off = np.abs([np.subtract(p.photo_mm, p.true_mm) for p in photos])
    right = [checked(p.caliper_mm, p.sense, p.photo_mm, p.sense) for p in photos]
    alike = [check.why in ("all_longer", "all_shorter") for check in right]
    two_mm = [not wrong_by(p, 2.0).fits for p in photos]
    more = [not wrong_by(p, 1.5).fits for p in photos]

    assert 0.2 < np.median(off) < 0.3
    assert 0.6 < np.percentile(off, 95) < 0.8
    assert np.mean([check.fits for check in right]) > 0.997
    # What is left is doubted because every side is over 1.5 mm longer or shorter: the label's size.
    assert (
        np.mean([check.fits or all_alike for check, all_alike in zip(right, alike, strict=True)])
        > 0.999
    )
    assert np.mean(two_mm) > 0.99
    assert np.mean(more) > 0.90


def test_swapped_sides_are_called_swapped_wherever_they_differ_by_two_millimetres() -> None:
    found = []
    for photo in invented(2000, seed=12):
        ab, ac, bc = photo.caliper_mm
        if abs(ab - ac) >= 2:
            found.append(checked((ac, ab, bc), photo.sense, photo.photo_mm, photo.sense))

    flagged = [not check.fits for check in found]
    named = [check.verdict == "swapped" for check in found]

    assert len(found) > 500
    assert np.mean(flagged) > 0.99
    assert np.mean(named) > 0.95


places = st.tuples(st.floats(-40, 40), st.floats(-40, 40))


@given(st.lists(places, min_size=3, max_size=5, unique=True), st.floats(-180, 180), places)
def test_a_rigid_motion_moves_no_mark(marks: list[Vector], turn: float, by: Vector) -> None:
    c, s = cos(radians(turn)), sin(radians(turn))
    later = [(x * c - y * s + by[0], x * s + y * c + by[1]) for x, y in marks]

    assert compared(marks, later).most_mm < 1e-7


@given(st.lists(st.tuples(places, places), min_size=3, max_size=4, unique=True))
def test_the_fit_is_the_one_scipy_finds(pairs: list[tuple[Vector, Vector]]) -> None:
    first, later = [a for a, _ in pairs], [b for _, b in pairs]
    one, other = np.array(first) - np.mean(first, 0), np.array(later) - np.mean(later, 0)
    cross = np.sum(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])
    if np.hypot(cross, np.sum(one * other)) < 1:
        return
    # Their fit turns in space; marks that a flip in space fits better are not for comparing.
    flat = [np.column_stack([m, np.zeros(len(m))]) for m in (one, other)]
    axis = np.array([[0, 0, 1.0]])
    turn, _ = Rotation.align_vectors(
        np.vstack([flat[0], axis]), np.vstack([flat[1], axis]), [1.0] * len(one) + [np.inf]
    )
    theirs = np.linalg.norm(flat[0] - turn.apply(flat[1]), axis=1)

    assert np.allclose(theirs, compared(first, later).by_mm, atol=1e-5)


def test_one_mark_pulled_away_is_the_one_that_lies_off() -> None:
    first = [(0.0, 0.0), (40.0, 0.0), (20.0, 34.0)]
    later = [(0.0, 0.0), (40.0, 0.0), (20.0, 37.0)]

    found = compared(first, later)

    assert pytest.approx(2.0, abs=0.05) == found.by_mm[2]
    assert found.most_mm == found.by_mm[2]
    assert not found.mirrored
    assert compared(first, [(x, -y) for x, y in first]).mirrored
