"""The page of one photo: who sees what, marks confirmed and refused, verdicts, and working without scripts."""

from __future__ import annotations

import re

import pytest

from bench.core.entries import PhotoDrawn, PhotoKept, PhotoMarksConfirmed, TripodMarked, Withdrawn
from bench.core.ids import case_code
from tests.web.castroom import opened
from tests.web.photographed import SWAPPED, Photographed, photographed


@pytest.fixture
def photo(app, state) -> Photographed:
    return photographed(app, state)


def said_of(app, photo):
    return [one.body for one in app.extensions["log"].case(photo.code).said(PhotoMarksConfirmed)]


def main_of(text):
    return text.split("<main")[1].split("</main>")[0]


def plain(text):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text))


def test_a_technician_confirms_the_marks_and_reads_the_verdict(app, technician, photo):
    answer = technician.send(photo.at, photo.form())

    (body,) = said_of(app, photo)
    assert answer.status_code == 303
    assert (body.about, body.came) == (photo.tripod.id, ("found", "found", "found"))
    page = plain(technician.get(answer.headers["Location"]).text)
    assert "Recorded where the marks are on this photo." in page
    assert "The photo bears the caliper out" in page
    assert "Confirmed by TEC" in page


def test_a_second_tap_confirms_nothing_twice(app, technician, photo):
    key = technician.get(photo.at).text.split('name="entry_id" value="')[1][:36]
    for _ in range(2):
        technician.send(photo.at, photo.form(entry_id=key))

    assert len(said_of(app, photo)) == 1


def test_distances_typed_in_each_others_place_show(app, state, technician):
    photo = photographed(app, state, SWAPPED)
    technician.send(photo.at, photo.form())

    page = plain(technician.get(photo.at).text)
    assert "The distances fit when AB and AC change places." in page
    assert "most likely typed in each other" in page


def test_a_reader_looks_and_changes_nothing(app, reader, technician, photo):
    technician.send(photo.at, photo.form())

    page = reader.get(photo.at).text
    assert "bears the caliper out" in page
    assert "<form" not in main_of(page)
    assert reader.send(photo.at, photo.form()).status_code == 403
    assert reader.get(f"{photo.at}/measured").status_code == 403
    assert len(said_of(app, photo)) == 1


def test_a_stranger_is_asked_who_it_is(stranger, photo):
    for path in (photo.at, f"{photo.at}/measured", f"{photo.at}/near", f"{photo.at}/colour"):
        assert "/who" in stranger.get(path).headers["Location"]


def test_a_supervisor_confirms_as_a_technician_does(app, supervisor, photo):
    supervisor.send(photo.at, photo.form(dh_mm="-1,5"))

    assert said_of(app, photo)[0].dh_mm == -1.5


@pytest.mark.parametrize("sha", ["a" * 64, "A" * 64, "x", "camera2", "..%2f..%2flogbook"])
def test_a_photo_that_is_not_of_this_case_is_not_found(technician, photo, sha):
    assert technician.get(f"/case/{photo.code}/photo/{sha}").status_code == 404


def test_the_photo_of_another_case_is_not_found_here(app, state, technician, photo):
    other = opened(state, "26-0102", at=2)

    assert technician.get(f"/case/{other}/photo/{photo.kept.sha256}").status_code == 404
    assert technician.get(f"/case/{case_code(77)}/photo/{photo.kept.sha256}").status_code == 404


