"""The lens a photo is measured with: stated, told by its tablet's photos, by itself, or a usual one."""

from __future__ import annotations

from dataclasses import replace
from math import hypot

import pytest

from bench.core.entries import PhotoMarksConfirmed
from bench.core.lens import Lens
from bench.pictures.seen import Seen
from bench.store.lenses import keep_lens, lenses_of
from bench.store.refusals import LogbookBusy
from bench.web import photolens, photolook
from bench.web.photolook import Look
from tests.web.photographed import Photographed, photographed
from tests.web.test_onephoto import main_of, plain, said_of

SIZE = (1000, 1130)
DIAGONAL = hypot(*SIZE)
FOCAL_PX = 0.72 * DIAGONAL
SURE, UNSURE = Lens(0.72, 0.03, 1), Lens(0.68, 0.12, 1)
USUAL_WORDS = "Lens: a usual one."
BETTER = "One photo of a label from some 20 degrees aside"


@pytest.fixture
def photo(app, state) -> Photographed:
    """A photo that came in at the bench PC."""
    return photographed(app, state)


@pytest.fixture
def of_tablet(app, photo, device, hands) -> Photographed:
    """The same photo as a paired tablet kept it."""
    return kept_by(device, app, photo, hands)


def kept_by(device, app, photo: Photographed, hands, **changed: object) -> Photographed:
    body = {
        "sha256": photo.kept.sha256, "media_type": "image/jpeg", "width_px": SIZE[0],
        "height_px": SIZE[1], "shows": "tripod", "about": photo.tripod.id, **changed,
    }  # fmt: skip
    log = app.extensions["log"]
    sealed = device.seal(
        "photo_kept", body, hands.now_ms(), case=photo.code, person="TEC",
        supersedes=[photo.photo.id], reason="taken with the tablet",
    )  # fmt: skip
    (receipt,) = log.append([sealed.encode()])
    assert receipt.verdict == "stored"
    return replace(photo, photo=log.find(receipt.id))


@pytest.fixture
def sees(monkeypatch, photo):
    """Let a look find the label and what it tells of the lens."""

    def found(lens: Lens | None = None, stated_px: float | None = None) -> None:
        told = (lens.focal * DIAGONAL, lens.focal * DIAGONAL * lens.sd) if lens else (None, None)
        seen: Seen = replace(photo.seen(), focal_px=stated_px)
        seen = replace(seen, told_focal_px=told[0], told_focal_sd_px=told[1])
        monkeypatch.setattr(photolook, "looked", lambda sha, code: Look(seen))

    return found


def looked_at(technician, photo, **typed: object) -> str:
    """Return the page once somebody looked, or what the places measure with something typed."""
    page = technician.get(f"{photo.at}?look=1").text
    if not typed:
        return plain(main_of(page))
    fields = ("focal_px", "focal_sd_px", "lens_photos")
    lens = {name: page.split(f'name="{name}" value="')[1].split('"')[0] for name in fields}
    form = photo.form(**lens, **typed)
    return plain(technician.get(f"{photo.at}/measured", query_string=form).text)


def remembered(app, device) -> tuple[Lens, ...]:
    return lenses_of(app.extensions["store"], device.device, SIZE, 20)


def test_what_a_tablet_read_from_the_file_is_measured_with(
    app, technician, photo, device, hands, sees
):
    kept = kept_by(device, app, photo, hands, focal_px=900.5)
    sees(SURE)

    page = looked_at(technician, kept, dh_mm="4")

    assert "Lens: as the camera stated it." in page
    assert "may be left in the distances" not in page
    assert 'name="focal_px" value="900.50"' in technician.get(f"{kept.at}?look=1").text
    assert remembered(app, device) == ()


def test_what_the_file_states_itself_is_measured_with(technician, photo, sees):
    sees(UNSURE, stated_px=801.0)

    assert "Lens: as the camera stated it." in looked_at(technician, photo)


def test_a_leaning_photo_tells_its_own_lens(technician, photo, sees):
    sees(SURE)

    page = looked_at(technician, photo, dh_mm="4")

    assert "Lens: from the label in one photo, good to 4 %." in page
    assert "may be left in the distances" not in page
    assert "The camera was about" in page


