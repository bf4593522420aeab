from __future__ import annotations

import itertools
import random
from math import asin, degrees, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.bounds import BadEntry
from bench.core.drillresults import results_of
from bench.core.drills import check_drill, drills_from, order_of
from bench.core.entries import (
    Draft,
    DrillClosed,
    DrillPlanned,
    DrillReading,
    Entry,
    PersonAdded,
    PersonChanged,
    kind_of,
)
from bench.core.ids import entry_id
from bench.core.lab import Lab, fold_lab
from tests.facts.drill_orders import ORDERS
from tests.facts.gauge_studies import IMPEDANCE, IMPEDANCE_VARIANCES

AT = "2026-03-09T08:00:00.000Z"
PLAN = DrillPlanned("distance", ("A", "B", "C"), ("AM", "KT"), 2, 7)


def said(number: int, body: object, person: str = "SUP", **rest: object) -> Entry:
    key = entry_id(1_773_043_200_000 + number, number)
    return Entry(key, kind_of(type(body)), body, person, "d", AT, number, "", **rest)  # type: ignore[arg-type]


def lab() -> Lab:
    people = [("SUP", "supervisor"), ("AM", "technician"), ("KT", "technician"), ("RE", "reader")]
    return fold_lab(said(900 + n, PersonAdded(*one)) for n, one in enumerate(people))  # type: ignore[arg-type]


def test_the_same_seed_makes_the_same_order_for_ever() -> None:
    # Worked out once by SHA-256 (FIPS 180-4) with another program; see the facts.
    for plan, technician, wanted in ORDERS:
        assert wanted == [turn.cast for turn in order_of(plan, technician)]


def test_another_seed_or_another_technician_makes_another_order() -> None:
    plans = [DrillPlanned("distance", tuple("ABCDEFGH"), ("AM", "KT"), 3, seed) for seed in (1, 2)]

    assert order_of(plans[0], "AM") != order_of(plans[1], "AM")
    assert order_of(plans[0], "AM") != order_of(plans[0], "KT")


@given(st.integers(1, 12), st.integers(1, 10), st.integers(0, 2**32 - 1))
def test_every_round_holds_every_cast_once_and_none_comes_twice_running(
    casts: int, repeats: int, seed: int
) -> None:
    plan = DrillPlanned("distance", tuple(f"c{n}" for n in range(casts)), ("AM",), repeats, seed)

    order = order_of(plan, "AM")

    assert list(range(1, casts * repeats + 1)) == [turn.number for turn in order]
    for first in range(0, len(order), casts):
        assert set(plan.casts) == {turn.cast for turn in order[first : first + casts]}
    if casts > 2:
        assert all(one.cast != two.cast for one, two in itertools.pairwise(order))


def test_first_places_are_shared_evenly_among_casts() -> None:
    # 4 casts, 4000 seeds: 1000 first places each; 4 standard errors are about 110.
    firsts = [
        order_of(DrillPlanned("distance", tuple("ABCD"), ("AM",), 1, seed), "AM")[0].cast
        for seed in range(4000)
    ]

    assert all(abs(firsts.count(cast) - 1000) < 110 for cast in "ABCD")


def reading(turn: int, cast: str, value_mm: float = 40.0, **rest: object) -> DrillReading:
    return DrillReading(
        rest.pop("drill", said(1, PLAN).id), turn, cast, values_mm=(value_mm,), **rest
    )  # type: ignore[arg-type]


def test_the_next_turn_is_the_first_not_read_and_none_after_closing() -> None:
    order = order_of(PLAN, "AM")
    entries = [said(1, PLAN), said(2, reading(1, order[0].cast), "AM")]

    drill = drills_from(entries)[entries[0].id]
    closed = drills_from([*entries, said(3, DrillClosed(entries[0].id))])[entries[0].id]

    assert order[1] == drill.next_turn("AM")
    assert drill.next_turn("SUP") is None
    assert closed.next_turn("AM") is None
    assert (1, 12, 6) == (drill.taken, drill.wanted, drill.each)


