"""Photos of a case: what replaced them, what is said of them, what their marks measure."""

from __future__ import annotations

from dataclasses import replace
from math import dist

import pytest

from bench.core.bounds import BadEntry
from bench.core.casephotos import check_of, measured, measured_of, photo_of, photos_of, tripod_of
from bench.core.entries import (
    Entry,
    PhotoDrawn,
    PhotoKept,
    PhotoMarksConfirmed,
    TripodMarked,
    Withdrawn,
)
from bench.core.entries.photos import Shape
from bench.core.ids import entry_id
from bench.core.lens import USUAL
from bench.core.tripod import triangle_from
from tests.core.bench_story import TRIPOD, Story, a_ready_cast
from tests.core.test_accept import NOWHERE, refusal

SHA = "a" * 64
WIDTH, HEIGHT, PX_PER_MM = 1200, 900, 10.0
CORNERS = (100.0, 100.0, 300.0, 100.0, 300.0, 300.0, 100.0, 300.0)


def on_picture(marked: TripodMarked) -> tuple[float, ...]:
    """Return where A, B, C lie on a picture taken from straight above at ten pixels a millimetre."""
    triangle = triangle_from(marked.d_ab_mm, marked.d_ac_mm, marked.d_bc_mm, marked.sense)  # type: ignore[arg-type]
    return tuple(
        figure
        for x, y in triangle.marks_mm
        for figure in (400 + PX_PER_MM * x, 450 - PX_PER_MM * y)
    )


def confirmed(tripod_id: str, **changed: object) -> PhotoMarksConfirmed:
    body = PhotoMarksConfirmed(SHA, tripod_id, 20.0, CORNERS, on_picture(TRIPOD), ("found",) * 3)
    return replace(body, **changed)  # type: ignore[arg-type]


@pytest.fixture
def story() -> Story:
    return a_ready_cast()


@pytest.fixture
def tripod(story: Story) -> Entry:
    return story.last(TripodMarked)


def test_confirmed_marks_measure_what_the_caliper_measured(story: Story, tripod: Entry) -> None:
    story.say(confirmed(tripod.id))

    photo = photo_of(story.case, SHA)
    assert photo is not None
    found, check = measured_of(photo), check_of(photo, story.case)
    assert found is not None
    assert check is not None
    assert pytest.approx((TRIPOD.d_ab_mm, TRIPOD.d_ac_mm, TRIPOD.d_bc_mm)) == found.distances_mm
    assert (check.verdict, found.guessed, found.mirrored) == ("agree", True, False)
    assert pytest.approx(0.0, abs=1e-4) == found.tilt_deg


def test_two_marks_named_the_wrong_way_round_are_told(story: Story, tripod: Entry) -> None:
    uneven = replace(TRIPOD, d_ab_mm=37.0, d_ac_mm=43.0)
    again = story.say(uneven, supersedes=(tripod.id,), reason="read again")
    a, b, c = (on_picture(uneven)[i : i + 2] for i in (0, 2, 4))
    story.say(confirmed(again.id, marks_px=(*a, *c, *b)))

    check = check_of(photo_of(story.case, SHA), story.case)  # type: ignore[arg-type]

    assert check is not None
    assert (check.verdict, check.why, check.order) == ("swapped", "names", ("AC", "AB", "BC"))


def test_the_newest_places_of_a_photo_count(story: Story, tripod: Entry) -> None:
    story.say(confirmed(tripod.id))
    later = story.say(confirmed(tripod.id, came=("moved", "found", "found")))

    assert photo_of(story.case, SHA).marks.entry.id == later.id  # type: ignore[union-attr]


def test_taking_places_back_leaves_the_ones_before(story: Story, tripod: Entry) -> None:
    first = story.say(confirmed(tripod.id))
    later = story.say(confirmed(tripod.id))
    story.say(Withdrawn(later.id), reason="slipped")

    assert photo_of(story.case, SHA).marks.entry.id == first.id  # type: ignore[union-attr]


