"""A refused entry opens in the form of its own step; what waits is corrected in the form it was stated in."""

from __future__ import annotations

import re
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Locator, Page, Playwright, Route, expect

from bench.core.entries import (
    CastReceived,
    Disturbed,
    Entry,
    Mounted,
    PersonChanged,
    PhotoKept,
    RemountRead,
    UndercutRead,
)
from tests.browser import looks
from tests.browser.conftest import Served
from tests.browser.hand import say
from tests.browser.tablets import (
    TabletHand,
    at_hand,
    choose,
    pair,
    persistent,
    site,
    started_again,
    watching,
)
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.surveyedcases import OnBench, mounted, opened

LONG = "a tag far too long for any"


@pytest.fixture
def hand(
    playwright: Playwright, tmp_path: Path, served: Served, onbench: OnBench, watch: Watch
) -> Iterator[TabletHand]:
    """A technician at a paired tablet."""
    context = persistent(playwright, tmp_path / "browser", served)
    page = watching(context, watch)
    pair(page, served)
    TabletHand(page).sign_in("TEC", PINS["TEC"])
    yield TabletHand(page)
    context.close()


def offline(onbench: OnBench) -> str:
    return f"/case/{onbench.code}/offline"


def without_the_bench(hand: TabletHand, served: Served, onbench: OnBench) -> None:
    """Have the pages at hand, switch the bench PC off, and open the offline page of the case."""
    hand.goto(offline(onbench))
    at_hand(hand.page, offline(onbench), "/outbox")
    served.stop()
    hand.goto(offline(onbench))


def entries(served: Served, onbench: OnBench, kind: type) -> list[Entry]:
    found = served.app.extensions["log"].entries_of(onbench.code)
    return [entry for entry in found if isinstance(entry.body, kind)]


def sent_from(hand: TabletHand) -> None:
    hand.goto("/outbox")
    hand.page.locator("[data-send]").click()


def refused(hand: TabletHand, count: int) -> Locator:
    found = hand.page.locator("[data-refused] li[data-outbox-id]:not([data-outbox-id=''])")
    expect(found).to_have_count(count)
    return found


def in_its_step(hand: TabletHand, *, asks: bool) -> Locator:
    """Open the first refused entry in its step; a bench PC that was off asks who it is first."""
    hand.page.get_by_role("link", name=say("strip.outbox.open_step")).first.click()
    if asks:
        hand.sign_in("TEC", PINS["TEC"])
    form = hand.page.locator("form[data-instead]")
    expect(form).to_have_count(1)
    return form


def mount(hand: TabletHand, tag: str) -> None:
    part = hand.part("mounted")
    part.locator('input[name="surveyor"]').fill(tag)
    part.locator('input[name="table"]').fill("T1")
    hand.keep(part.get_by_role("button", name=say("steppages.mount.record")), "mounted")


def test_a_refused_entry_opens_in_its_step_filled_with_the_reason_beside_its_field(
    hand: TabletHand, served: Served, onbench: OnBench
) -> None:
    opened(onbench)
    without_the_bench(hand, served, onbench)
    mount(hand, LONG)
    undercut(hand, "both")
    started_again(served)
    sent_from(hand)
    refused(hand, 1)

    form = in_its_step(hand, asks=True)
    expect(hand.page).to_have_url(re.compile(r"/mount\?refused="))
    surveyor = form.locator('input[name="surveyor"]')
    expect(surveyor).to_have_value(LONG)
    expect(surveyor).to_be_focused()
    expect(form.locator('input[name="table"]')).to_have_value("T1")
    expect(form.locator(".field:has([name='surveyor']) .error")).to_contain_text("16")
    surveyor.fill("S1")
    hand.keep(form.get_by_role("button").last, "mounted")
    hand.sent()
    expect(hand.page.locator("form[data-instead]")).to_have_count(0)
    hand.goto("/outbox")
    refused(hand, 0)

    (held,) = entries(served, onbench, Mounted)
    (read,) = entries(served, onbench, UndercutRead)
    assert ("S1", "T1") == (held.body.surveyor, held.body.table)
    # It keeps its id: the reading made after it still stands on it.
    assert held.id == read.setting