def test_of_two_readings_of_one_turn_the_earlier_counts_whatever_their_order() -> None:
    cast = order_of(PLAN, "AM")[0].cast
    entries = [said(1, PLAN), *(said(2 + n, reading(1, cast, 40 + n), "AM") for n in range(3))]

    for turned in (entries, entries[::-1]):
        drill = drills_from(turned)[entries[0].id]
        assert entries[1] == drill.read["AM"][1]


def test_a_reading_taken_anew_counts_in_place_of_the_first() -> None:
    cast = order_of(PLAN, "AM")[0].cast
    first = said(2, reading(1, cast), "AM")
    again = said(3, reading(1, cast, 41.0), "AM", supersedes=(first.id,), reason="Slipped")

    drill = drills_from([said(1, PLAN), first, again])[said(1, PLAN).id]

    assert again == drill.read["AM"][1]


def test_a_reading_that_no_page_would_have_taken_is_kept_beside_those_that_count() -> None:
    first, second = order_of(PLAN, "AM")[:2]
    plan, closed = said(1, PLAN), said(6, DrillClosed(said(1, PLAN).id))
    read = said(2, reading(1, first.cast), "AM")
    beside = {
        said(3, reading(1, first.cast, 41.0), "AM"): "said_meanwhile",
        said(4, reading(2, first.cast), "AM"): "not_your_turn",
        said(5, reading(1, first.cast), "SUP"): "not_your_turn",
        said(7, reading(2, second.cast), "AM"): "drill_closed",
        said(8, reading(1, first.cast), "AM", supersedes=(read.id,), reason="x"): "drill_closed",
    }

    for order in ([plan, read, closed, *beside], [*reversed(beside), closed, read, plan]):
        drill = drills_from(order)[plan.id]
        assert {"AM": {1: read}} == drill.read
        assert beside == {one.entry: one.code for one in drill.uncounted}


def test_a_reading_without_its_figures_does_not_count() -> None:
    plan = said(1, PLAN)
    bare = DrillReading(plan.id, 1, order_of(PLAN, "AM")[0].cast)

    (one,) = drills_from([plan, said(2, bare, "AM")])[plan.id].uncounted

    assert "not_whole_reading" == one.code


def test_nobody_puts_the_reading_of_another_or_of_another_turn_or_the_plan_aside() -> None:
    mine, theirs = order_of(PLAN, "AM"), order_of(PLAN, "KT")
    plan = said(1, PLAN)
    read = said(2, reading(1, mine[0].cast), "AM")
    again = {"supersedes": (read.id, plan.id), "reason": "x"}

    drill = drills_from(
        [
            plan,
            read,
            said(3, reading(1, theirs[0].cast), "KT", **again),
            said(4, reading(2, mine[1].cast), "AM", **again),
        ]
    )[plan.id]

    assert read == drill.read["AM"][1]
    assert 3 == drill.taken


def refused(body: object, person: str, entries: list[Entry], **rest: object) -> str:
    with pytest.raises(BadEntry) as error:
        check_drill(Draft(body, person, **rest), entries, lab())  # type: ignore[arg-type]
    return error.value.code


def test_a_reading_out_of_turn_is_refused() -> None:
    order, plan = order_of(PLAN, "AM"), said(1, PLAN)
    other = next(cast for cast in PLAN.casts if cast != order[0].cast)

    assert refused(reading(1, other), "AM", [plan]) == "not_your_turn"
    assert refused(reading(1, order[0].cast), "SUP", [plan]) == "not_your_turn"
    assert refused(reading(7, order[0].cast), "AM", [plan]) == "not_your_turn"
    check_drill(Draft(reading(1, order[0].cast), "AM"), [plan], lab())


def test_a_turn_is_read_once_and_taken_anew_only_in_place_of_its_own() -> None:
    cast, plan = order_of(PLAN, "AM")[0].cast, said(1, PLAN)
    held = said(2, reading(1, cast), "AM")
    second = reading(1, cast)
    other = said(3, second, "AM").id
    anew = {"reason": "Slipped", "supersedes": (held.id,)}

    assert refused(reading(1, cast), "AM", [plan, held]) == "said_meanwhile"
    assert refused(second, "AM", [plan, held], reason="x", supersedes=(held.id, other)) == (
        "no_such_entry"
    )
    check_drill(Draft(reading(1, cast), "AM", **anew), [plan, held], lab())  # type: ignore[arg-type]