def test_places_are_held_against_the_corrected_distances(story: Story, tripod: Entry) -> None:
    story.say(confirmed(tripod.id))
    wrong = replace(TRIPOD, d_ab_mm=TRIPOD.d_ab_mm + 3)
    story.say(wrong, supersedes=(tripod.id,), reason="read again")

    assert tripod_of(tripod.id, story.case) == wrong
    check = check_of(photo_of(story.case, SHA), story.case)  # type: ignore[arg-type]
    assert check is not None
    assert (check.verdict, check.odd_side) == ("look_again", "AB")


def test_a_photo_taken_again_replaces_the_first_and_both_stay(story: Story, tripod: Entry) -> None:
    first = story.last(PhotoKept)
    again = PhotoKept("b" * 64, "image/jpeg", WIDTH, HEIGHT, "tripod", tripod.id)
    story.say(again, supersedes=(first.id,), reason="sharper")

    older, newer = photos_of(story.case)
    assert (older.replaced, older.taken_back, newer.replaced) == (True, False, False)
    assert newer.about == tripod


def test_a_photo_taken_back_is_not_a_replaced_one(story: Story) -> None:
    story.say(Withdrawn(story.last(PhotoKept).id), reason="blurred")

    (photo,) = photos_of(story.case)
    assert (photo.replaced, photo.taken_back) == (False, True)


def test_of_two_photos_of_the_same_bytes_the_one_that_stands_is_meant(story: Story) -> None:
    first = story.last(PhotoKept)
    second = story.say(replace(first.body, shows="cast"))
    story.say(Withdrawn(second.id), reason="twice")

    assert photo_of(story.case, SHA).entry.id == first.id  # type: ignore[union-attr]
    assert photo_of(story.case, "f" * 64) is None


def test_what_is_said_of_a_photo_recalls_no_release(story: Story, tripod: Entry) -> None:
    story.release()

    story.say(confirmed(tripod.id))
    story.say(PhotoDrawn(SHA, ("circle 0.5 0.5 0.6 0.5 wax",)))

    assert story.state == "released"


def test_a_height_difference_scales_the_distances(story: Story, tripod: Entry) -> None:
    level, higher = (
        measured(confirmed(tripod.id, dh_mm=dh, focal_px=1000.0), WIDTH, HEIGHT)
        for dh in (0.0, 5.0)
    )

    # Ten pixels a millimetre at a focal length of 1000 is a camera 100 mm up: by hand.
    assert pytest.approx(100.0) == level.camera_mm
    assert pytest.approx([0.95 * d for d in level.distances_mm]) == list(higher.distances_mm)
    assert not level.guessed


def test_what_was_measured_with_tells_where_its_lens_is_from(story: Story, tripod: Entry) -> None:
    usual, camera, photos = (
        measured(confirmed(tripod.id, **lens), WIDTH, HEIGHT).lens
        for lens in (
            {},
            {"focal_px": 1050.0},
            {"focal_px": 1050.0, "focal_sd_px": 21.0, "lens_photos": 4},
        )
    )

    assert usual == USUAL
    assert (camera.photos, camera.good) == (0, True)
    assert (photos.photos, photos.sd) == (4, 0.02)
    assert pytest.approx([1050.0] * 2) == [
        lens.focal_px(WIDTH, HEIGHT) for lens in (camera, photos)
    ]