def undercut(hand: TabletHand, contact: str, tooth: int = 35) -> None:
    part = hand.part("undercut_read")
    site(part, tooth, "MB")
    part.locator('input[name="drop_mm"]').fill("1.4")
    hand.keep(part.locator(f'button[name="contact"][value="{contact}"]'), "undercut_read")


def test_without_the_bench_pc_it_opens_on_the_offline_page_and_what_is_changed_survives_a_reload(
    hand: TabletHand, served: Served, onbench: OnBench
) -> None:
    zero = mounted(onbench)
    hand.goto(offline(onbench))
    at_hand(hand.page, offline(onbench), "/outbox")
    served.say(PersonChanged("TEC", "technician", False), person="SUP")
    served.stop()
    hand.goto(offline(onbench))
    undercut(hand, "lip_short")
    started_again(served)
    sent_from(hand)
    refused(hand, 1)
    served.stop()

    form = in_its_step(hand, asks=False)
    expect(hand.page.locator("[data-offline-page]")).to_be_visible()
    expect(form.locator('select[name="tooth"]')).to_have_value("35")
    expect(form.locator('input[name="surface"][value="MB"]')).to_be_checked()
    stated = form.locator('button[name="contact"][aria-current="true"]')
    expect(stated).to_have_attribute("value", "lip_short")
    expect(form.locator(".notice.stop")).to_contain_text(say("strip.outbox.leave"))
    form.locator('input[name="drop_mm"]').fill("1.6")
    hand.page.wait_for_function(DRAFTED)
    hand.page.reload()
    hand.ready()
    expect(form.locator('input[name="drop_mm"]')).to_have_value("1.6")
    hand.page.locator("[data-person-here]").select_option("SUP")
    hand.keep(form.locator('button[name="contact"][value="both"]'), "undercut_read")
    expect(hand.page.locator("[data-waits]")).to_have_count(1)
    started_again(served)
    sent_from(hand)
    hand.sent()
    refused(hand, 0)

    (read,) = entries(served, onbench, UndercutRead)
    assert ("SUP", "both", 1.6, zero.id) == (
        read.person, read.body.contact, read.body.drop_mm, read.setting,
    )  # fmt: skip


DRAFTED = """async () => {
  const open = indexedDB.open("tiltbook");
  const db = await new Promise((done) => { open.onsuccess = () => done(open.result); });
  const asked = db.transaction("drafts").objectStore("drafts").getAll();
  const all = await new Promise((done) => { asked.onsuccess = () => done(asked.result); });
  db.close();
  return all.some((one) => one.fields.some(([name, text]) => name === "drop_mm" && text === "1.6"));
}"""


def test_a_refused_entry_is_still_put_right_field_by_field(
    hand: TabletHand, served: Served, onbench: OnBench
) -> None:
    opened(onbench)
    hand.goto(offline(onbench))
    mount(hand, LONG)
    hand.goto("/outbox")
    line = refused(hand, 1)
    line.locator("summary").click()
    line.locator('input[name="surveyor"]').fill("S1")
    line.get_by_role("button", name=say("strip.outbox.send_again")).click()
    refused(hand, 0)
    hand.sent()

    (held,) = entries(served, onbench, Mounted)
    assert "S1" == held.body.surveyor


