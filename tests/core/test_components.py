"""Parts of the spread: published gauge studies, statsmodels, coverage, and what changes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pandas import DataFrame
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm

from bench.core.components import Component, Components, Table, Variances, components
from tests.facts.gauge_studies import (
    FLIGHTS,
    FLIGHTS_CHANCES,
    FLIGHTS_POOLED,
    FLIGHTS_RATIOS,
    FLIGHTS_SQUARES,
    IMPEDANCE,
    IMPEDANCE_VARIANCES,
    PARTS,
    PARTS_SDS,
)

Rows = Sequence[Sequence[Sequence[float]]]
POOL_ABOVE = 0.25


def named(rows: Rows) -> dict[str, dict[str, Sequence[float]]]:
    """Readings by cast and by technician."""
    return {
        f"cast {i}": {f"technician {j}": cell for j, cell in enumerate(row)}
        for i, row in enumerate(rows)
    }


def table_of(found: Components) -> Table:
    """The table of a study that is complete."""
    assert found.table is not None
    return found.table


def variances_of(found: Components) -> Variances:
    """The variances of a study that is complete."""
    assert found.variances is not None
    return found.variances


def parts_of(found: Components) -> list[Component]:
    """The five variances of a study that is complete."""
    parts = variances_of(found)
    return [parts.cast, parts.technician, parts.interaction, parts.repeat, parts.gauge]


def test_thermal_impedance_has_the_published_variances() -> None:
    found = components(named(IMPEDANCE), POOL_ABOVE)

    parts = variances_of(found)
    assert pytest.approx(IMPEDANCE_VARIANCES, abs=0.006) == (
        parts.repeat.variance,
        parts.interaction.variance,
        parts.technician.variance,
        parts.cast.variance,
    )
    assert (10, 3, 90, 3.0, True, False) == (
        found.casts,
        found.technicians,
        found.readings,
        found.repeats,
        found.balanced,
        found.pooled,
    )


def test_paper_helicopters_have_the_published_table() -> None:
    table = table_of(components(named(FLIGHTS)))

    sources = (table.cast, table.technician, table.interaction)
    assert pytest.approx(FLIGHTS_SQUARES, abs=6e-5) == (
        *(source.squares for source in sources),
        table.repeat.squares,
    )
    assert pytest.approx(FLIGHTS_RATIOS, abs=6e-4) == tuple(source.ratio for source in sources)
    assert pytest.approx(FLIGHTS_CHANCES, abs=6e-6) == tuple(source.chance for source in sources)


def test_paper_helicopters_pooled_have_the_published_variances() -> None:
    found = components(named(FLIGHTS), POOL_ABOVE)

    parts = variances_of(found)
    assert pytest.approx(FLIGHTS_POOLED, abs=6e-5) == (
        parts.gauge.variance,
        parts.repeat.variance,
        parts.technician.variance,
    )
    assert found.pooled
    assert 0.0 == parts.interaction.variance


def test_measured_parts_pooled_have_the_published_sds() -> None:
    parts = variances_of(components(named(PARTS), POOL_ABOVE))

    assert pytest.approx(PARTS_SDS, abs=6e-5) == (
        parts.repeat.sd,
        parts.technician.sd,
        parts.gauge.sd,
        parts.cast.sd,
    )


def test_a_negative_interaction_becomes_nothing_and_says_so() -> None:
    interaction = variances_of(components(named(PARTS))).interaction

    assert interaction.clamped
    assert (0.0, 0.0) == (interaction.variance, interaction.sd)
    assert pytest.approx(-0.008680, abs=1e-6) == interaction.estimate  # recomputed, not published
    assert 0.0 == interaction.sd_interval.low


def test_random_studies_agree_with_statsmodels() -> None:
    draw = Random(7).gauss
    rows = [[[draw(i, 1 + j) for _ in range(3)] for j in range(4)] for i in range(5)]
    long = [(i, j, v) for i, row in enumerate(rows) for j, cell in enumerate(row) for v in cell]
    frame = DataFrame(long, columns=["cast", "person", "value"])

    expected = anova_lm(ols("value ~ C(cast) * C(person)", frame).fit())["sum_sq"]

    table = table_of(components(named(rows)))
    found = [table.cast, table.technician, table.interaction, table.repeat]
    assert pytest.approx(list(expected), rel=1e-9) == [source.squares for source in found]


grids = st.tuples(st.integers(2, 4), st.integers(2, 4), st.integers(2, 3)).flatmap(
    lambda size: st.lists(
        st.lists(
            st.lists(
                st.floats(-9, 9).map(lambda v: round(v, 3)), min_size=size[2], max_size=size[2]
            ),
            min_size=size[1],
            max_size=size[1],
        ),
        min_size=size[0],
        max_size=size[0],
    )
)


@given(grids, st.floats(-1e4, 1e4), st.sampled_from((-2.0, 0.5, 3.0)))
def test_a_shift_changes_no_part_and_a_scale_scales_it(
    rows: Rows, shift: float, scale: float
) -> None:
    moved = [[[scale * value + shift for value in cell] for cell in row] for row in rows]

    before, after = parts_of(components(named(rows))), parts_of(components(named(moved)))

    assert pytest.approx([scale**2 * part.estimate for part in before], abs=1e-5) == [
        part.estimate for part in after
    ]


@given(grids, st.randoms(use_true_random=False))
def test_the_order_of_casts_technicians_and_repeats_changes_nothing(
    rows: Rows, chance: Random
) -> None:
    order = chance.sample(range(len(rows[0])), len(rows[0]))
    shuffled = [
        [chance.sample(row[j], len(row[j])) for j in order]
        for row in chance.sample(rows, len(rows))
    ]

    before, after = parts_of(components(named(rows))), parts_of(components(named(shuffled)))

    assert pytest.approx([part.estimate for part in before], abs=1e-9) == [
        part.estimate for part in after
    ]


@given(grids)
def test_the_squares_add_up_to_those_of_all_readings(rows: Rows) -> None:
    values = [value for row in rows for cell in row for value in cell]
    mean = sum(values) / len(values)

    table = table_of(components(named(rows)))

    sources = (table.cast, table.technician, table.interaction, table.repeat)
    assert pytest.approx(sum((v - mean) ** 2 for v in values), abs=1e-7) == sum(
        source.squares for source in sources
    )
    assert len(values) - 1 == sum(source.df for source in sources)


@given(grids)
def test_the_gauge_is_technician_interaction_and_repeat(rows: Rows) -> None:
    _, technician, interaction, repeat, gauge = parts_of(components(named(rows)))

    assert pytest.approx(
        technician.estimate + interaction.estimate + repeat.estimate, abs=1e-9
    ) == gauge.estimate  # fmt: skip
    assert gauge.interval.low <= gauge.estimate <= gauge.interval.high


def test_a_cast_not_read_by_someone_is_named() -> None:
    found = components({"K1": {"Ada": [0.1, 0.2], "Ben": [0.2, 0.2]}, "K2": {"Ada": [0.3, 0.1]}})

    assert ["not enough data: 0 readings of K2 by Ben, 2 more needed"] == list(
        map(str, found.missing)
    )
    assert (None, None) == (found.table, found.variances)
    assert (2, 2, 6) == (found.casts, found.technicians, found.readings)


def test_single_readings_everywhere_lack_one_more_of_each() -> None:
    found = components(named([[[1.0], [2.0]], [[2.0], [4.0]]]))

    assert [(1, 2)] * 4 == [(m.have, m.need) for m in found.missing]


@pytest.mark.parametrize("study", [{}, {"K1": {"Ada": [0.1, 0.2]}}])
def test_one_cast_or_one_technician_is_not_enough(study: dict[str, dict[str, list[float]]]) -> None:
    found = components(study)

    assert ["casts", "technicians"] == [m.what for m in found.missing]


def test_one_reading_more_in_a_cell_is_taken_by_unweighted_means() -> None:
    rows = [[list(cell) for cell in row] for row in IMPEDANCE]
    rows[3][1].append(43.0)

    found = components(named(rows))

    assert (False, 91) == (found.balanced, found.readings)
    assert pytest.approx(IMPEDANCE_VARIANCES, rel=0.02, abs=0.006) == (
        variances_of(found).repeat.variance,
        variances_of(found).interaction.variance,
        variances_of(found).technician.variance,
        variances_of(found).cast.variance,
    )


def test_readings_without_repeat_error_have_no_ratio() -> None:
    table = table_of(components(named([[[1.0, 1.0], [2.0, 2.0]], [[3.0, 3.0], [5.0, 5.0]]])))

    assert (None, None) == (table.interaction.ratio, table.interaction.chance)


@pytest.mark.parametrize(
    ("size", "sds"), [((6, 3, 2), (1.0, 0.5, 0.5)), ((5, 4, 3), (2.0, 1.0, 0.3))]
)
@pytest.mark.parametrize("uneven", [False, True])
def test_intervals_hold_the_truth_95_times_of_100(
    size: tuple[int, int, int], sds: tuple[float, float, float], uneven: bool
) -> None:
    draw = Random(17).gauss
    cast_sd, person_sd, both_sd = sds
    gauge = person_sd**2 + both_sd**2 + 1
    truths = [cast_sd**2, person_sd**2, both_sd**2, 1.0, gauge]
    runs, held = 1500, [0] * 5

    for _ in range(runs):
        casts = [draw(0, cast_sd) for _ in range(size[0])]
        persons = [draw(0, person_sd) for _ in range(size[1])]
        rows = []
        for i, cast in enumerate(casts):
            levels = [cast + person + draw(0, both_sd) for person in persons]
            counts = [size[2] + (uneven and (i + j) % 3 == 0) for j in range(size[1])]
            rows.append(
                [[m + draw(0, 1) for _ in range(n)] for m, n in zip(levels, counts, strict=True)]
            )
        for at, part in enumerate(parts_of(components(named(rows)))):
            held[at] += part.interval.low <= truths[at] <= part.interval.high

    assert all(0.93 <= count / runs <= 0.97 for count in held), held
