"""The figures of groups: from sums as from the readings themselves, and what too few cannot tell."""

from __future__ import annotations

from math import sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.core.audit.selection import Selection
from bench.core.audit.spread import LEAST, spread_of
from bench.core.audit.sums import sums_of
from bench.core.directions import directions
from bench.core.precision import precision
from bench.core.readings import moments_of
from bench.core.tilt import Tilt, path_of_insertion
from tests.core.audit.simulatedlab import remount

angles = st.integers(-40_000, 40_000).map(lambda n: n / 10_000)
pairs = st.lists(st.tuples(angles, angles), min_size=2, max_size=30)


def made(tilts):
    return [remount(n, f"T{n % 3}", "S1", ap, lat) for n, (ap, lat) in enumerate(tilts)]


@given(pairs)
def test_sums_tell_what_the_readings_tell(tilts):
    remounts = made(tilts)

    sums = sums_of(remounts)

    wanted = moments_of([ap for ap, _ in tilts])
    assert wanted.count == sums.ap_deg.count
    assert wanted.mean == pytest.approx(sums.ap_deg.mean, abs=1e-12)
    assert wanted.squares == pytest.approx(sums.ap_deg.squares, abs=1e-9)


@settings(deadline=None)
@given(pairs)
def test_directions_of_sums_are_those_of_the_paths(tilts):
    wanted = directions([path_of_insertion(Tilt(*tilt)) for tilt in tilts])

    found = sums_of(made(tilts)).directions

    assert wanted.mean == pytest.approx(found.mean, abs=1e-12)
    # The log tells angles apart to 1e-4 degree; two of them make a cone five times as wide.
    assert wanted.axis_sd_deg == pytest.approx(found.axis_sd_deg, abs=1e-4)
    assert wanted.cone_deg == pytest.approx(found.cone_deg, abs=5e-4)


@given(pairs, st.integers(1, 29))
def test_sums_of_two_parts_are_the_sums_of_all(tilts, cut):
    remounts = made(tilts)

    whole, parts = sums_of(remounts), sums_of(remounts[:cut]) + sums_of(remounts[cut:])

    assert whole == parts


def test_precision_of_sums_is_that_of_the_readings():
    tilts = [(0.2, 0.1), (0.5, -0.3), (-0.1, 0.4), (0.6, 0.0), (0.1, 0.2), (-0.4, -0.2)]
    remounts = made(tilts)
    names = ("T0", "T1", "T2")
    by = {name: [one for one in remounts if one.technician == name] for name in names}

    found = spread_of({name: sums_of(some) for name, some in by.items()}, 1.0)

    wanted = precision({name: [one.ap_deg for one in some] for name, some in by.items()})
    assert wanted.repeatability_sd == pytest.approx(found.ap.repeatability_sd)
    assert wanted.reproducibility_sd == pytest.approx(found.ap.reproducibility_sd)
    assert 6 == found.inside.agreeing


def test_a_long_constant_costs_no_digit():
    # 100,000 re-mounts at 12.3456 degrees, one a ten-thousandth more: worked by hand.
    sums = sums_of([remount(0, "TA", "S1", 12.3456, 0.0)])
    for _ in range(17):
        sums += sums
    more = sums + sums_of([remount(1, "TA", "S1", 12.3457, 0.0)])

    assert 2**17 + 1 == more.count
    assert more.ap_deg.squares == pytest.approx(1e-8 * 2**17 / (2**17 + 1), rel=1e-9)


@pytest.mark.parametrize("count", range(LEAST))
def test_with_too_few_only_the_count_is_told_and_what_is_missing(count):
    found = spread_of({"TA": sums_of(made([(0.1, 0.1)] * count))}, 1.0)

    assert count == found.count
    assert (None, None, None) == (found.against_record, found.between_two, found.mean_within)
    assert [("re-mounts", count, LEAST)] == [(s.what, s.have, s.need) for s in found.missing]


def spread(ap_deg, sd_deg, count, tolerance_deg=1.0):
    """A group whose axis SD is as asked: half of it to each side, along both axes in turn."""
    step = sd_deg * sqrt(2 * (count - 1) / count)
    turns = [(step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step)]
    tilts = [(ap_deg + turns[n % 4][0], turns[n % 4][1]) for n in range(count)]
    return spread_of({"TA": sums_of(made(tilts))}, tolerance_deg)


@pytest.mark.parametrize(
    ("ap_deg", "sd_deg", "outcome"),
    [(0.0, 0.2, "within"), (0.9, 0.5, "not_shown"), (2.0, 0.2, "outside")],
)
def test_the_mean_is_within_outside_or_not_shown(ap_deg, sd_deg, outcome):
    found = spread(ap_deg, sd_deg, 20)

    assert outcome == found.mean_within.outcome
    assert (found.more_needed is not None) == (outcome == "not_shown")


def test_three_outcomes_of_the_limit_against_the_tolerance():
    # Source: Rayleigh's distribution: 0.41 degrees along each axis is 1 degree in 95 of 100.
    assert ["within", "not_shown", "outside"] == [
        spread(0.0, sd_deg, 40).against_record.outcome for sd_deg in (0.3, 0.41, 0.55)
    ]


def test_the_count_still_needed_shows_it_if_nothing_else_changes():
    found = spread(0.7, 0.6, 8)

    enough = spread(0.7, 0.6, 8 + found.more_needed + (-found.more_needed) % 4)
    assert ("not_shown", "within") == (found.mean_within.outcome, enough.mean_within.outcome)


def test_a_selection_takes_first_or_last_readings_of_a_time_and_of_somebody():
    one = remount(0, "TA", "S1", 0.1, 0.1)

    holds = [
        Selection().holds(one), Selection(technician="TB").holds(one), Selection(surveyor="").holds(one),
        Selection(since="2027").holds(one), Selection(until="2026").holds(one),
        Selection(cast="case 000", method="tripod", reading="last").holds(one),
    ]  # fmt: skip
    assert [True, False, False, False, False, True] == holds