def test_what_waits_is_corrected_in_its_own_form_and_arrives_once(
    hand: TabletHand, served: Served, onbench: OnBench
) -> None:
    opened(onbench)
    without_the_bench(hand, served, onbench)
    sound = hand.part("cast_received").locator('button[name="soundness"][value="sound"]')
    hand.keep(sound, "cast_received")
    expect(hand.page.locator('[data-part="cast_received"]')).to_be_hidden()
    mount(hand, "S1")
    undercut(hand, "both")
    lines = hand.page.locator("[data-waits]")
    expect(lines).to_have_count(3)

    cast = correct(hand, say("recorded.kind.cast_received"))
    cast.locator('input[name="remark"]').fill("corner off")
    hand.keep(cast.locator('button[name="soundness"][value="chipped"]'), "cast_received")
    held = correct(hand, say("recorded.kind.mounted"))
    expect(held.locator('input[name="surveyor"]')).to_have_value("S1")
    held.locator('input[name="surveyor"]').fill("S2")
    hand.keep(held.get_by_role("button", name=say("steppages.mount.record")), "mounted")
    read = correct(hand, say("recorded.kind.undercut_read"))
    read.locator('select[name="tooth"]').select_option("34")
    hand.keep(read.locator('button[name="contact"][value="none"]'), "undercut_read")
    expect(lines).to_have_count(3)
    expect(lines.first).to_contain_text("34")
    hand.waiting(3)
    started_again(served)
    sent_from(hand)
    hand.sent()

    (received,) = entries(served, onbench, CastReceived)
    (setting,) = entries(served, onbench, Mounted)
    (found,) = entries(served, onbench, UndercutRead)
    assert ("chipped", "corner off") == (received.body.soundness, received.body.remark)
    assert "S2" == setting.body.surveyor
    assert (34, "none", setting.id) == (found.body.tooth, found.body.contact, found.setting)


def correct(hand: TabletHand, what: str) -> Locator:
    line = hand.page.locator("[data-waits]").filter(has_text=what)
    line.locator("[data-correct]").click()
    form = hand.page.locator("form[data-instead]")
    expect(form.locator(".notice")).to_contain_text(what)
    return form


def test_leaving_a_correction_leaves_what_waits_as_it_is(
    hand: TabletHand, served: Served, onbench: OnBench
) -> None:
    mounted(onbench)
    hand.goto(offline(onbench))
    at_hand(hand.page, offline(onbench))
    served.stop()
    hand.goto(offline(onbench))
    undercut(hand, "both")
    form = correct(hand, say("recorded.kind.undercut_read"))
    form.get_by_role("button", name=say("strip.outbox.leave")).click()
    expect(hand.page.locator("form[data-instead]")).to_have_count(0)
    undercut(hand, "none", tooth=34)

    hand.waiting(2)
    started_again(served)


def test_a_re_mount_that_waits_is_corrected_and_still_answers_its_disturbance(
    hand: TabletHand, served: Served, onbench: OnBench
) -> None:
    zero = mounted(onbench)
    fell = onbench.state(Disturbed("arm_moved"), setting=zero.id)
    without_the_bench(hand, served, onbench)
    part = hand.part("remount_angles")
    for name, text in (("ap_deg", "1"), ("lat_deg", "0")):
        part.locator(f'input[name="{name}"]').fill(text)
    choose(part, "method", "scored_lines")
    hand.keep(part.get_by_role("button", name=say("offline.act.record")), "remount_read")
    form = correct(hand, say("recorded.kind.remount_read"))
    expect(form.locator('input[name="method"][value="scored_lines"]')).to_be_checked()
    form.locator('input[name="ap_deg"]').fill("0")
    hand.keep(form.get_by_role("button", name=say("offline.act.record")), "remount_read")
    hand.waiting(1)
    started_again(served)
    sent_from(hand)
    hand.sent()

    (read,) = entries(served, onbench, RemountRead)
    assert (0, (fell.id,), zero.id) == (read.body.ap_deg, read.body.answers, read.body.brings_back)


