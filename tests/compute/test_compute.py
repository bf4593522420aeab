"""The computations for scripts: worked examples, figures known from elsewhere, and refusals."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from bench.cli import main
from bench.compute import COMPUTATIONS, NotTaken, compute
from bench.core.teeth import teeth_of
from tests.facts.kennedy_patterns import ROWS
from tests.facts.retention_cells import CELLS, SHARES_LEFT
from tests.facts.survey_figures import SPHERE_DEPTH_MM, SPHERE_DROP_MM
from tests.facts.tripod_figures import (
    EQUILATERAL,
    REMOUNT_HEIGHTS_MM,
    REMOUNT_MARKS_MM,
    REMOUNT_OFF_DEG,
)

EXAMPLES = {
    example["name"]: example
    for path in sorted((Path(__file__).parent / "examples").glob("*.json"))
    for example in [json.loads(path.read_text(encoding="utf-8"))]
}
FIRST_EIGHT = (
    *("kennedy", "angle", "what-if", "find-tilt"),
    *("tripod", "remount", "retention", "lines"),
)
TEXTS_LIKE_NUMBERS = ('"5"', "NaN", "Infinity", "1e999", "true", "null", "[]", "{}")


def answer(name: str, given: object) -> Any:
    return json.loads(compute(name, json.dumps(given).encode()))


def refusal(name: str, given: object) -> str:
    raw = given if isinstance(given, bytes) else json.dumps(given).encode()
    with pytest.raises(NotTaken) as refused:
        compute(name, raw)
    assert str(refused.value)
    return refused.value.code


def leaves(value: object, path: tuple[object, ...] = ()) -> dict[tuple[object, ...], object]:
    """Return every plain value of a JSON document by its path."""
    if isinstance(value, dict | list):
        parts = value.items() if isinstance(value, dict) else enumerate(value)
        return {p: leaf for key, part in parts for p, leaf in leaves(part, (*path, key)).items()}
    return {path: value}


def shown(value: object) -> object:
    return pytest.approx(value, abs=1e-6) if isinstance(value, float) else value


def spoiled(given: Any, path: tuple[Any, ...], text: str) -> bytes:
    """Return JSON with one value replaced by raw text."""
    copy = json.loads(json.dumps(given))
    at = copy
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = "HERE"
    return json.dumps(copy).replace('"HERE"', text).encode()


def numbers(given: object) -> list[tuple[object, ...]]:
    return [path for path, leaf in leaves(given).items() if isinstance(leaf, int | float)]


@pytest.mark.parametrize("name", EXAMPLES)
def test_each_worked_example_is_answered_as_written(name: str) -> None:
    example = EXAMPLES[name]

    found = leaves(answer(name, example["in"]))

    assert {path: shown(leaf) for path, leaf in leaves(example["out"]).items()} == found


def test_every_computation_has_a_worked_example() -> None:
    assert set(FIRST_EIGHT) <= set(EXAMPLES)
    assert set(FIRST_EIGHT) <= set(COMPUTATIONS)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_kennedy_classes_are_the_ones_of_the_patterns(row: dict[str, Any]) -> None:
    named = ("present", "abutment", "not_replaced", "replace", "planned_extraction")
    standing = row.get("remaining", ())
    missing = row.get("missing") or [t for t in teeth_of(row["arch"]) if t not in standing]
    more = {name: row[name] for name in named if name in row}

    found = answer("kennedy", {"arch": row["arch"], "missing": missing, **more})

    assert (row["class"], row["mod"]) == (found["class"], found["mod"])
    assert found["reasons"]


@pytest.mark.parametrize(("tilt_deg", "depth_mm"), SPHERE_DEPTH_MM)
def test_a_tilted_sphere_has_the_derived_depths(tilt_deg: int, depth_mm: float) -> None:
    site = {"name": "34B", "phi_deg": 90, "gauge_mm": 0.2531, "drop_mm": SPHERE_DROP_MM}

    found = answer(
        "what-if", {"sites": [site], "walls": [], "tilt": {"ap_deg": tilt_deg, "lat_deg": 0}}
    )

    assert pytest.approx(depth_mm, abs=0.001) == found["sites"][0]["depth_mm"]


def test_an_undercut_that_is_lost_has_no_drop() -> None:
    site = {"name": "34B", "phi_deg": 90, "gauge_mm": 0.05, "drop_mm": 2}

    found = answer("what-if", {"sites": [site], "walls": [], "tilt": {"ap_deg": -9, "lat_deg": 0}})

    assert (0.0, None) == (found["sites"][0]["depth_mm"], found["sites"][0]["drop_mm"])


@pytest.mark.parametrize(("side_mm", "sd_mm", "sd_deg", "total_deg"), EQUILATERAL)
def test_equilateral_marks_hold_as_derived(
    side_mm: float, sd_mm: float, sd_deg: float, total_deg: float
) -> None:
    sides = dict.fromkeys(("12", "13", "23"), side_mm)

    found = answer("tripod", {"distances_mm": sides, "reading_sd_mm": sd_mm})

    assert pytest.approx([sd_deg, sd_deg], abs=0.001) == found["sd_axes_deg"]
    assert pytest.approx(total_deg, abs=0.002) == found["total95_deg"]


def test_a_remounted_cast_is_off_as_derived() -> None:
    found = answer(
        "remount", {"marks_mm": REMOUNT_MARKS_MM, "heights_mm": REMOUNT_HEIGHTS_MM}
    )  # fmt: skip

    off = (found["ap_deg"], found["lat_deg"], found["total_deg"])
    assert pytest.approx(REMOUNT_OFF_DEG, abs=1e-9) == off
    assert ["back", "right"] == [move["edge"] for move in found["advice"]]
    assert found["residual_mm"] is None


@pytest.mark.parametrize(("right", "left", "balanced"), CELLS)
def test_the_sixteen_cells_balance_as_taught(right: str, left: str, balanced: bool) -> None:
    tips = [{"tooth": 14, "surface": letter} for letter in right]
    tips += [{"tooth": 25, "surface": letter} for letter in left]

    found = answer("retention", {"arch": "upper", "tips": tips})

    assert balanced == found["balanced"]
    assert (found["T"] is None) == (not tips)


@pytest.mark.parametrize(("right", "left", "least", "most"), SHARES_LEFT)
def test_pushes_leave_the_worked_share(
    right: tuple[str, ...], left: tuple[str, ...], least: float, most: float
) -> None:
    tips = [
        {"tooth": quadrant + int(tip[0]), "surface": tip[1:]}
        for quadrant, side in ((10, right), (20, left))
        for tip in side
    ]

    found = answer("retention", {"arch": "upper", "tips": tips})

    assert least - 0.006 <= found["T"] <= most + 0.006


@pytest.mark.parametrize("kennedy_class", ["III", "none", "edentulous"])
def test_classes_without_a_line_have_none(kennedy_class: str) -> None:
    tips = [{"tooth": 34, "surface": "MB"}]

    found = answer(
        "lines", {"arch": "lower", "class": kennedy_class, "rests": [34, 44], "tips": tips}
    )

    assert found["fulcrum"] is None
    assert [{"tooth": 34, "distance_mm": None}] == found["tips"]


def test_in_class_one_the_line_runs_through_the_most_distal_rests() -> None:
    tips = [{"tooth": 33, "surface": "B"}, {"tooth": 45, "surface": "DB"}]

    found = answer(
        "lines", {"arch": "lower", "class": "I", "rests": [33, 34, 44, 45], "tips": tips}
    )
    (right, left), (forward, behind) = found["fulcrum"], found["tips"]

    assert right[0] > 0 > left[0]
    assert left[1] > right[1]
    assert forward["distance_mm"] > 0 > behind["distance_mm"]


def test_in_class_four_the_base_lies_in_front() -> None:
    tips = [{"tooth": 16, "surface": "MB"}]

    found = answer("lines", {"arch": "upper", "class": "IV", "rests": [13, 24], "tips": tips})

    assert found["tips"][0]["distance_mm"] > 0


def test_without_a_rest_on_each_side_there_is_no_line() -> None:
    found = answer("lines", {"arch": "upper", "class": "I", "rests": [14], "tips": []})

    assert found["fulcrum"] is None


def test_rests_that_leave_no_room_for_the_class_are_refused() -> None:
    given = {"arch": "upper", "class": "IV", "rests": [11, 21], "tips": []}

    assert "rests_against_class" == refusal("lines", given)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_field_that_is_not_known_is_refused(name: str) -> None:
    assert "bad_input" == refusal(name, {**EXAMPLES[name]["in"], "colour": 1})


@pytest.mark.parametrize("name", FIRST_EIGHT)
def test_a_field_that_is_missing_is_refused(name: str) -> None:
    given = EXAMPLES[name]["in"]
    for field in given:
        rest = {key: value for key, value in given.items() if key != field}

        assert "bad_input" == refusal(name, rest)


@pytest.mark.parametrize("text", TEXTS_LIKE_NUMBERS)
@pytest.mark.parametrize("name", FIRST_EIGHT)
def test_what_is_no_number_is_refused_for_every_number(name: str, text: str) -> None:
    given = EXAMPLES[name]["in"]
    for path in numbers(given):
        if text == "null" and path[-2:] == ("want_mm", 1):
            continue

        assert refusal(name, spoiled(given, path, text)) in ("bad_input", "not_json")


@pytest.mark.parametrize(
    ("name", "given", "code"),
    [
        ("kennedy", {"arch": "upper", "missing": [36]}, "tooth_not_on_arch"),
        ("kennedy", {"arch": "upper", "missing": [19]}, "no_such_tooth"),
        ("kennedy", {"arch": "both", "missing": []}, "bad_input"),
        ("lines", {"arch": "upper", "class": "I", "rests": [34], "tips": []}, "tooth_not_on_arch"),
        (
            "retention",
            {"arch": "lower", "tips": [{"tooth": 14, "surface": "B"}]},
            "tooth_not_on_arch",
        ),
        (
            "angle",
            {"from": {"ap_deg": 80, "lat_deg": 80}, "to": {"ap_deg": 0, "lat_deg": 0}},
            "tilt_too_steep",
        ),
        (
            "tripod",
            {"distances_mm": {"12": 10, "13": 10, "23": 30}, "reading_sd_mm": 0.1},
            "no_triangle",
        ),
        (
            "tripod",
            {"distances_mm": {"12": 20, "13": 20, "23": 39.9}, "reading_sd_mm": 0.1},
            "collinear_marks",
        ),
        ("remount", {"marks_mm": [[0, 0], [9, 0]], "heights_mm": [0, 0]}, "too_few_marks"),
        (
            "remount",
            {"marks_mm": [[0, 0], [9, 0], [0, 9]], "heights_mm": [0, 0]},
            "unequal_counts",
        ),
        (
            "remount",
            {"marks_mm": [[0, 0], [9, 0], [0, 9]], "heights_mm": [0, 0, 99]},
            "heights_too_steep",
        ),
        ("find-tilt", {"sites": [], "walls": [], "limit_deg": 60}, "bad_limit"),
        ("calliper", {}, "no_such_computation"),
    ],
)
def test_what_cannot_be_is_refused_with_its_code(
    name: str, given: dict[str, Any], code: str
) -> None:
    assert code == refusal(name, given)


def test_two_sites_of_one_name_are_refused() -> None:
    site = {"name": "34B", "phi_deg": 90, "gauge_mm": 0.25, "drop_mm": 2}
    tilt = {"ap_deg": 0, "lat_deg": 0}
    wished = {**site, "want_mm": [0.2, None]}

    assert "name_twice" == refusal("what-if", {"sites": [site] * 2, "walls": [], "tilt": tilt})
    assert "name_twice" == refusal("find-tilt", {"sites": [wished] * 2, "walls": []})


def test_a_window_turned_round_is_refused() -> None:
    site = {"name": "34B", "phi_deg": 90, "gauge_mm": 0.25, "drop_mm": 2, "want_mm": [0.4, 0.2]}

    assert "bad_wish" == refusal("find-tilt", {"sites": [site], "walls": []})


@pytest.mark.parametrize("raw", [b"", b"[", b"\xff", b"[" * 100_000, b"[]", b"7", b'{"arch":'])
def test_what_is_no_json_object_is_refused(raw: bytes) -> None:
    assert refusal("kennedy", raw) in ("not_json", "bad_input")


@given(
    st.lists(
        st.tuples(st.floats(-360, 360), st.floats(1e-4, 1000), st.floats(1e-4, 1000),
                  st.floats(0, 1000), st.none() | st.floats(0, 1000)),
        max_size=6,
    ),
    st.lists(
        st.tuples(st.floats(-360, 360), st.floats(-80, 80), st.floats(1e-4, 1000)), max_size=4
    ),
    st.floats(0.01, 40),
    st.floats(0, 1e6),
)  # fmt: skip
def test_every_case_within_the_limits_is_answered_or_refused(
    sites: list[tuple[float, ...]], walls: list[tuple[float, ...]], limit: float, tie: float
) -> None:
    site_names = ("phi_deg", "gauge_mm", "drop_mm")
    wall_names = ("phi_deg", "alpha_deg", "height_mm")
    given: dict[str, Any] = {
        "sites": [
            {"name": f"s{n}", **dict(zip(site_names, s[:3], strict=True)), "want_mm": s[3:]}
            for n, s in enumerate(sites)
        ],
        "walls": [
            {"name": f"w{n}", **dict(zip(wall_names, w, strict=True))} for n, w in enumerate(walls)
        ],
        "limit_deg": limit,
        "tie_weight": tie,
    }
    wishes = [site["want_mm"] for site in given["sites"]]
    if any(most is not None and most < least for least, most in wishes):
        assert "bad_wish" == refusal("find-tilt", given)
        return

    found = answer("find-tilt", given)

    assert max(abs(found["ap_deg"]), abs(found["lat_deg"])) <= limit + 1e-9
    assert found["feasible"] == (not found["conflict"]) == bool(found["polygon_deg"])
    assert len(found["conflict"]) <= 3


def test_the_command_answers_on_standard_output() -> None:
    example = EXAMPLES["angle"]

    result = CliRunner().invoke(main, ["compute", "angle"], input=json.dumps(example["in"]))

    assert 0 == result.exit_code
    assert pytest.approx(1.4112680, abs=1e-6) == json.loads(result.stdout)["angle_deg"]


@pytest.mark.parametrize(("name", "raw"), [("angle", "{"), ("nothing", "{}"), ("angle", "{}")])
def test_the_command_ends_with_2_and_a_code_on_anything_wrong(name: str, raw: str) -> None:
    result = CliRunner().invoke(main, ["compute", name], input=raw)

    assert 2 == result.exit_code
    assert {"error", "message"} == json.loads(result.stdout).keys()