REFUSED = {
    "another case's photo": ({"sha256": "e" * 64}, ("sha256", "no_such_photo")),
    "no tripod": ({"about": NOWHERE}, ("about", "no_such_entry")),
    "mark off the photo": (
        {"marks_px": (400.0, 450.0, 1200.5, 450.0, 500.0, 200.0)}, ("marks_px", "outside_the_photo")
    ),
    "corner off the photo": (
        {"corners_px": (100.0, 700.0, 300.0, 700.0, 300.0, 901.0, 100.0, 901.0)},
        ("corners_px", "outside_the_photo"),
    ),
    "higher than the camera": ({"dh_mm": 40.0, "focal_px": 900.0}, ("dh_mm", "too_near")),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_places_that_do_not_fit_the_case_are_refused(
    name: str, story: Story, tripod: Entry
) -> None:
    changed, expected = REFUSED[name]

    assert expected == refusal(story, confirmed(tripod.id, **changed))


def test_nothing_is_said_of_a_photo_taken_back(story: Story, tripod: Entry) -> None:
    story.say(Withdrawn(story.last(PhotoKept).id), reason="blurred")

    assert ("sha256", "no_such_photo") == refusal(story, confirmed(tripod.id))
    assert ("sha256", "no_such_photo") == refusal(story, PhotoDrawn(SHA))


KEY = entry_id(1_767_600_000_000, 1)
NONSENSE = [
    ({"marks_px": (1.0, 2.0)}, "marks_px", "places_missing"),
    ({"corners_px": ()}, "corners_px", "places_missing"),
    ({"marks_px": (400.0, 450.0, 401.0, 451.0, 9.0, 9.0)}, "marks_px", "same_place_twice"),
    ({"marks_px": (float("nan"), 450.0, 1.0, 451.0, 9.0, 9.0)}, "marks_px", "out_of_range"),
    ({"marks_px": (-1.0, 450.0, 1.0, 451.0, 9.0, 9.0)}, "marks_px", "out_of_range"),
    ({"corners_px": (100.0, 100, 300, 100, 100, 300, 300, 300)}, "corners_px", "bad_square"),
    ({"came": ("found",)}, "came", "missing"),
    ({"came": ("found", "found", "dreamt")}, "came", "not_a_choice"),
    ({"label_came": "guessed"}, "label_came", "not_a_choice"),
    ({"label_mm": 5.0}, "label_mm", "out_of_range"),
    ({"dh_mm": 41.0}, "dh_mm", "out_of_range"),
    ({"focal_px": 0.0}, "focal_px", "out_of_range"),
    ({"focal_px": 900.0, "focal_sd_px": -1.0}, "focal_sd_px", "out_of_range"),
    ({"focal_px": 900.0, "focal_sd_px": 27.0, "lens_photos": -1}, "lens_photos", "out_of_range"),
    ({"focal_sd_px": 27.0, "lens_photos": 2}, "focal_px", "missing"),
    ({"focal_px": 900.0, "lens_photos": 2}, "focal_sd_px", "missing"),
    ({"sha256": "A" * 64}, "sha256", "bad_digest"),
    ({"about": "x"}, "about", "no_entry_id"),
    (
        {"corners_px": (900.0, 1000, 1100, 1000, 1600, 1400, 400, 1400),
         "marks_px": (1000.0, 100, 400, 1500, 1500, 1500)},
        "marks_px", "beyond_the_plane",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("changed", "field", "code"), NONSENSE)
def test_places_that_cannot_be_are_refused(changed, field: str, code: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadEntry) as caught:
        confirmed(KEY, **changed)

    assert (field, code) == (caught.value.field, caught.value.code)


def test_a_drawing_is_read_shape_by_shape() -> None:
    drawn = PhotoDrawn(SHA, ("arrow 0.1 0.2 0.3 0.4 torus here", "circle 0 0.5 1 0.5")).drawn

    assert drawn == (
        Shape("arrow", (0.1, 0.2), (0.3, 0.4), "torus here"),
        Shape("circle", (0.0, 0.5), (1.0, 0.5), ""),
    )
    assert dist(drawn[1].start, drawn[1].end) == 1.0


@pytest.mark.parametrize(
    ("shapes", "code"),
    [
        (("line 0.1 0.2 0.3 0.4",), "no_shape"),
        (("arrow 0.1 0.2 0.3",), "no_shape"),
        (("arrow 0.1 0.2 0.3 1.4",), "no_shape"),
        (("arrow nan 0.2 0.3 0.4",), "no_shape"),
        (("arrow 0.1 0.2 0.1 0.2 x",), "no_length"),
        (("arrow 0.1 0.2 0.3 0.4 " + "x" * 61,), "too_long"),
        (("arrow 0.1 0.2 0.3 0.4 a\x07",), "control_characters"),
        (("arrow 0.1 0.2 0.3 0.4",) * 21, "too_many_shapes"),
    ],
)
def test_shapes_that_cannot_be_drawn_are_refused(shapes: tuple[str, ...], code: str) -> None:
    with pytest.raises(BadEntry) as caught:
        PhotoDrawn(SHA, shapes)

    assert ("shapes", code) == (caught.value.field, caught.value.code)