def test_a_photo_that_was_not_kept_is_taken_again_in_its_place(
    hand: TabletHand, served: Served, onbench: OnBench
) -> None:
    mounted(onbench)
    hand.goto(offline(onbench))
    page = hand.page

    def turn_down(route: Route) -> None:
        route.fulfill(status=422, json={"code": "not_bare", "words": "It still tells its place."})

    page.route("**/sync/photo/*", turn_down)
    part = hand.part("photo_kept")
    part.locator('input[type="file"]').set_input_files(picture(1))
    hand.keep(part.get_by_role("button", name=say("offline.keep_photo")), "photo_kept")
    hand.goto("/outbox")
    line = page.locator("[data-photos] li", has_text="It still tells its place.")
    expect(line).to_have_count(1)
    page.unroute("**/sync/photo/*")
    line.locator('input[type="file"]').set_input_files(picture(2))
    line.get_by_role("button", name=say("strip.outbox.keep_again")).click()
    expect(page.locator("[data-photos] .retake")).to_have_count(0)
    hand.sent()

    first, second = entries(served, onbench, PhotoKept)
    assert (first.id,) == second.supersedes
    assert say("strip.outbox.photo_again_why") == second.reason
    assert served.app.extensions["shelf"].has(second.body.sha256)
    assert first.body.shows == second.body.shows


def test_a_refused_entry_of_a_photo_is_taken_again_on_the_camera_page(
    hand: TabletHand, served: Served, onbench: OnBench
) -> None:
    mounted(onbench)
    page = hand.goto(offline(onbench)).page
    at_hand(page, offline(onbench), "/outbox")
    served.say(PersonChanged("TEC", "technician", False), person="SUP")
    served.stop()
    hand.goto(offline(onbench))
    part = hand.part("photo_kept")
    choose(part, "shows", "cast")
    part.locator('input[type="file"]').set_input_files(picture(1))
    hand.keep(part.get_by_role("button", name=say("offline.keep_photo")), "photo_kept")
    started_again(served)
    sent_from(hand)
    refused(hand, 1)
    served.say(PersonChanged("TEC", "technician", True), person="SUP")
    form = in_its_step(hand, asks=True)
    form.locator('input[type="file"]').set_input_files(picture(2))
    form.get_by_role("button", name=say("camera.file_keep")).click()
    # Once the photo is sent the camera's page gives way to the photo's own.
    hand.page.wait_for_url(re.compile(r"/photo/[0-9a-f]{64}"))
    hand.ready().sent()
    hand.goto("/outbox")
    refused(hand, 0)

    (kept,) = entries(served, onbench, PhotoKept)
    assert "cast" == kept.body.shows
    assert served.app.extensions["shelf"].has(kept.body.sha256)


def picture(shade: int) -> dict[str, object]:
    drawn = BytesIO()
    Image.new("RGB", (1200, 900), (shade, 80, 90)).save(drawn, "JPEG")
    return {"name": "IMG.JPG", "mimeType": "image/jpeg", "buffer": drawn.getvalue()}


def test_what_needs_attention_and_its_form_are_for_every_eye_and_finger(
    hand: TabletHand, served: Served, onbench: OnBench
) -> None:
    mounted(onbench)
    page = hand.goto(offline(onbench)).page
    at_hand(page, offline(onbench), "/outbox")
    page.route("**/sync/photo/*", lambda route: route.fulfill(status=422, json={"words": "No."}))
    mount(hand, LONG)
    part = hand.part("photo_kept")
    part.locator('input[type="file"]').set_input_files(picture(1))
    hand.keep(part.get_by_role("button", name=say("offline.keep_photo")), "photo_kept")
    hand.goto("/outbox")
    expect(page.locator("[data-photos] .retake")).to_be_visible()
    found = faults(page)
    in_its_step(hand, asks=False)
    found += faults(page)
    served.stop()
    hand.goto(offline(onbench))
    undercut(hand, "both")
    correct(hand, say("recorded.kind.undercut_read"))
    found += faults(page)
    started_again(served)

    assert [] == found


def faults(page: Page) -> list[str]:
    page.emulate_media(reduced_motion="reduce")
    looks.open_folds(page)
    seen = looks.faults_in_light_and_dark(page) + looks.too_small(page)
    return seen + list(looks.beyond_the_edge(page))
