"""The tablet: tap to durable, draining an outbox beside a general replicator, label to open case."""

from __future__ import annotations

import io
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from PIL import Image
from playwright.sync_api import BrowserContext, Page, sync_playwright

from bench.core.entries import CaseOpened
from bench.pictures.label import LabelFacts, label_image
from bench.sync import pairing
from bench.words import Words
from measures.replicator import Replicator
from measures.row import Row, percentile
from measures.served import Bench, somebody

ENTRIES, PER_CASE, TAPS, SCANS = 10_000, 250, 100, 12
SLOWER = 4
CAMERA = ("--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream")


def rows(bench: Bench) -> Iterator[Row]:
    """Measure in one Chromium: a tap, a drain, the same documents by a replicator, a scan."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        folder = Path(name)
        (folder / "label.mjpeg").write_bytes(film(bench))
        with tablet(bench, folder) as (context, page):
            yield tap(bench, context, page)
            rate = drained(bench, page)
            yield Row("drain 10,000 entries, durable at the bench", rate, "entries/s", ">= 2x",
                      beside(folder, context, rate))  # fmt: skip
            yield scan(bench, page)


@contextmanager
def tablet(bench: Bench, folder: Path) -> Iterator[tuple[BrowserContext, Page]]:
    """Start a Chromium paired with the bench and signed in, a label before its camera."""
    film_option = f"--use-file-for-fake-video-capture={folder / 'label.mjpeg'}"
    debian = Path("/usr/bin/chromium")
    with sync_playwright() as playwright:
        context = playwright.chromium.launch_persistent_context(
            str(folder / "browser"), executable_path=str(debian) if debian.exists() else None,
            args=["--no-sandbox", *CAMERA, film_option], base_url=f"http://127.0.0.1:{bench.port}",
        )  # fmt: skip
        page = context.pages[0]
        pair(bench, page)
        sign_in(bench, page)
        yield context, page
        context.close()


def pair(bench: Bench, page: Page) -> None:
    """Pair the page's tablet in the name of a supervisor of the invented lab."""
    supervisor = somebody(bench.said, "supervisor")[0]
    code = pairing.offer(bench.log, supervisor, time.time_ns() // 1_000_000)
    page.goto(f"/pair#{code}")
    page.locator("#name").fill("Measured tablet")
    page.locator("form[data-pair] button").click()
    page.locator("[data-pair-said]:not(:empty)").wait_for()


def sign_in(bench: Bench, page: Page) -> None:
    """Sit down as a technician of the invented lab."""
    initials, pin = somebody(bench.said, "technician")
    page.goto(f"/who?initials={initials}")
    page.locator(f'label:has(input[name="initials"][value="{initials}"])').click()
    page.locator('input[name="pin"]').fill(pin)
    with page.expect_navigation():
        page.locator('form:has(input[name="pin"]) button.main').click()


def tap(bench: Bench, context: BrowserContext, page: Page) -> Row:
    """Tap a result again and again without a net, each time until it is on the tablet's disk."""
    page.goto(f"/case/{bench.codes[0]}/offline")
    page.locator("html[data-tablet=ready]").wait_for(state="attached")
    session = context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    context.set_offline(True)
    taken, bare = page.evaluate(TAPPED, TAPS)
    context.set_offline(False)
    session.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    page.evaluate(EMPTIED)
    return Row("tap to durable on the tablet, p95", percentile(taken, 0.95), "ms", "<= 20 ms",
               f"4x slower CPU, no net; a bare strict write then {percentile(bare, 0.95):.1f} ms")  # fmt: skip


def drained(bench: Bench, page: Page) -> float:
    """Fill the outbox, drain it, and return entries per second."""
    page.goto("/outbox")
    page.locator("html[data-tablet=ready]").wait_for(state="attached")
    cases = bench.codes[: ENTRIES // PER_CASE]
    person = somebody(bench.said, "technician")[0]
    seconds = page.evaluate(DRAINED, [cases, PER_CASE, person])
    return len(cases) * PER_CASE / float(seconds)


def beside(folder: Path, context: BrowserContext, rate: float) -> str:
    """Replicate as many documents of the same size by the other means, and say how it compares."""
    with Replicator(folder / "replicator") as other:
        page = context.new_page()
        page.goto(other.page)
        seconds = float(page.evaluate(REPLICATED, [other.target, ENTRIES]))
        page.close()
    theirs = ENTRIES / seconds
    return f"{rate / theirs:.2f}x PouchDB to express-pouchdb: {theirs:,.0f}/s"


def scan(bench: Bench, page: Page) -> Row:
    """Hold the label before the camera and time from its first picture to the case on the screen."""
    taken = []
    for _ in range(SCANS):
        page.goto("/scan")
        page.evaluate(FIRST_PICTURE)
        with page.expect_navigation(wait_until="domcontentloaded", timeout=20_000):
            page.locator("[data-scan-start]").click()
        page.locator("h1.case").wait_for()
        begun = float(page.evaluate("() => sessionStorage.getItem('firstPicture')"))
        taken.append(float(page.evaluate("() => Date.now()")) - begun)
    return Row("first picture of a label to open case, p95", percentile(taken, 0.95), "ms",
               "<= 1000 ms", f"fake camera; half within {percentile(taken, 0.5):.0f} ms")  # fmt: skip


def film(bench: Bench) -> bytes:
    """Return the label of the first case as a film that Chromium plays in place of a camera."""
    code = bench.codes[0]
    opening: CaseOpened = bench.log.case(code).opened.body
    facts = LabelFacts(code, opening.number, opening.arch, "http://127.0.0.1:8480")
    with Image.open(io.BytesIO(label_image(facts, Words("en").say))) as drawn:
        label = drawn.convert("RGB")
    label.thumbnail((640, 640))
    frame = Image.new("RGB", (1280, 720), "#c9c2b4")
    frame.paste(label, ((1280 - label.width) // 2, (720 - label.height) // 2))
    out = io.BytesIO()
    frame.save(out, "JPEG", quality=90)
    return out.getvalue() * 4


MODULE = """const mark = document.getElementById("tablet").dataset.mark;
  const load = (name) => import(`/static/${mark}/js/${name}.js`);"""
TAPPED = """async (times) => {
  const mark = document.getElementById("tablet").dataset.mark;
  const { store } = await import(`/static/${mark}/js/store.js`);
  const form = document.querySelector('form[data-statement="undercut_read"]');
  form.closest("details").open = true;
  const tooth = [...form.elements.tooth.options].map((one) => one.value).filter(Boolean)[0];
  const taken = [];
  for (let n = 0; n < times; n += 1) {
    form.elements.tooth.value = tooth;
    form.querySelector('input[name="surface"][value="B"]').checked = true;
    form.querySelector('input[name="gauge_mm"]').checked = true;
    // What was chosen is kept as a draft, and the page is drawn and at rest before a finger taps the result.
    form.elements.tooth.dispatchEvent(new Event("change", { bubbles: true }));
    await new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(go, 200))));
    const kept = new Promise((go) => document.addEventListener("tiltbook:kept", go, { once: true }));
    const begun = performance.now();
    form.querySelector('button[name="contact"][value="none"]').click();
    await kept;
    taken.push(performance.getEntriesByName("tiltbook:durable").pop().startTime - begun);
    await new Promise((go) => setTimeout(go, 200));
  }
  const bare = [];
  for (let n = 0; n < times; n += 1) {
    const begun = performance.now();
    await store.write([["put", "meta", { name: "measured", n }]]);
    bare.push(performance.now() - begun);
    await new Promise((go) => setTimeout(go, 20));
  }
  return [taken, bare];
}"""
EMPTIED = f"""async () => {{
  {MODULE}
  const {{ store }} = await load("store");
  await store.write([["deleteRange", "outbox", 0, 1e12], ["deleteRange", "envelopes", 0, 1e12]]);
  await store.write([["delete", "meta", "head"], ["put", "meta", {{ name: "refill" }}]]);
}}"""
DRAINED = f"""async ([cases, each, person]) => {{
  {MODULE}
  const [{{ here }}, {{ state }}, {{ drain }}] = await Promise.all(["sync", "outbox", "drain"].map(load));
  const setting = "0195a1b2-c3d4-7e5f-8a6b-7c8d9e0f1a2b";
  for (const code of cases) {{
    const said = Array.from({{ length: each }}, (_, n) => ({{ kind: "undercut_read", case: code, setting, person,
      supersedes: [], reason: "", body: {{ tooth: 11 + (n % 7), surface: "B", gauge_mm: 0.25, contact: "both",
        drop_mm: n / 100 + 0.1, gauge: "G25-1", marked: false }} }}));
    await state(here, said);
  }}
  const begun = performance.now();
  const outcome = await navigator.locks.request("tiltbook-drain", () => drain(here));
  if (outcome !== "done" || await here.store.count("refused")) throw new Error("not drained: " + outcome);
  return (performance.now() - begun) / 1000;
}}"""
REPLICATED = """async ([target, count]) => {
  const local = new PouchDB("measured", { auto_compaction: false });
  const made = Array.from({ length: count }, (_, n) => ({ _id: String(n).padStart(8, "0"), kind: "undercut_read",
    case: "22QY4JDS", setting: "0195a1b2-c3d4-7e5f-8a6b-7c8d9e0f1a2b", person: "TEC", device: "tablet-0123456789ab",
    prev: "0".repeat(64), reason: "", supersedes: [], seq: n, at: "2026-03-09T08:00:00.000Z",
    body: { tooth: 35, surface: "B", gauge_mm: 0.25, contact: "both", drop_mm: 1.4, gauge: "G25-1",
      marked: false } }));
  await local.bulkDocs(made);
  const begun = performance.now();
  const result = await local.replicate.to(target, { batch_size: 500 });
  if (result.docs_written !== count) throw new Error("not all replicated");
  return (performance.now() - begun) / 1000;
}"""
FIRST_PICTURE = """() => {
  const video = document.querySelector("[data-scan] video");
  video.addEventListener("playing", () => sessionStorage.setItem("firstPicture", Date.now()), { once: true });
}"""
