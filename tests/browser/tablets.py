"""A paired tablet in front of a bench that can be stopped and started, with a browser that can be killed."""

from __future__ import annotations

import os
import signal
from contextlib import suppress
from pathlib import Path
from threading import Thread
from typing import Any

from argon2 import PasswordHasher
from playwright.sync_api import BrowserContext, Locator, Page, Playwright, expect

from bench.app import create_app
from bench.serving import server_of
from bench.sync import pairing
from bench.web.clock import SYSTEM
from tests.browser.conftest import Served
from tests.browser.hand import Hand, say
from tests.browser.watch import Watch

READY = "html[data-tablet='ready']"
# Chromium writes these while a test keeps the bench PC away on purpose.
AWAY = [
    r"net::ERR_",
    r"Failed to load resource",
    r"htmx:sendError",
    r"ServiceWorker",
    r"htmx:afterRequest",
]


def one_time_code(bench: Served) -> str:
    """Make a one-time code as the supervisor's page does."""
    return pairing.offer(bench.app.extensions["log"], "SUP", SYSTEM.now_ms())


def persistent(
    playwright: Playwright, folder: Path, bench: Served, *more: str, **options: Any
) -> BrowserContext:
    """Start a browser whose records outlive it."""
    debian = Path("/usr/bin/chromium")
    asked: dict[str, Any] = {
        "has_touch": True,
        "viewport": {"width": 1024, "height": 768},
        **options,
    }
    context = playwright.chromium.launch_persistent_context(
        str(folder), executable_path=str(debian) if debian.exists() else None,
        args=["--no-sandbox", *more], base_url=bench.address, **asked,
    )  # fmt: skip
    context.set_default_timeout(8000)
    return context


def pair(page: Page, bench: Served, name: str = "Bench tablet") -> str:
    """Pair the tablet of a page by a one-time code, and return its device name."""
    page.goto(f"/pair#{one_time_code(bench)}")
    page.locator("#name").fill(name)
    page.get_by_role("button", name=say("pairing.go")).click()
    expect(page.locator("[data-pair-said]")).to_have_text(say("pairing.says.paired"))
    devices = bench.app.extensions["log"].lab().devices
    return next(one.device for one in devices.values() if one.name == name)


class TabletHand(Hand):
    """A hand at a paired tablet: what it records is saved here first."""

    def ready(self) -> TabletHand:
        """Wait until the page's scripts have taken its forms over."""
        self.page.locator(READY).wait_for(state="attached")
        return self

    def goto(self, path: str) -> TabletHand:
        super().goto(path)
        return self.ready()

    def keep(self, what: Locator, kind: str) -> None:
        """Tap what records, and wait until it is said to be saved on this tablet."""
        what.click()
        expect(self.page.locator("#said")).to_contain_text(
            say("strip.said.saved", what=say(f"recorded.kind.{kind}"))
        )

    def part(self, kind: str) -> Locator:
        """Open the part of the offline page for a kind, and return it."""
        part = self.page.locator(f'[data-part="{kind}"]')
        if part.get_attribute("open") is None:
            part.locator("summary").first.click()
        return part

    def waiting(self, count: int) -> None:
        """Expect so many statements to wait here."""
        assert count == self.page.evaluate(WAITING)

    def sent(self) -> None:
        """Wait until nothing waits any more."""
        self.page.evaluate(ALL_SENT)


def watching(context: BrowserContext, watch: Watch) -> Page:
    """Return a page of a context that is looked over while the bench PC may be away."""
    watch.expected += AWAY
    watch.over(context)
    return context.pages[0] if context.pages else context.new_page()


_COUNT = """async () => {
  const open = indexedDB.open("tiltbook");
  const db = await new Promise((done) => { open.onsuccess = () => done(open.result); });
  const turn = db.transaction(["envelopes", "outbox", "photos"]);
  const all = (room) => new Promise((done) => {
    const asked = turn.objectStore(room).getAll();
    asked.onsuccess = () => done(asked.result);
  });
  const [sealed, rows, photos] = await Promise.all(["envelopes", "outbox", "photos"].map(all));
  db.close();
  const onTheWay = sealed.flatMap((one) => one.entries);
  return [rows.length + onTheWay.length, photos.filter((one) => one.bytes).length];
}"""
WAITING = f"async () => (await ({_COUNT})())[0]"
ALL_SENT = f"""async () => {{
  for (let n = 0; n < 300; n += 1) {{
    const [entries, photos] = await ({_COUNT})();
    if (entries + photos === 0) return true;
    await new Promise((go) => setTimeout(go, 50));
  }}
  throw new Error("still waiting");
}}"""


def started_again(bench: Served) -> None:
    """Switch the bench PC on again: same folder, same address."""
    settings = bench.app.config["SETTINGS"]
    weak = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    bench.app = create_app(settings, hasher=weak)
    bench._server = server_of(bench.app, settings)
    bench._server.shutdown_timeout = 1
    bench._server.prepare()
    bench._thread = Thread(target=bench._server.serve, daemon=True)
    bench._thread.start()


def killed(folder: Path) -> None:
    """Kill the browser of a folder as a dead battery would: no page and no process is asked."""
    for process in Path("/proc").glob("[0-9]*"):
        try:
            command = (process / "cmdline").read_bytes().decode(errors="replace")
        except OSError:
            continue
        if f"--user-data-dir={folder}" in command:
            with suppress(ProcessLookupError):
                os.kill(int(process.name), signal.SIGKILL)
    (folder / "SingletonLock").unlink(missing_ok=True)


def at_hand(page: Page, *paths: str) -> None:
    """Wait until the worker runs and holds a copy of each page."""
    page.evaluate(
        """async (paths) => {
          await navigator.serviceWorker.ready;
          for (const path of paths) {
            for (let n = 0; !(await caches.match(path)); n += 1) {
              if (n > 600) throw new Error("no copy of " + path);
              await new Promise((go) => setTimeout(go, 50));
            }
          }
        }""",
        list(paths),
    )


def choose(part: Locator, name: str, value: str) -> None:
    """Tap one key of several in a part of the offline page."""
    part.locator(f'label:has(input[name="{name}"][value="{value}"])').first.click()


def site(part: Locator, tooth: int, surface: str) -> None:
    part.locator('select[name="tooth"]').select_option(str(tooth))
    choose(part, "surface", surface)