def test_a_photo_from_straight_above_falls_back_to_the_usual_lens_and_says_so(
    technician, photo, sees
):
    sees(Lens(0.66, 0.195, 1))

    page = looked_at(technician, photo, dh_mm="4")

    assert USUAL_WORDS in page
    assert "So about 20 % of what the height difference does may be left" in page
    assert BETTER not in page


def test_an_unsure_lens_says_what_it_leaves_and_a_tablet_what_would_help(
    technician, of_tablet, sees
):
    sees(UNSURE)

    page = looked_at(technician, of_tablet, dh_mm="4")

    assert "Lens: from the label in one photo, good to 13 %." in page
    assert "So about 13 % of what the height difference does may be left" in page
    assert BETTER in page


def test_marks_at_the_height_of_the_label_need_no_lens(technician, of_tablet, sees):
    sees(None)

    page = looked_at(technician, of_tablet, dh_mm="0")

    assert USUAL_WORDS in page
    assert "may be left in the distances" not in page


def test_photos_of_one_tablet_tell_its_lens_together(app, technician, of_tablet, device, sees):
    store = app.extensions["store"]
    for n in range(4):
        keep_lens(store, device.device, f"{n}", f"{n:064x}", SIZE, SURE)
    sees(Lens(0.66, 0.195, 1))

    page = looked_at(technician, of_tablet, dh_mm="4")

    assert "Lens: from the label in 4 photos of this tablet, good to 2 %." in page
    assert "may be left in the distances" not in page


def test_a_look_lets_a_photo_count_for_the_others_of_its_tablet(
    app, technician, of_tablet, device, sees
):
    sees(SURE)
    for _ in range(3):
        technician.get(f"{of_tablet.at}?look=1")

    (lens,) = remembered(app, device)
    assert (pytest.approx(SURE.focal), pytest.approx(SURE.sd)) == (lens.focal, lens.sd)


def test_photos_from_straight_above_and_of_the_bench_pc_count_for_no_other(
    app, technician, photo, device, hands, sees
):
    sees(SURE)
    technician.get(f"{photo.at}?look=1")
    kept = kept_by(device, app, photo, hands)
    sees(Lens(0.66, 0.195, 1))
    technician.get(f"{kept.at}?look=1")

    rows = app.extensions["store"].db.conn.execute("SELECT count(*) FROM photo_lenses")
    assert rows.fetchone() == (0,)


def test_a_lens_that_cannot_be_kept_hinders_no_look(technician, of_tablet, sees, monkeypatch):
    def busy(*asked: object) -> None:
        raise LogbookBusy(file="logbook.sqlite3", seconds=10)

    monkeypatch.setattr(photolens, "keep_lens", busy)
    sees(SURE)

    assert "Lens: from the label in one photo" in looked_at(technician, of_tablet)


def test_what_was_measured_with_is_recorded_and_shown_again(app, technician, of_tablet, sees):
    sees(SURE)
    page = technician.get(f"{of_tablet.at}?look=1").text
    names = ("focal_px", "focal_sd_px", "lens_photos")
    sent = {name: page.split(f'name="{name}" value="')[1].split('"')[0] for name in names}

    technician.send(of_tablet.at, of_tablet.form(**sent, dh_mm="3"))

    (body,) = said_of(app, of_tablet)
    assert isinstance(body, PhotoMarksConfirmed)
    assert body.lens_photos == 1
    assert pytest.approx(FOCAL_PX, rel=0.01) == body.focal_px
    assert pytest.approx(FOCAL_PX * 0.0317, rel=0.05) == body.focal_sd_px
    assert "Lens: from the label in one photo, good to 4 %." in plain(
        technician.get(of_tablet.at).text
    )


def test_a_form_without_a_lens_is_measured_with_the_usual_one(app, technician, photo):
    technician.send(photo.at, photo.form())

    (body,) = said_of(app, photo)
    assert (body.focal_px, body.focal_sd_px, body.lens_photos) == (None, None, 0)
    assert USUAL_WORDS in plain(technician.get(photo.at).text)


@pytest.mark.parametrize("bad", ["NaN", "-1", "1e9", "x", "99999999999", "1.5"])
def test_any_figures_of_a_lens_are_answered(technician, photo, bad):
    form = photo.form(focal_px="900", focal_sd_px=bad, lens_photos=bad)

    assert technician.get(f"{photo.at}/measured", query_string=form).status_code == 200
    assert technician.send(photo.at, form).status_code in (303, 422)