REFUSED = {
    "nothing placed": ({"marks_px": [], "corners_px": []}, "Four corners of the label and three marks"),
    "a mark missing": ({"marks_px": ["100", "100", "200", "200", "", ""]}, "Place those that are missing"),
    "no number": ({"marks_px": ["NaN", "100", "200", "200", "300", "100"]}, "are needed"),
    "outside": ({"marks_px": ["100", "100", "200", "200", "1000.5", "100"]}, "lies outside the photo"),
    "below zero": ({"marks_px": ["-5", "100", "200", "200", "300", "100"]}, "outside 0"),
    "one place twice": ({"marks_px": ["100", "100", "101", "101", "300", "100"]}, "on the same spot"),
    "crossed corners": (
        {"corners_px": ["86", "864", "266", "864", "86", "1044", "266", "1044"]}, "make no square"
    ),
    "too high": ({"dh_mm": "40", "focal_px": "600"}, "Correct the height difference"),
    "beyond all height": ({"dh_mm": "99"}, "outside -40"),
    "a label of no size": ({"label_mm": "3"}, "outside 10"),
    "came by a dream": ({"came": ["dreamt", "found", "found"]}, "none of those offered"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_places_that_cannot_be_are_refused_in_words(app, technician, photo, name):
    changed, words = REFUSED[name]

    answer = technician.send(photo.at, photo.form(**changed))

    assert answer.status_code == 422
    assert words in plain(answer.text)
    assert said_of(app, photo) == []


def test_what_was_typed_is_kept_when_it_is_refused(technician, photo):
    answer = technician.send(
        photo.at, photo.form(marks_px=["123", "145", "200", "200", "1000.5", "100"])
    )

    assert 'value="123.00" data-x="a"' in answer.text
    assert 'value="1000.50" data-x="c"' in answer.text


def test_the_measures_follow_the_places_and_record_nothing(app, technician, photo):
    form = photo.form()
    right = technician.get(f"{photo.at}/measured", query_string=form)
    form["marks_px"][1] = f"{float(form['marks_px'][1]) + 40:.2f}"
    wrong = technician.get(f"{photo.at}/measured", query_string=form)
    none = technician.get(f"{photo.at}/measured")

    assert "bears the caliper out" in right.text
    assert "bears the caliper out" not in wrong.text
    assert f'href="/case/{photo.code}/tripod?again=1"' in wrong.text
    assert "Still to be placed: A, B, C" in none.text
    assert said_of(app, photo) == []


@pytest.mark.parametrize("bad", ["NaN", "inf", "1e9", "x" * 5000, "\x00", "9" * 400, "-1"])
def test_the_measures_answer_to_any_figure(technician, photo, bad):
    form = photo.form(corners_px=[bad] * 8, dh_mm=bad, focal_px=bad, label_mm=bad)

    for view in ("measured", "near", "colour"):
        assert technician.get(f"{photo.at}/{view}", query_string=form).status_code == 200
    assert technician.send(f"{photo.at}/look", form).status_code == 200


def test_without_scripts_a_tap_on_the_picture_places_what_is_chosen(technician, photo):
    form = photo.form(active="b", **{"at.x": "400", "at.y": "80"})

    page = technician.send(f"{photo.at}/look", form).text

    # Shown 800 wide, the picture is 1000: the middle of pixel 400 is 400.5 * 1.25.
    assert 'value="500.62" data-x="b"' in page
    assert 'value="100.62" data-y="b"' in page
    assert 'name="came" value="moved" data-came="b"' in page


def test_a_tap_far_off_stays_on_the_picture(technician, photo):
    page = technician.send(
        f"{photo.at}/look", photo.form(active="tl", **{"at.x": "999999", "at.y": "999999"})
    ).text

    assert 'value="1000.00" data-x="tl"' in page
    assert 'name="label_came" value="placed"' in page


def test_letters_are_passed_on_and_exchanged(technician, photo):
    form = photo.form()
    ax, _, bx, _, cx, _ = form["marks_px"]

    turned = technician.send(f"{photo.at}/look", {**form, "names": "turn"}).text
    swapped = technician.send(f"{photo.at}/look", {**form, "names": "swap"}).text

    assert (f'value="{bx}" data-x="a"' in turned, f'value="{ax}" data-x="c"' in turned) == (
        True,
        True,
    )
    assert (f'value="{cx}" data-x="b"' in swapped, f'value="{ax}" data-x="a"' in swapped) == (
        True,
        True,
    )


def test_a_photo_without_marks_to_measure_is_only_shown(app, state, technician, photo):
    kept = PhotoKept("c" * 64, "image/jpeg", 800, 600, "cast")
    state(kept, case=photo.code)

    page = technician.get(f"/case/{photo.code}/photo/{'c' * 64}").text

    assert "The photo is not on this bench" in page or "photo" in page
    assert "data-photomarks" not in page


def test_before_the_tripod_is_recorded_there_is_nothing_to_compare_with(
    app, state, technician, photo
):
    state(Withdrawn(photo.tripod.id), case=photo.code, reason="wrong cast")
    orphan = PhotoKept(photo.kept.sha256, "image/jpeg", 1000, 1130, "tripod")
    code = opened(state, "26-0107", at=7)
    state(orphan, case=code)

    page = technician.get(f"/case/{code}/photo/{photo.kept.sha256}").text

    assert "No tripod marks are recorded yet" in page
    assert "data-photomarks" not in page


def test_a_photo_taken_back_takes_no_marks(app, state, technician, photo):
    state(Withdrawn(photo.photo.id), case=photo.code, reason="blurred")

    page = technician.get(photo.at).text
    answer = technician.send(photo.at, photo.form())

    assert "Taken back by TEC: blurred" in page
    assert "data-photomarks" not in page
    assert answer.status_code == 422


def test_what_is_drawn_over_a_photo_shows_on_it_and_its_words_are_text(state, technician, photo):
    state(PhotoDrawn(photo.kept.sha256, ("arrow 0.1 0.1 0.5 0.5 <b>torus",)), case=photo.code)

    page = technician.get(photo.at).text

    assert "&lt;b&gt;torus" in page
    assert 'class="drawn"' in page


def test_the_step_of_the_tripod_shows_the_verdict_and_the_way_to_confirm(technician, photo):
    address = f"/case/{photo.code}/tripod"
    before = plain(technician.get(address).text)
    technician.send(photo.at, photo.form())
    after = technician.get(address).text

    assert "marks not confirmed" in before
    assert "photo and caliper agree" in after
    assert f'href="{photo.at}"' in after


def test_a_tablet_may_state_it(technician):
    kinds = technician.get("/sync/stating").json["kinds"]

    assert kinds["photo_marks_confirmed"]["fields"]["marks_px"]["many"]
    assert "photo_drawn" in kinds


def test_marks_of_a_photo_about_a_corrected_tripod_are_held_against_the_correction(
    app, state, technician
):
    photo = photographed(app, state, SWAPPED)
    technician.send(photo.at, photo.form())
    right = TripodMarked(36.2, 41.0, 39.4, "anticlockwise", True, True, True, True)
    state(
        right, case=photo.code, setting=photo.tripod.setting, supersedes=(photo.tripod.id,),
        reason="typed in each other's place",
    )  # fmt: skip

    assert "bears the caliper out" in technician.get(photo.at).text
