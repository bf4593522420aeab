"""Several tablets and tabs, a new version, little room, drafts, refusals and labels never seen."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from bench.core.entries import PersonChanged, UndercutRead
from bench.sync import pairing
from tests.browser import job
from tests.browser.conftest import NewHand, Served
from tests.browser.hand import say
from tests.browser.tablets import AWAY, TabletHand, at_hand, pair, site, started_again
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.surveyedcases import OnBench, mounted

RECORDED = say("recorded.said", what=say("recorded.kind.undercut_read"))
NewTablet = Callable[[str], TabletHand]


@pytest.fixture
def tablet(hand: NewHand, served: Served, watch: Watch) -> NewTablet:
    """Make paired tablets with the technician signed in."""
    watch.expected += AWAY

    def made(name: str) -> TabletHand:
        page = hand().page
        pair(page, served, name)
        return TabletHand(page).sign_in("TEC", PINS["TEC"])  # type: ignore[return-value]

    return made


def at(onbench: OnBench, step: str) -> str:
    return f"/case/{onbench.code}/{step}"


def undercut(hand: TabletHand, contact: str, tooth: int = 35) -> None:
    part = hand.part("undercut_read")
    site(part, tooth, "MB")
    hand.keep(part.locator(f'button[name="contact"][value="{contact}"]'), "undercut_read")


def test_two_tablets_that_differ_contradict_each_other_and_a_third_entry_settles_it(
    tablet: NewTablet, served: Served, onbench: OnBench
) -> None:
    mounted(onbench)
    one, other = tablet("one"), tablet("other")
    for hand in (one, other):
        hand.goto(at(onbench, "offline"))
        at_hand(hand.page, at(onbench, "offline"))
    served.stop()
    undercut(one, "both")
    undercut(other, "lip_short")
    undercut(one, "none", tooth=37)
    started_again(served)
    for hand in (one, other):
        hand.page.evaluate("() => dispatchEvent(new Event('online'))")
        hand.sent()

    log = served.app.extensions["log"]
    case = log.case(onbench.code)
    assert 3 == len([e for e in case.entries if isinstance(e.body, UndercutRead)])
    assert 2 == len({e.device for e in case.entries if isinstance(e.body, UndercutRead)})
    assert 1 == len(case.contradictions)
    one.sign_in("TEC", PINS["TEC"]).goto(at(onbench, "release"))
    expect(one.page.locator("body")).to_contain_text("35")


def test_two_tabs_send_everything_once(tablet: NewTablet, served: Served, onbench: OnBench) -> None:
    mounted(onbench)
    first = tablet("tabs").goto(at(onbench, "offline"))
    at_hand(first.page, at(onbench, "offline"))
    served.stop()
    for contact in ("both", "lip_short", "both", "none"):
        undercut(first, contact)
    second = TabletHand(first.page.context.new_page()).goto(at(onbench, "offline"))
    undercut(second, "lip_first")
    started_again(served)
    for hand in (first, second, first, second):
        hand.page.evaluate("() => dispatchEvent(new Event('online'))")
    first.sent()

    read = onbench_entries(served, onbench)
    assert [1, 2, 3, 4, 5] == [entry.seq for entry in read]
    case = served.app.extensions["log"].case(onbench.code)
    assert [] == list(case.contradictions)


def onbench_entries(served: Served, onbench: OnBench) -> list:
    found = served.app.extensions["log"].entries_of(onbench.code)
    return [entry for entry in found if isinstance(entry.body, UndercutRead)]


def test_undo_of_what_was_not_sent_leaves_nothing_and_of_what_was_sent_is_a_withdrawal(
    tablet: NewTablet, served: Served, onbench: OnBench
) -> None:
    mounted(onbench)
    hand = tablet("undo").goto(at(onbench, "offline"))
    at_hand(hand.page, at(onbench, "offline"))
    served.stop()
    hand.goto(at(onbench, "offline"))
    expect(hand.page.locator("[data-strip]").first).to_contain_text(say("strip.strip.unreached"))
    undercut(hand, "both")
    hand.page.locator("#said button").click()
    expect(hand.page.locator("#said")).to_have_text(say("strip.said.taken_back"))
    hand.waiting(0)
    started_again(served)
    hand.sign_in("TEC", PINS["TEC"]).goto(at(onbench, "undercuts") + "?tooth=35&surface=MB")
    hand.page.locator('button[name="contact"][value="both"]').click()
    expect(hand.page.locator("#said")).to_contain_text(
        say("recorded.said", what=say("recorded.kind.undercut_read"))
    )
    hand.page.locator("#said button").click()
    expect(hand.page.locator("#said")).to_contain_text(say("recorded.kind.withdrawn"))
    hand.sent()

    kinds = [e.kind for e in served.app.extensions["log"].entries_of(onbench.code)]
    assert ["undercut_read", "withdrawn"] == kinds[-2:]


def test_a_refused_entry_needs_attention_and_is_put_right(
    tablet: NewTablet, served: Served, onbench: OnBench
) -> None:
    mounted(onbench)
    hand = tablet("refused").goto(at(onbench, "offline"))
    at_hand(hand.page, at(onbench, "offline"), "/outbox")
    served.say(PersonChanged("TEC", "technician", False), person="SUP")
    served.stop()
    undercut(hand, "both")
    undercut(hand, "none", tooth=37)
    started_again(served)
    hand.goto("/outbox")
    hand.page.locator("[data-send]").click()
    expect(hand.page.locator("[data-refused] .notice")).to_have_count(2)
    expect(hand.page.locator("[data-strip]").first).to_contain_text("2")
    by_field = say("strip.outbox.by_field")
    hand.page.locator("[data-refused] summary", has_text=by_field).first.click()
    first = hand.page.locator("[data-refused] form").first
    expect(first.locator('select[name="contact"] option:checked')).to_have_text(
        say("choices.contact.both")
    )
    expect(first.locator('.field:has(input[name="gauge_mm"]) .unit')).to_have_text("mm")
    person = hand.page.locator('[data-refused] input[name="person"]').first
    person.fill("SUP")
    person.blur()
    hand.page.evaluate("() => document.querySelector('[data-waiting] li').dataset.old = ''")
    hand.page.locator("[data-send]").click()
    # The lists were shown anew: what is unfolded and typed in a refusal stays as it is.
    expect(hand.page.locator("[data-waiting] li[data-old]")).to_have_count(0)
    expect(person).to_be_visible()
    expect(person).to_have_value("SUP")
    hand.page.locator("[data-refused] form").first.get_by_role(
        "button", name=say("strip.outbox.send_again")
    ).click()
    expect(hand.page.locator("[data-refused] .notice")).to_have_count(1)
    hand.sent()
    hand.page.get_by_role("button", name=say("strip.outbox.withdraw")).click()
    hand.page.locator('#ask button[value="go"]').click()
    expect(hand.page.locator("[data-refused] .notice")).to_have_count(0)

    (read,) = onbench_entries(served, onbench)
    assert "SUP" == read.person


def test_a_label_never_seen_is_recorded_against(
    tablet: NewTablet, served: Served, onbench: OnBench
) -> None:
    hand = tablet("label").goto("/")
    at_hand(hand.page, "/offline/label")
    served.stop()
    hand.goto("/offline/label")
    hand.page.locator("[data-scan-text]").fill(f"http://bench/C/{onbench.code}")
    hand.page.get_by_role("button", name=say("shell.scan.open")).click()
    hand.ready()
    hand.keep(hand.part("mounted").get_by_role("button").last, "mounted")
    undercut(hand, "both")
    started_again(served)
    hand.page.evaluate("() => dispatchEvent(new Event('online'))")
    hand.sent()

    held, read = served.app.extensions["log"].entries_of(onbench.code)
    assert (held.kind, read.kind, read.setting) == ("mounted", "undercut_read", held.id)


def test_a_half_filled_form_survives_a_reload(
    tablet: NewTablet, onbench: OnBench, served: Served
) -> None:
    mounted(onbench)
    hand = tablet("draft").goto(at(onbench, "undercuts") + "?tooth=35&surface=MB")
    hand.number("drop_mm", "1.4")
    hand.page.reload()
    hand.ready()
    expect(hand.page.locator("#drop_mm")).to_have_value("1.4")
    hand.page.locator('button[name="contact"][value="both"]').click()
    expect(hand.page.locator("#said")).to_contain_text(say("recorded.kind.undercut_read"))
    hand.goto(at(onbench, "undercuts") + "?tooth=35&surface=MB")

    (read,) = onbench_entries(served, onbench)
    assert 1.4 == read.body.drop_mm


def test_when_room_is_short_photos_stop_first_and_entries_go_on(
    tablet: NewTablet, served: Served, onbench: OnBench
) -> None:
    mounted(onbench)
    hand = tablet("full")
    hand.page.add_init_script(
        "navigator.storage.estimate = () => Promise.resolve({ quota: 40e6, usage: 39e6 });"
    )
    hand.goto(at(onbench, "offline"))
    photo = hand.part("photo_kept")
    picture = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": job.photo_from_a_tablet()}
    photo.locator('input[type="file"]').set_input_files(picture)  # type: ignore[arg-type]
    photo.get_by_role("button", name=say("offline.keep_photo")).click()
    expect(hand.page.locator("#said")).to_have_text(say("strip.photo.no_room"))
    undercut(hand, "both")
    hand.sent()

    assert ["undercut_read"] == [e.kind for e in onbench_entries(served, onbench)]


def test_a_new_version_is_asked_for_and_never_taken_under_a_form_typed_in(
    tablet: NewTablet, served: Served, onbench: OnBench
) -> None:
    mounted(onbench)
    hand = tablet("update").goto(at(onbench, "undercuts") + "?tooth=35&surface=MB")
    at_hand(hand.page, "/offline/label")
    served.app.config["STATIC_MARK"] = "0123456789abcdef"
    hand.number("drop_mm", "1.4")
    hand.page.evaluate(
        "() => navigator.serviceWorker.getRegistration().then((one) => one.update())"
    )
    bar = hand.page.locator("[data-update]")
    bar.get_by_role("button").click()
    expect(bar).to_contain_text(say("strip.update.not_now"))
    expect(hand.page.locator("#drop_mm")).to_have_value("1.4")
    hand.page.locator('button[name="contact"][value="both"]').click()
    expect(hand.page.locator("#said")).to_contain_text(
        say("recorded.said", what=say("recorded.kind.undercut_read"))
    )
    with hand.page.expect_event("load"):
        bar.get_by_role("button").click()
    hand.ready()

    expect(bar).to_have_count(0)


def test_the_worker_keeps_whole_pages_and_nothing_else(
    tablet: NewTablet, onbench: OnBench, served: Served
) -> None:
    mounted(onbench)
    hand = tablet("copies").goto(at(onbench, "undercuts"))
    at_hand(hand.page, at(onbench, "offline"))
    hand.tooth(35)
    hand.surface("MB")
    hand.page.locator('button[name="contact"][value="both"]').click()
    expect(hand.page.locator("#said")).to_contain_text(say("recorded.kind.undercut_read"))

    kept = hand.page.evaluate(KEPT)
    assert [] == [one for one in kept if "tooth=" in one or "/sync/" in one or "said=" in one]
    assert {"GET"} == {one.split()[0] for one in kept}
    assert any("/static/" in one for one in kept)


def test_a_page_that_the_worker_missed_is_answered_by_it_all_the_same(
    tablet: NewTablet, onbench: OnBench
) -> None:
    mounted(onbench)
    hand = tablet("missed").goto(at(onbench, "undercuts"))
    offline = at(onbench, "offline")
    at_hand(hand.page, offline)
    hand.page.evaluate("() => caches.delete('tiltbook-pages')")
    # Such a reload goes past the worker, as a page does that was on its way while it took over.
    with hand.page.expect_event("load"):
        hand.page.context.new_cdp_session(hand.page).send("Page.reload", {"ignoreCache": True})

    at_hand(hand.page, offline)


def test_a_revoked_tablet_keeps_everything_and_says_so(
    tablet: NewTablet, served: Served, onbench: OnBench
) -> None:
    mounted(onbench)
    hand = tablet("lost").goto(at(onbench, "offline"))
    at_hand(hand.page, at(onbench, "offline"))
    log = served.app.extensions["log"]
    (device,) = [one.device for one in log.lab().devices.values()]
    draft = pairing.revocation(device, "SUP", "lost")
    served.say(draft.body, person="SUP", reason="lost")
    undercut(hand, "both")
    strip = hand.page.locator("[data-strip]").first
    expect(strip).to_contain_text(say("strip.strip.paused", why="").strip())

    hand.waiting(1)
    assert [] == onbench_entries(served, onbench)


KEPT = """async () => {
  const found = [];
  for (const name of await caches.keys()) {
    for (const key of await (await caches.open(name)).keys()) {
      const url = new URL(key.url);
      found.push(key.method + " " + url.pathname + url.search);
    }
  }
  return found;
}"""
