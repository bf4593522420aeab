"""The Kennedy class: the published patterns and the properties every chart keeps."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.core.arch import WrongArch
from bench.core.kennedy import (
    KennedyResult,
    classify,
    extension_sides,
    proximal_sites_facing_a_space,
    spaces_to_replace,
    teeth_next_to_a_space,
)
from bench.core.surfaces import site_from
from bench.core.teeth import mirrored, place_in_arch, position_of, teeth_of
from tests.facts.kennedy_patterns import ROWS

LOWER = teeth_of("lower")[1:-1]
charts = st.sets(st.sampled_from(LOWER), max_size=len(LOWER))


def found(result: KennedyResult) -> tuple[str, int | None]:
    return result.kennedy_class, result.modifications


def classify_row(row: dict[str, Any]) -> KennedyResult:
    missing = row.get("missing")
    if missing is None:
        missing = [tooth for tooth in teeth_of(row["arch"]) if tooth not in row["remaining"]]
    lists = ("present", "abutment", "not_replaced", "replace", "planned_extraction")
    return classify(row["arch"], missing, **{name: row[name] for name in lists if name in row})


def codes(result: KennedyResult) -> list[str]:
    return [reason.code for reason in result.reasons]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_published_patterns_get_their_class(row: dict[str, Any]) -> None:
    result = classify_row(row)

    assert (row["class"], row["mod"]) == found(result)


def test_all_thirty_five_patterns_are_here() -> None:
    assert len({row["id"] for row in ROWS}) == 35


@given(charts)
def test_the_mirror_image_keeps_class_and_modifications(missing: set[int]) -> None:
    result = classify("lower", missing)

    other = classify("lower", {mirrored(tooth) for tooth in missing})

    assert found(result) == found(other)


@given(charts, st.randoms(use_true_random=False))
def test_enlarging_a_space_keeps_class_and_modifications(missing: set[int], random: Any) -> None:
    result = classify("lower", missing)
    next_to = [t for space in result.spaces for t in space.neighbours if may_go(t, missing)]
    enlarged = {*missing, random.choice(next_to)} if next_to else missing

    after = classify("lower", enlarged)

    assert found(result) == found(after)


def may_go(tooth: int, missing: set[int]) -> bool:
    """Both ways on a tooth is left, or a space on one side only, and the midline is not reached."""
    place = LOWER.index(tooth)
    if position_of(tooth) == 1 or not 0 < place < len(LOWER) - 1:
        return False
    return len({LOWER[place - 1], LOWER[place + 1]} & missing) == 1


@given(charts, st.sets(st.sampled_from([38, 48])), st.sets(st.sampled_from([38, 48])))
def test_third_molars_not_replaced_never_change_the_class(
    missing: set[int], gone: set[int], said: set[int]
) -> None:
    plain = classify("lower", missing)

    with_third_molars = classify("lower", missing | gone, present=said, not_replaced=gone)

    assert found(plain) == found(with_third_molars)


@given(charts)
def test_class_iv_never_has_a_modification(missing: set[int]) -> None:
    result = classify("lower", missing)

    assert (result.kennedy_class in ("IV", "none", "edentulous")) == (result.modifications is None)
    assert result.kennedy_class != "IV" or len(result.spaces) == 1


@given(charts)
def test_spaces_hold_each_counted_missing_tooth_once(missing: set[int]) -> None:
    result = classify("lower", missing)

    in_spaces = [tooth for space in result.spaces for tooth in space.teeth]

    assert sorted(missing) == sorted(in_spaces)


@given(charts)
def test_sites_facing_a_space_belong_to_present_teeth_and_look_at_a_missing_one(
    missing: set[int],
) -> None:
    result = classify("lower", missing)

    for site in proximal_sites_facing_a_space(result):
        toward_midline = -1 if place_in_arch(site.tooth) > 7 else 1
        step = toward_midline if site.surface == "M" else -toward_midline
        assert site.tooth not in missing
        assert teeth_of("lower")[place_in_arch(site.tooth) + step] in missing


def test_no_tooth_left_is_edentulous_with_no_neighbours() -> None:
    result = classify("upper", teeth_of("upper"))

    assert ("edentulous", None) == found(result)
    assert () == teeth_next_to_a_space(result)


def test_the_surfaces_facing_spaces_are_distal_before_and_mesial_behind() -> None:
    result = classify("lower", [48, 47, 46, 35])

    assert [site_from("45D"), site_from("36M"), site_from("34D")] == sorted(
        proximal_sites_facing_a_space(result), key=lambda site: -site.tooth
    )


def test_a_space_across_the_midline_faces_two_mesial_surfaces() -> None:
    result = classify("upper", [11, 21])

    assert [site_from("12M"), site_from("22M")] == proximal_sites_facing_a_space(result)


def test_a_long_space_past_the_midline_faces_the_distal_of_a_tooth_across() -> None:
    result = classify("upper", [17, 16, 15, 14, 13, 12, 11, 21])

    assert [site_from("22M")] == proximal_sites_facing_a_space(result)
    assert ("right",) == extension_sides(result)


def test_teeth_next_to_two_spaces_are_named_once_from_right_to_left() -> None:
    result = classify("upper", [16, 14, 25])

    assert (17, 15, 13, 24, 26) == teeth_next_to_a_space(result)


def test_a_space_not_to_be_replaced_still_counts_but_asks_for_nothing() -> None:
    result = classify("lower", [45, 35], not_replaced=[35])

    assert ("III", 1) == found(result)
    assert ((45,),) == tuple(space.teeth for space in spaces_to_replace(result))


def test_extensions_are_named_by_the_patients_side() -> None:
    result = classify("lower", [36, 37])

    assert ("left",) == extension_sides(result)


def test_reasons_name_the_third_molars_and_what_decided() -> None:
    result = classify("lower", [46, 38], present=[48], planned_extraction=[47])

    assert [
        "extraction_first",
        "third_molar_as_absent",
        "third_molar_ignored",
        "one_extension",
        "modifications",
    ] == codes(result)


def test_missing_outweighs_a_planned_abutment() -> None:
    result = classify("lower", [48, 47, 46], abutment=[48])

    assert ("II", 0) == found(result)


def test_a_tooth_of_the_other_arch_is_refused_by_name() -> None:
    with pytest.raises(WrongArch, match="36 was given for the upper arch"):
        classify("upper", [36])
