"""The arch map: links and words for every tooth, sides as the cast lies, badges kept apart."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.core.arch import arch_model
from bench.core.archplan import Plan, plan_map
from bench.core.archshapes import Lettering, Polygon, Stroke, shapes
from bench.core.surfaces import SURFACES, Site, both_lines
from bench.core.teeth import ARCHES, Arch, mirrored, teeth_of
from bench.core.toothshape import inside, sampled
from bench.web.archmap import ArrowOverlay, LineOverlay, MapPicture, SurfaceMark, ToothMark, draw
from bench.words import Words

SAY = Words("en").say
STATES = ("done", "part", "stale", "todo", "stopped", "plain")


def address(tooth: int, surface: str | None) -> str:
    return f"/{tooth}/{surface or ''}"


def marked(sites: tuple[Site, ...]) -> dict[Site, SurfaceMark]:
    return {
        site: SurfaceMark("done", "recorded", "0.25", push=n % 3 == 0)
        for n, site in enumerate(sites)
    }


def reflected(marks: dict[Site, SurfaceMark]) -> dict[Site, SurfaceMark]:
    return {Site(mirrored(site.tooth), site.surface): mark for site, mark in marks.items()}


def outlines(plan: Plan) -> dict[int, set[tuple[float, float]]]:
    return {
        tooth.place.tooth: {(round(x, 6), round(y, 6)) for x, y in tooth.outline}
        for tooth in plan.teeth
    }


@st.composite
def mouths(draw: st.DrawFn) -> tuple[Arch, dict[Site, SurfaceMark]]:
    arch = draw(st.sampled_from(ARCHES))
    sites = st.builds(Site, st.sampled_from(teeth_of(arch)), st.sampled_from(SURFACES))
    badge = st.text("0123456789.", min_size=1, max_size=6)
    mark = st.builds(
        SurfaceMark, st.sampled_from(STATES), st.just("word"), badge, push=st.booleans()
    )
    return arch, draw(st.dictionaries(sites, mark, max_size=14))


@given(mouths())
@settings(max_examples=25, deadline=None)
def test_a_mirrored_mouth_gives_the_mirrored_map(
    mouth: tuple[Arch, dict[Site, SurfaceMark]],
) -> None:
    arch, marks = mouth

    plan = plan_map(arch_model(arch), surfaces=marks)
    mirror = plan_map(arch_model(arch), surfaces=reflected(marks))

    expected = {
        (mirrored(b.tooth), b.text, round(-b.box.x_mm, 6), round(b.box.y_mm, 6))
        for b in plan.badges
    }
    assert expected == {
        (b.tooth, b.text, round(b.box.x_mm, 6), round(b.box.y_mm, 6)) for b in mirror.badges
    }


@given(mouths())
@settings(max_examples=25, deadline=None)
def test_no_badge_lies_over_another_or_over_a_tooth(
    mouth: tuple[Arch, dict[Site, SurfaceMark]],
) -> None:
    arch, marks = mouth

    plan = plan_map(arch_model(arch), surfaces=marks)

    assert not any(a.box.meets(b.box) for a, b in combinations(plan.badges, 2))
    assert not any(
        badge.box.holds(point)
        for badge in plan.badges
        for tooth in plan.teeth
        for point in sampled(tooth.outline)
    )


@pytest.mark.parametrize("arch", ARCHES)
def test_a_badge_on_every_surface_of_every_tooth_still_finds_its_place(arch: Arch) -> None:
    sites = tuple(Site(tooth, surface) for tooth in teeth_of(arch) for surface in SURFACES)

    plan = plan_map(arch_model(arch), surfaces=marked(sites), chosen_tooth=teeth_of(arch)[3])

    assert len(plan.badges) == 128
    assert not any(a.box.meets(b.box) for a, b in combinations(plan.badges, 2))


@pytest.mark.parametrize("arch", ARCHES)
def test_teeth_of_both_sides_are_drawn_alike(arch: Arch) -> None:
    drawn = outlines(plan_map(arch_model(arch)))

    for tooth in teeth_of(arch):
        assert drawn[mirrored(tooth)] == {(-x + 0.0, y) for x, y in drawn[tooth]}


@pytest.mark.parametrize("arch", ARCHES)
def test_every_present_tooth_has_a_link_and_is_named(arch: Arch) -> None:
    first, last = teeth_of(arch)[0], teeth_of(arch)[-1]

    picture = draw(arch_model(arch), say=SAY, missing={first}, replaced={last}, href=address)

    linked = {tooth.tooth: tooth.href for tooth in picture.teeth if tooth.href}
    assert linked == {tooth: f"/{tooth}/" for tooth in teeth_of(arch) if tooth != first}
    assert all(tooth.label.startswith(str(tooth.tooth)) for tooth in picture.teeth)
    assert picture.teeth[0].label == f"{first}, third molar, missing"
    assert picture.teeth[-1].label == f"{last}, third molar, missing, to be replaced"


def test_gaps_can_be_tapped_where_teeth_are_being_counted() -> None:
    picture = draw(arch_model("lower"), say=SAY, missing={36}, href=address, link_missing=True)

    assert len([tooth for tooth in picture.teeth if tooth.href]) == 16


def test_the_label_of_a_tooth_says_everything_the_map_shows() -> None:
    picture = draw(
        arch_model("lower"),
        say=SAY,
        extractions={34},
        teeth={34: ToothMark("stale", "stale, setting 2", badge="set. 2", planned=True)},
        surfaces={Site(34, "MB"): SurfaceMark("done", "recorded", "0.25")},
    )

    label = next(tooth.label for tooth in picture.teeth if tooth.tooth == 34)
    assert label == (
        "34, first premolar, to be extracted, stale, setting 2, reading set. 2, planned, "
        "MB recorded, 0.25"
    )


def sides(picture: MapPicture) -> tuple[str, str]:
    left_first = picture.left.x < picture.right.x
    return ("left", "right") if left_first else ("right", "left")


def test_an_upper_cast_shows_the_patients_left_on_the_viewers_right() -> None:
    # Common practice, no source: an upper cast on its base is seen as from below the mouth.
    picture = draw(arch_model("upper"), say=SAY)

    across = {tooth.tooth: tooth.number.x for tooth in picture.teeth}
    assert sides(picture) == ("right", "left")
    assert across[16] < 0 < across[26]


def test_a_lower_cast_shows_the_patients_right_on_the_viewers_right() -> None:
    # Common practice, no source: a lower cast on its base is seen as from above the tongue.
    picture = draw(arch_model("lower"), say=SAY)

    across = {tooth.tooth: tooth.number.x for tooth in picture.teeth}
    assert sides(picture) == ("left", "right")
    assert across[36] < 0 < across[46]


@pytest.mark.parametrize("arch", ARCHES)
def test_the_front_of_the_cast_is_at_the_top(arch: Arch) -> None:
    picture = draw(arch_model(arch), say=SAY)

    down = {tooth.tooth % 10: tooth.number.y for tooth in picture.teeth}
    assert down[1] < down[4] < down[8]
    assert picture.front.y < down[1]


def test_teeth_are_numbered_as_the_reader_wants() -> None:
    # Source: ISO 3950 and the Universal system, in which 18 is 1 and 28 is 16.
    picture = draw(arch_model("upper"), say=SAY, numbering="universal")

    assert [tooth.number.text for tooth in picture.teeth] == [str(n) for n in range(1, 17)]


@pytest.mark.parametrize("tooth", [11, 13, 24, 18, 31, 43, 36, 48])
def test_each_surface_of_the_enlarged_tooth_is_touchable_on_a_phone(tooth: int) -> None:
    arch: Arch = "upper" if tooth < 30 else "lower"
    picture = draw(arch_model(arch), say=SAY, chosen_tooth=tooth, href=address)
    plan = plan_map(arch_model(arch), chosen_tooth=tooth)
    # WCAG 2.2, 2.5.5 target size (enhanced): 44 CSS px; a phone leaves 378 px for the map.
    radius_mm = 22 * picture.width / 378

    for zone in plan.zones:
        around = [(zone.at[0] + dx, zone.at[1] + dy) for dx, dy in compass(radius_mm * 0.9)]
        assert all(inside(zone.outline, point) for point in around), zone.surface


@pytest.mark.parametrize("tooth", [18, 28, 38, 48])
def test_the_last_tooth_is_touchable_on_a_phone_though_it_is_missing(tooth: int) -> None:
    arch: Arch = "upper" if tooth < 30 else "lower"
    missing = {tooth, mirrored(tooth)}
    badges = marked((Site(tooth - 1, "B"), Site(mirrored(tooth - 1), "B")))
    plan = plan_map(arch_model(arch), surfaces=badges, missing=missing)
    picture = draw(arch_model(arch), say=SAY, surfaces=badges, missing=missing, href=address)
    reach = next(one.reach for one in plan.teeth if one.place.tooth == tooth)

    # WCAG 2.2, 2.5.5: 44 CSS px; the page for no bench PC leaves a phone 356 px for the map.
    least_mm = 44 * picture.width / 356
    for axis in (0, 1):
        assert max(p[axis] for p in reach) - min(p[axis] for p in reach) >= least_mm


def compass(radius_mm: float) -> list[tuple[float, float]]:
    return [(radius_mm, 0), (-radius_mm, 0), (0, radius_mm), (0, -radius_mm)]


def test_the_eight_surfaces_of_a_chosen_tooth_are_links_of_their_own() -> None:
    picture = draw(arch_model("lower"), say=SAY, chosen_tooth=34, chosen_surface="MB", href=address)

    assert picture.close_up is not None
    assert {z.href for z in picture.close_up.zones} == {f"/34/{s}" for s in SURFACES}
    assert [z.surface for z in picture.close_up.zones if z.chosen] == ["MB"]
    assert {z.label for z in picture.close_up.zones if z.surface == "D"} == {"34 D, distal"}


def test_outward_surfaces_of_the_enlarged_tooth_lie_outward() -> None:
    place = arch_model("lower").place(36)

    zones = {zone.surface: zone.at for zone in plan_map(arch_model("lower"), chosen_tooth=36).zones}

    outward = (zones["B"][0] - zones["L"][0], zones["B"][1] - zones["L"][1])
    distal = (zones["D"][0] - zones["M"][0], zones["D"][1] - zones["M"][1])
    assert outward[0] * place.outward[0] + outward[1] * place.outward[1] > 20
    assert distal[0] * place.distal[0] + distal[1] * place.distal[1] > 20


def test_without_addresses_the_map_is_a_still_picture() -> None:
    picture = draw(arch_model("upper"), say=SAY, chosen_tooth=14)

    assert not picture.linked
    assert picture.close_up is not None
    assert not any(zone.href for zone in picture.close_up.zones)


def test_labels_of_lines_keep_clear_of_badges_and_teeth() -> None:
    overlays = (
        LineOverlay("fulcrum", (-26, 6), (17, 29), "fulcrum line"),
        ArrowOverlay("resultant", (0, 18), (6, 23), "not balanced"),
    )

    plan = plan_map(arch_model("lower"), surfaces=marked(both_lines("lower")), overlays=overlays)

    boxes = [box for box in plan.label_boxes if box]
    assert len(boxes) == 2
    assert not any(box.meets(badge.box) for box in boxes for badge in plan.badges)


def test_sheets_get_the_same_places_as_the_screen() -> None:
    plan = plan_map(
        arch_model("lower"),
        missing={46},
        replaced={46},
        teeth={35: ToothMark("stale", "stale", "set. 2", planned=True)},
        surfaces={Site(44, "MB"): SurfaceMark("done", "recorded", "0.25", push=True)},
    )

    drawn = shapes(plan)

    letters = {shape.text for shape in drawn if isinstance(shape, Lettering)}
    badges = [s for s in drawn if isinstance(s, Polygon) and s.role == "badge"]
    assert {"set. 2", "0.25", "46"} <= letters
    assert [badge.points for badge in badges] == [b.box.corners for b in plan.badges]
    assert {"bar", "hatch"} <= {s.role for s in drawn if isinstance(s, Stroke)}


def test_hatching_stays_within_its_tooth() -> None:
    plan = plan_map(arch_model("upper"), teeth={16: ToothMark("stale", "stale")})
    tooth = next(tooth for tooth in plan.teeth if tooth.place.tooth == 16)

    strokes = [s for s in shapes(plan) if isinstance(s, Stroke) and s.role == "hatch"]

    middles = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in (s.points for s in strokes)]
    assert len(middles) >= 6
    assert all(inside(sampled(tooth.outline), middle) for middle in middles)
