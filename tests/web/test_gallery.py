"""All photos of a case: by what they show, taken again, and about a finding."""

from __future__ import annotations

import io

from bench.core.entries import PhotoKept, Released, UndercutRead, Withdrawn
from tests.pictures import files
from tests.web.castroom import opened
from tests.web.photographed import SWAPPED, photographed
from tests.web.test_onephoto import main_of, plain

PHOTO = files.talkative()


def send(client, code, **fields):
    form = {"shows": "cast", **fields, "photo": (io.BytesIO(PHOTO), "again.jpg")}
    return client.send(f"/case/{code}/photo", form)


def kept(app, code):
    return app.extensions["log"].case(code).said(PhotoKept)


def test_photos_stand_by_what_they_show_with_their_verdict(app, state, technician, reader):
    photo = photographed(app, state, SWAPPED)
    read = UndercutRead(34, "MB", 0.25, "both")
    finding = state(read, case=photo.code, setting=photo.tripod.setting)
    send(technician, photo.code, shows="site", about=finding.id)
    send(technician, photo.code)
    technician.send(photo.at, photo.form())

    page = reader.get(f"/case/{photo.code}/photos").text

    text = plain(main_of(page))
    places = [text.index(one) for one in ("Tripod marks", "Tooth 34", "The whole cast")]
    assert sorted(places) == places
    assert "marks or distances swapped" in text
    assert "TEC read 34 MB with the 0.25" in text
    assert "<form" not in main_of(page)


def test_a_photo_whose_marks_wait_says_so(app, state, technician):
    photo = photographed(app, state)

    page = technician.get(f"/case/{photo.code}/photos").text

    assert "marks not confirmed" in page
    assert f'href="{photo.at}"' in page


def test_a_photo_taken_again_replaces_the_first_and_both_stay(app, state, technician):
    photo = photographed(app, state)
    page = technician.get(f"/case/{photo.code}/photos?again={photo.photo.id}").text

    answer = send(
        technician, photo.code, shows="tripod", about=photo.tripod.id, supersedes=photo.photo.id,
        reason="The earlier photo was blurred",
    )  # fmt: skip

    (newer,) = kept(app, photo.code)
    after = plain(technician.get(f"/case/{photo.code}/photos").text)
    assert f'name="supersedes" value="{photo.photo.id}"' in page
    assert answer.status_code == 303
    assert newer.entry.supersedes == (photo.photo.id,)
    assert "Replaced by TEC: The earlier photo was blurred" in after
    assert technician.get(photo.at).status_code == 200


def test_a_photo_that_a_release_rests_on_warns_before_it_is_replaced(app, state, technician):
    photo = photographed(app, state)
    again = f"/case/{photo.code}/photos?again={photo.photo.id}"
    before = technician.get(again).text
    state(
        Released((photo.tripod.id, photo.photo.id)), case=photo.code, setting=photo.tripod.setting
    )

    after = technician.get(again).text

    assert "Replacing it recalls the case" not in before
    assert "Replacing it recalls the case" in after


def test_a_photo_replaces_no_finding(app, state, technician):
    photo = photographed(app, state)

    answer = send(technician, photo.code, supersedes=photo.tripod.id, reason="x")

    assert answer.status_code == 422
    assert "does not belong to this case" in answer.text
    assert len(kept(app, photo.code)) == 1


def test_a_photo_that_replaces_another_gives_a_reason(app, state, technician):
    photo = photographed(app, state)

    answer = send(technician, photo.code, shows="tripod", supersedes=photo.photo.id)

    assert answer.status_code == 422
    assert "The reason is missing" in plain(answer.text)


def test_a_photo_taken_back_stays_readable_as_such(app, state, reader):
    photo = photographed(app, state)
    state(Withdrawn(photo.photo.id), case=photo.code, reason="wrong cast")

    text = plain(reader.get(f"/case/{photo.code}/photos").text)

    assert "taken back" in text
    assert "Taken back by TEC: wrong cast" in text


def test_a_case_without_photos_says_so(state, reader, technician):
    code = opened(state)

    assert "No photo yet" in reader.get(f"/case/{code}/photos").text
    assert 'id="add"' in technician.get(f"/case/{code}/photos").text


def test_what_the_address_asks_for_and_is_not_there_is_left_out(app, state, technician):
    photo = photographed(app, state)

    for asked in ("about=x", "again=x", f"again={photo.tripod.id}", "shows=%00", "about=%27"):
        assert technician.get(f"/case/{photo.code}/photos?{asked}").status_code == 200


def test_a_case_nobody_opened_has_no_photos(technician, stranger, state):
    assert technician.get("/case/22222222/photos").status_code == 404
    code = opened(state)
    assert "/who" in stranger.get(f"/case/{code}/photos").headers["Location"]


def test_a_finding_offers_a_photo_and_shows_those_it_has(app, state, technician, reader):
    photo = photographed(app, state)
    read = UndercutRead(34, "MB", 0.25, "both")
    finding = state(read, case=photo.code, setting=photo.tripod.setting)
    step = f"/case/{photo.code}/undercuts?tooth=34&surface=MB"
    before = technician.get(step).text
    send(technician, photo.code, shows="site", about=finding.id)

    after = technician.get(step).text
    assert f"/case/{photo.code}/photos?about={finding.id}&amp;shows=site#add" in before
    (said,) = [one for one in kept(app, photo.code) if one.body.shows == "site"]
    assert f"/case/{photo.code}/photo/{said.body.sha256}" in after
    assert "Add another photo" in after


def test_a_reading_made_again_shows_the_photos_of_its_site(app, state, technician):
    photo = photographed(app, state)
    first = state(
        UndercutRead(34, "MB", 0.25, "none"), case=photo.code, setting=photo.tripod.setting
    )
    send(technician, photo.code, shows="site", about=first.id)
    state(
        UndercutRead(34, "MB", 0.25, "both"), case=photo.code, setting=photo.tripod.setting,
        supersedes=(first.id,), reason="read again",
    )  # fmt: skip

    (said,) = [one for one in kept(app, photo.code) if one.body.shows == "site"]
    here, beside = (
        technician.get(f"/case/{photo.code}/undercuts?tooth=34&surface={surface}").text
        for surface in ("MB", "DB")
    )
    assert f"/photo/{said.body.sha256}" in here
    assert f"/photo/{said.body.sha256}" not in beside