def test_a_closed_drill_takes_no_reading_and_is_closed_once() -> None:
    plan = said(1, PLAN)
    closed = [plan, said(2, DrillClosed(plan.id))]

    assert refused(reading(1, order_of(PLAN, "AM")[0].cast), "AM", closed) == "drill_closed"
    assert refused(DrillClosed(plan.id), "SUP", closed) == "drill_closed"
    assert refused(DrillClosed(said(9, PLAN).id), "SUP", closed) == "no_such_drill"


def test_a_plan_names_people_who_read() -> None:
    def planned(*people: str) -> DrillPlanned:
        return DrillPlanned("distance", ("A",), people, 2, 1)

    assert refused(planned("AM", "RE"), "SUP", []) == "no_such_person"
    assert refused(planned("XX"), "SUP", []) == "no_such_person"
    check_drill(Draft(planned("AM", "SUP"), "SUP"), [], lab())


def test_somebody_who_left_takes_part_no_more() -> None:
    left = fold_lab(
        [
            said(1, PersonAdded("AM", "technician")),
            said(2, PersonChanged("AM", "technician", False)),
        ]
    )

    with pytest.raises(BadEntry, match="no_such_person"):
        check_drill(Draft(DrillPlanned("distance", ("A",), ("AM",), 2, 1), "SUP"), [], left)


BAD_PLANS = [
    ({"reads": "weight"}, "reads", "not_a_choice"),
    ({"casts": ()}, "casts", "out_of_range"),
    ({"casts": ("A", "A")}, "casts", "named_twice"),
    ({"casts": (" ",)}, "casts", "missing"),
    ({"technicians": ("am",)}, "technicians", "bad_initials"),
    ({"repeats": 0}, "repeats", "out_of_range"),
    ({"seed": -1}, "seed", "out_of_range"),
    ({"sites": ("34MB",)}, "sites", "one_of_each_cast"),
    ({"reads": "undercut"}, "sites", "one_of_each_cast"),
    ({"reads": "undercut", "sites": ("34MB",) * 3}, "gauge_mm", "missing"),
    ({"reads": "undercut", "sites": ("34XX",) * 3, "gauge_mm": 0.25}, "sites", "no_such_site"),
    ({"reads": "tripod_heights"}, "distances_mm", "three_of_each_cast"),
    ({"reads": "tripod_heights", "distances_mm": (90.0, 30.0, 30.0) * 3}, "distances_mm", "no_triangle"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "field", "code"), BAD_PLANS)
def test_a_plan_that_makes_no_sense_is_refused(
    changes: dict[str, object], field: str, code: str
) -> None:
    whole = {"reads": "distance", "casts": ("A", "B", "C"), "technicians": ("AM",), "repeats": 2}

    with pytest.raises(BadEntry) as error:
        DrillPlanned(**{**whole, "seed": 1, **changes})  # type: ignore[arg-type]

    assert (field, code) == (error.value.field, error.value.code)


def drilled(plan: DrillPlanned, values: dict[tuple[str, str], list[tuple[float, ...] | str]]):  # type: ignore[no-untyped-def]
    """Return a drill with readings given by cast and technician in the order of their repeats."""
    entries = [said(1, plan)]
    for name in plan.technicians:
        for turn in order_of(plan, name):
            row = values.get((turn.cast, name), [])
            if turn.repeat <= len(row):
                value = row[turn.repeat - 1]
                contact, heights = (value, ()) if isinstance(value, str) else ("", value)
                body = DrillReading(entries[0].id, turn.number, turn.cast, contact, heights)
                entries.append(said(len(entries) + 1, body, name))
    return drills_from(entries)[entries[0].id]


def test_a_distance_drill_gives_the_variances_of_a_published_gauge_study() -> None:
    # Thermal impedance, Houf and Berman (1988) as given by Montgomery: the figures taken as mm.
    names = ("TA", "TB", "TC")
    plan = DrillPlanned("distance", tuple(f"part {n}" for n in range(10)), names, 3, 3)
    values = {
        (cast, name): [(value,) for value in IMPEDANCE[row][column]]
        for row, cast in enumerate(plan.casts)
        for column, name in enumerate(names)
    }

    (found,) = results_of(drilled(plan, values)).measured  # type: ignore[arg-type]

    parts = found.parts.variances
    assert parts is not None
    variances = (parts.repeat, parts.interaction, parts.technician, parts.cast)
    assert pytest.approx(IMPEDANCE_VARIANCES, abs=0.01) == tuple(one.variance for one in variances)


