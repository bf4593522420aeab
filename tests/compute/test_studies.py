"""Precision, kappa and charts for scripts: published figures, and answers to too little."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.compute import NotTaken, compute
from tests.facts.agreement_studies import (
    FOURTEEN_READERS,
    FOURTEEN_READERS_RESULTS,
    YES_NO,
    YES_NO_RESULTS,
)
from tests.facts.chart_figures import FLOW, FLOW_CHART
from tests.facts.interlaboratory import GLUCOSE, GLUCOSE_RESULTS


def answer(name: str, given: object) -> Any:
    return json.loads(compute(name, json.dumps(given).encode()))


def refusal(name: str, given: object) -> str:
    with pytest.raises(NotTaken) as refused:
        compute(name, json.dumps(given).encode())
    return refused.value.code


def test_glucose_is_answered_by_item_as_published() -> None:
    cells = {
        f"lab {lab}": {material: GLUCOSE[material][lab] for material in GLUCOSE} for lab in range(8)
    }

    found = answer("precision", {"cells": cells})

    assert list(GLUCOSE) == list(found)
    for material, item in found.items():
        names = ("mean", "s_r", "s_R", "r_limit", "R_limit")
        assert pytest.approx(GLUCOSE_RESULTS[material], abs=0.006) == tuple(
            item[name] for name in names
        )
    assert (0.0, True) == (found["A"]["s_L"], found["A"]["s_L_clamped"])
    assert ("lab 1", "outlier") == (
        found["E"]["cochran"]["person"],
        found["E"]["cochran"]["verdict"],
    )


def test_too_few_readings_say_what_is_missing() -> None:
    found = answer("precision", {"cells": {"Ada": {"34B": [0.25]}}})["34B"]

    assert (0.25, None, None, None) == (found["mean"], found["s_r"], found["s_R"], found["r_limit"])
    assert [("persons", 2), ("repeats of one person", 2)] == [
        (m["what"], m["need"]) for m in found["missing"]
    ]
    assert found["missing"][0]["message"].startswith("not enough data: ")


def test_a_table_of_many_readers_has_the_published_kappa() -> None:
    found = answer("kappa", {"table": FOURTEEN_READERS})

    names = ("observed", "expected", "kappa")
    assert pytest.approx(FOURTEEN_READERS_RESULTS, abs=1e-6) == tuple(found[n] for n in names)
    low, high = found["interval"]
    assert low < found["kappa"] < high


def test_pairs_of_two_readers_have_the_published_kappa() -> None:
    words = ("yes", "no")
    pairs = [
        (words[i], words[j])
        for i, row in enumerate(YES_NO)
        for j, n in enumerate(row)
        for _ in range(n)
    ]

    found = answer("kappa", {"pairs": pairs})

    names = ("observed", "expected", "kappa")
    assert pytest.approx(YES_NO_RESULTS) == tuple(found[name] for name in names)
    assert ("Cohen", 35) == (found["kind"], found["all_agree"]["subjects"])


def test_when_all_say_the_same_kappa_is_null_and_undefined() -> None:
    found = answer("kappa", {"pairs": [["at", "at"]] * 5})

    assert (None, True, 1.0, 1.0) == (
        found["kappa"],
        found["undefined"],
        found["observed"],
        found["ac1"],
    )


def test_one_and_true_are_different_categories() -> None:
    assert 0.0 == answer("kappa", {"pairs": [[1, True], [1, True]]})["observed"]


@pytest.mark.parametrize("given", [{}, {"table": [[1, 2]], "pairs": [["a", "b"]]}])
def test_kappa_takes_either_a_table_or_pairs(given: dict[str, object]) -> None:
    assert "bad_input" == refusal("kappa", given)


def test_a_ragged_table_is_refused() -> None:
    assert "bad_table" == refusal("kappa", {"table": [[1, 2], [3]]})


def test_flow_rates_have_the_published_chart() -> None:
    found = answer("chart", {"readings": FLOW})

    centre, moving_range, upper, lower = FLOW_CHART
    assert pytest.approx((centre, moving_range), abs=1e-4) == (
        found["centre"],
        found["moving_range"]["centre"],
    )
    assert pytest.approx([lower, upper], abs=0.002) == found["limits"]  # source rounds d2
    assert ([], []) == (found["signals"], found["missing"])


def test_a_jump_after_the_baseline_names_its_readings() -> None:
    found = answer("chart", {"readings": [*FLOW, 60.0], "baseline": 10})

    assert {"rule": "one_beyond_three", "side": "high", "at": 10, "indexes": [10]} in found[
        "signals"
    ]


values = st.floats(-1e15, 1e15)
names = st.sampled_from(("Ada", "Ben", "Cleo", "Dan", "Eva", "Finn"))
cells = st.dictionaries(names, st.dictionaries(names, st.lists(values, max_size=4), max_size=2))


@given(cells, st.lists(values, max_size=30))
def test_all_readings_within_the_limits_are_answered(
    study: dict[str, dict[str, list[float]]], readings: list[float]
) -> None:
    items = {item for row in study.values() for item in row}

    assert items == set(answer("precision", {"cells": study}))
    assert len(readings) == answer("chart", {"readings": readings})["readings"]


@given(st.lists(st.lists(st.integers(0, 3), min_size=3, max_size=3), max_size=6))
def test_all_tables_of_counts_are_answered(table: list[list[int]]) -> None:
    found = answer("kappa", {"table": table})

    assert found["kappa"] is None or found["kappa"] <= 1
    low, high = found["interval"] or (-9, 1)
    assert found["kappa"] is None or low <= found["kappa"] <= high
    assert bool(found["missing"]) == (found["observed"] is None)


def test_one_reading_has_no_chart() -> None:
    found = answer("chart", {"readings": [0.3]})

    assert (None, None, []) == (found["centre"], found["limits"], found["signals"])
    assert ["readings"] == [m["what"] for m in found["missing"]]
