"""Every page, in every state, is looked over for people who see, hear or tap otherwise than we do.

Levels: WCAG 2.2 (W3C Recommendation, 2023) A and AA, by axe-core. The 44 px of a target are the figure of
its success criterion 2.5.5 (AAA), which the bench holds itself to for gloves and dust.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import pytest
from playwright.sync_api import Browser, Page

from bench.core.casephotos import photos_of
from bench.core.steps import STEPS
from bench.demo.fill import Filled, fill
from bench.demo.people import CALIPER, FAILED_GAUGE, FIRST, LOST_TABLET, SUPERVISORS, TABLE
from bench.demo.stories import STORIES
from tests.browser import looks
from tests.browser.conftest import Served, serving
from tests.browser.hand import Hand
from tests.browser.watch import Watch
from tests.conftest import Tablet

EVERY_STEP = ("released", "stale")
ONE_STEP = {"disturbed": "tripod", "corrected": "undercuts", "received in part": "receive"}
OF_A_CASE = ("put back badly first", "contradiction")
ASKING = (
    "receive?sheet=arrival", "receive?sheet=teeth&chart=36r", "receive?sheet=wishes&wish=clasp&tooth={t}",
    "receive?sheet=wishes&wish=rest&tooth={t}", "undercuts?tooth={t}&surface=MB", "tilt?disturbed=1",
    "guide_planes?tooth={t}&surface=M", "tripod?again=1", "retention?tooth={t}&surface=MB",
    "interferences?place=left_lingual", "survey_lines?lines={t}B&tooth={t}",
)  # fmt: skip
TALL = {
    "width": 1024,
    "height": 2400,
}  # nothing lies under a docked key or beyond what is scrolled to
OFF_THE_WAY = (
    "/nowhere",
    "/case/XXXX",
    "/c/2222-2223",
    "/c/22222222",
    "/case/{c}/nowhere",
    "/lock",
)

# What is refused: the page, the key that sends the form, what is typed before.
REFUSED: dict[str, tuple[str, str, dict[str, str]]] = {
    "a case without a number": ("/case/new", "main button.action", {"#number": "?"}),
    "a person without initials": ("/people", 'form[action$="/people"] button.action', {}),
    "a PIN that is none": ("/pin", "main button.action", {}),
    "an instrument without a tag": ("/instruments", 'form[action$="/instruments"] button.action', {}),
    "a policy without a reason": ("/policy", 'form[action*="/policy/"] button.action', {}),
    "a code that is none": ("/scan", ".scan form button", {"#scan-code": "22222223"}),
    "a prescription without a day": (
        "/case/{c}/receive?sheet=arrival", 'form[action$="prescription_recorded"] button.action',
        {"#dated": ""},
    ),
    "a tilt too steep": (
        "/case/{c}/tilt", 'form[action$="setting_taken"] button.action', {"#ap_deg": "44"},
    ),
    "a drop too deep": (
        "/case/{c}/undercuts?tooth={t}&surface=MB", 'form[action$="undercut_read"] button.key[name]',
        {"#drop_mm": "99"},
    ),
    "marks without distances": (
        "/case/{c}/tripod?again=1", 'form[action$="tripod_marked"] button.action', {},
    ),
    "a light too wide": (
        "/case/{c}/guide_planes?tooth={t}&surface=M", 'form[action$="guide_plane_read"] button.action',
        {"#gap_mm": "99"},
    ),
    "heights that are missing": (
        "/case/{c}/remount", 'form[action$="/remount"] button.action.main', {},
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Demo:
    """The invented lab, served, with a supervisor at a tablet."""

    served: Served
    filled: Filled
    page: Page
    watch: Watch

    def code(self, story: str) -> str:
        return next(case.code for case in self.filled.cases if case.story == story)

    def teeth(self, story: str) -> int:
        return int(self.served.app.extensions["log"].case(self.code(story)).present[2])

    def at(self, path: str) -> Page:
        self.page.goto(path)
        assert self.page.locator("html[lang]").count(), f"{path} is no page"
        looks.open_folds(self.page)
        return self.page


@pytest.fixture(scope="module")
def demo(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Demo]:
    with serving(tmp_path_factory.mktemp("demo")) as served:
        filled = fill(served.app.extensions["store"], len(STORIES))
        context = browser.new_context(
            base_url=served.address, has_touch=True, viewport={"width": 1024, "height": 768},
            reduced_motion="reduce",
        )  # fmt: skip
        context.set_default_timeout(10_000)
        watch = Watch()
        watch.expected += ["status of (403|404|405)"]
        watch.over(context)
        hand = Hand(context.new_page())
        who = next(one for one in filled.people if one.role == "supervisor")
        hand.sign_in(who.initials, who.pin)
        yield Demo(served, filled, hand.page, watch)
        context.close()
        assert watch.troubles == []


def steps_shown(demo: Demo) -> list[str]:
    """Return the pages of the steps: all ten of some cases, of every other the one to come next."""
    found = [f"/case/{demo.code(story)}/{step}" for story in EVERY_STEP for step in STEPS]
    found += [f"/case/{demo.code(story)}/{step}" for story, step in ONE_STEP.items()]
    every = [f"/case/{case.code}" for case in demo.filled.cases if case.story not in EVERY_STEP]
    every += [
        f"/case/{demo.code(story)}/release" for story in ("recalled", "overruled", "disturbed")
    ]
    tooth = demo.teeth("stale")
    asking = [f"/case/{demo.code('stale')}/{asked.format(t=tooth)}" for asked in ASKING]
    return list(dict.fromkeys([*found, *every, *asking]))


def other_pages(demo: Demo, *stories: str) -> list[str]:
    """Return every other address that shows a page, from the map of the app itself; those of a case by story."""
    rules = [r for r in demo.served.app.url_map.iter_rules() if "GET" in (r.methods or ())]
    plain = [str(rule) for rule in rules if not rule.arguments]
    of_a_case = [
        str(rule).replace("<code>", demo.code(story))
        for rule in rules if rule.arguments == {"code"}
        for story in stories
    ]  # fmt: skip
    of_a_case += [path for story in stories for path in photo_pages(demo, story)]
    off = [path.format(c=demo.code("stale")) for path in OFF_THE_WAY]
    return [path for path in (*plain, *of_a_case) if is_page(demo, path)] + [
        *off, "/?state=ready&order=age", "/labels?mm=9", *of_things(demo),
    ]  # fmt: skip


def of_things(demo: Demo) -> list[str]:
    """Return the pages of single drills, instruments, tables and people, with what they ask for in the address."""
    drills = [one.id for one in demo.served.app.extensions["log"].of_kinds("drill_planned")]
    first = drills[0]
    return [
        *(f"/drills/{drill}" for drill in drills), f"/drills/{first}?cast=Stone+1&person=AM",
        f"/drills/{drills[1]}/next", f"/trail/instrument/{FAILED_GAUGE}",
        f"/trail/instrument/{CALIPER}?made=since", f"/tables/{TABLE}", f"/trail/person/{FIRST}",
        f"/trail/device/{LOST_TABLET}", f"/trail/device/{demo.served.app.extensions['store'].device}",
        "/drills?person=AM&since=2020-01-01", "/audit?from=2020-01-01&surveyor=S2",
    ]  # fmt: skip


def photo_pages(demo: Demo, story: str) -> list[str]:
    """Return every page of each photo of a case, and that of taking it again."""
    case = demo.served.app.extensions["log"].case(demo.code(story))
    rules = [str(r) for r in demo.served.app.url_map.iter_rules()
             if r.arguments == {"code", "sha"} and "GET" in (r.methods or ())]  # fmt: skip
    pages = [
        rule.replace("<code>", case.code).replace("<sha>", photo.sha)
        for photo in photos_of(case) for rule in rules
    ]  # fmt: skip
    again = [f"/case/{case.code}/photos?again={photo.entry.id}" for photo in photos_of(case)]
    return [*pages, *again]


def is_page(demo: Demo, path: str) -> bool:
    """Say whether an address answers with a page: not with a part of one, a file or bare data."""
    app = demo.served.app
    tablet = Tablet(app, app.response_class, use_cookies=True).sit(SUPERVISORS[0])
    answer = tablet.get(path, buffered=False, follow_redirects=True)
    return answer.mimetype == "text/html" and answer.text.startswith("<!doctype")


def faulty(demo: Demo, paths: Iterable[str]) -> dict[str, list[str]]:
    demo.page.set_viewport_size(TALL)
    found = {path: looks.faults_in_light_and_dark(demo.at(path)) for path in paths}
    return {path: faults for path, faults in found.items() if faults}


def test_axe_finds_nothing_on_the_pages_of_the_steps(demo: Demo) -> None:
    assert faulty(demo, steps_shown(demo)) == {}


def test_axe_finds_nothing_on_any_other_page(demo: Demo) -> None:
    paths = other_pages(demo, *OF_A_CASE)

    assert faulty(demo, paths) == {}
    assert len(paths) > 25


def test_axe_finds_nothing_where_figures_stand_by_name(demo: Demo) -> None:
    page = demo.at("/audit")
    page.locator('form[action="/audit/look"] button').first.click()
    Hand(page).settle()
    drills = [path for path in of_things(demo) if path.startswith("/drills/0")]

    assert (
        faulty(demo, ["/audit", "/audit/gauges", "/audit/entries", "/predictions", *drills]) == {}
    )


def test_a_finger_hits_every_key_and_figure_of_audit_drills_and_instruments(demo: Demo) -> None:
    # Each point of a plot is a line of the table beside it.
    found = {
        path: looks.too_small(demo.at(path), beside=".plot a")
        for path in ("/audit", "/audit/gauges", "/audit/entries", "/instruments", *of_things(demo))
    }

    assert {path: small for path, small in found.items() if small} == {}


@pytest.mark.parametrize("path", REFUSED)
def test_axe_finds_nothing_on_a_refused_form(path: str, demo: Demo) -> None:
    where, button, typed = REFUSED[path]
    page = demo.at(where.format(c=demo.code("stale"), t=demo.teeth("stale")))
    page.set_viewport_size(TALL)
    for field, text in typed.items():
        page.locator(f"{field} >> visible=true").first.fill(text)
    page.evaluate("() => { for (const form of document.forms) form.noValidate = true; }")
    page.locator(button).first.click()
    if page.locator("#ask[open]").count():
        page.locator('#ask button[value="go"]').click()
    page.locator('main [aria-invalid="true"], main .notice.stop').first.wait_for()
    Hand(page).settle()

    assert looks.faults_in_light_and_dark(page) == []


def test_axe_finds_nothing_in_high_contrast(demo: Demo) -> None:
    demo.page.set_viewport_size(TALL)
    demo.page.goto("/display")
    demo.page.locator('label:has(input[value="contrast"])').click()
    demo.page.locator("main button.action").first.click()
    stale = demo.code("stale")
    paths = ("/", f"/case/{stale}/release", f"/case/{stale}/undercuts", f"/case/{stale}/sheet")
    found = {path: looks.axe(demo.at(path)) for path in paths}
    demo.page.context.clear_cookies(name="tiltbook-display")

    assert [fault for faults in found.values() for fault in faults] == []


@pytest.mark.parametrize("dialog", ["cover", "ask", "pad"])
def test_axe_finds_nothing_in_an_open_dialog(dialog: str, demo: Demo) -> None:
    page = demo.at(f"/case/{demo.code('stale')}/tilt")
    page.evaluate("name => document.getElementById(name).showModal()", dialog)

    assert looks.faults_in_light_and_dark(page) == []


def test_a_finger_hits_every_key_of_the_steps(demo: Demo) -> None:
    found: dict[str, list[str]] = {}
    for path in finger_pages(demo):
        page = demo.at(path)
        for size in ("on its side", "upright"):
            page.set_viewport_size(dict(zip(("width", "height"), looks.SIZES[size], strict=True)))
            if small := looks.too_small(page):
                found[f"{path} {size}"] = small

    assert found == {}


def finger_pages(demo: Demo) -> list[str]:
    """Return every step of a case with much on it, and the pages that ask for something."""
    code, tooth = demo.code("stale"), demo.teeth("stale")
    asking = [f"/case/{code}/{asked.format(t=tooth)}" for asked in ASKING]
    photos = [path for path in photo_pages(demo, "released") if is_page(demo, path)]
    return [
        *step_pages(demo),
        *asking,
        *photos,
        f"/case/{code}/remount",
        f"/case/{code}/photos",
        "/scan",
    ]


def step_pages(demo: Demo) -> list[str]:
    """Return the ten steps of a case with much on it."""
    return [f"/case/{demo.code('stale')}/{step}" for step in STEPS]


def test_nothing_reaches_beyond_the_edge_of_the_screen(demo: Demo) -> None:
    paths = [*step_pages(demo), *other_pages(demo, "recalled")]
    found = {path: list(looks.beyond_the_edge(demo.at(path))) for path in paths}

    assert {path: faults for path, faults in found.items() if faults} == {}


def test_a_field_in_use_is_never_under_the_docked_key(demo: Demo) -> None:
    page = demo.at(f"/case/{demo.code('stale')}/guide_planes?tooth={demo.teeth('stale')}&surface=M")
    page.set_viewport_size({"width": 1024, "height": 768})
    hidden = page.evaluate("""() => [...document.querySelectorAll("#controls input:not([type=hidden])")]
      .filter(part => part.type === "number").filter(part => { part.focus();
        const box = part.getBoundingClientRect();
        const there = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
        return there !== part; }).map(part => part.id)""")

    assert hidden == []