def test_a_drill_broken_off_says_what_it_can_and_names_what_it_lacks() -> None:
    values = {
        ("A", "AM"): [(40.0,), (40.1,)],
        ("A", "KT"): [(40.2,), (40.3,)],
        ("B", "AM"): [(38.0,)],
    }

    (found,) = results_of(drilled(PLAN, values)).measured

    assert found.parts.variances is None
    assert ["readings"] == sorted({one.what for one in found.parts.missing})
    assert found.by_cast["A"].repeatability_sd == pytest.approx(0.005**0.5)
    assert found.by_cast["B"].repeatability_sd is None
    assert found.by_cast["C"].readings == 0


def test_a_drill_of_heights_finds_the_tilt_back_on_both_axes() -> None:
    # A drop of 1 mm over a triangle whose C lies h above AB: asin(1 / h), plane geometry.
    plan = DrillPlanned("tripod_heights", ("A",), ("AM",), 2, 1, distances_mm=(40.0, 40.0, 40.0))
    drill = drilled(plan, {("A", "AM"): [(0.0, 0.0, 0.0), (0.0, 0.0, -1.0)]})
    fore, side = results_of(drill).measured

    wanted_deg = degrees(asin(1 / (40 * sqrt(3) / 2)))
    assert fore.by_cast["A"].mean == pytest.approx(wanted_deg / 2)
    assert side.by_cast["A"].mean == pytest.approx(0, abs=1e-12)


def test_two_records_differ_by_the_limit_of_an_angle_not_of_a_reading() -> None:
    # Simulated re-mounts with a known axis SD: 95 of 100 pairs must lie within the limit shown.
    rng, sd_mm = random.Random(4), 0.1
    casts = tuple("ABCDEF")
    plan = DrillPlanned("tripod_heights", casts, ("AM", "KT"), 10, 1, distances_mm=(40.0,) * 18)
    values = {
        (cast, name): [tuple(round(rng.gauss(0, sd_mm), 4) for _ in range(3)) for _ in range(10)]
        for cast in casts
        for name in plan.technicians
    }

    found = results_of(drilled(plan, values))  # type: ignore[arg-type]

    axis_sd_deg = degrees(sd_mm * sqrt(2) / 40)  # heights on an equilateral triangle of 40 mm
    assert found.two_records_deg == pytest.approx(3.46 * axis_sd_deg, rel=0.15)


def test_a_drill_of_undercuts_tells_agreement_within_and_between() -> None:
    plan = DrillPlanned(
        "undercut", ("A", "B", "C"), ("AM", "KT"), 2, 5, ("34MB", "35MB", "36MB"), 0.25
    )
    values = {
        ("A", "AM"): ["both", "both"], ("A", "KT"): ["both", "none"],
        ("B", "AM"): ["none", "none"], ("B", "KT"): ["none", "none"],
        ("C", "AM"): ["both", "both"], ("C", "KT"): ["lip_short", "lip_short"],
    }  # fmt: skip

    found = results_of(drilled(plan, values)).tallied  # type: ignore[arg-type]

    assert found is not None
    assert (2, 3) == (found.between.raw.agreeing, found.between.raw.subjects)
    assert (3, 3) == (found.within["AM"].raw.agreeing, found.within["AM"].raw.subjects)
    assert (2, 3) == (found.within["KT"].raw.agreeing, found.within["KT"].raw.subjects)
    assert ("both", "none") == found.table["A"]["KT"]


def test_heights_that_no_cast_can_have_are_left_out_and_counted() -> None:
    plan = DrillPlanned("tripod_heights", ("A",), ("AM",), 2, 1, distances_mm=(20.0, 20.0, 20.0))

    found = results_of(drilled(plan, {("A", "AM"): [(0.0, 0.0, 0.0), (0.0, 0.0, 50.0)]}))

    assert found.left_out == 1
    assert found.measured[0].by_cast["A"].readings == 1
