"""One write path: on a paired tablet whatever is recorded is saved there first, then sent, then shown."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Playwright, expect

from tests.browser.conftest import Served
from tests.browser.hand import say
from tests.browser.tablets import TabletHand, pair, persistent, watching
from tests.browser.watch import Watch
from tests.conftest import PINS
from tests.web.surveyedcases import OnBench, mounted


@pytest.fixture
def tablet(
    playwright: Playwright, tmp_path: Path, served: Served, watch: Watch
) -> Iterator[BrowserContext]:
    context = persistent(playwright, tmp_path / "browser", served)
    yield context
    context.close()


def test_an_entry_is_saved_here_then_sent_then_shown(
    tablet: BrowserContext, served: Served, onbench: OnBench, watch: Watch
) -> None:
    mounted(onbench)
    page = watching(tablet, watch)
    hand = TabletHand(page)
    device = pair(page, served)
    hand.sign_in("TEC", PINS["TEC"])
    hand.goto(f"/case/{onbench.code}/undercuts?tooth=35&surface=MB")

    page.locator('button[name="contact"][value="both"]').click()

    expect(page.locator("#said")).to_contain_text(
        say("recorded.said", what=say("recorded.kind.undercut_read"))
    )
    (entry,) = onbench.entries("undercut_read")
    assert (device, 1, "TEC") == (entry.device, entry.seq, entry.person)
    expect(page.locator("[data-strip]").first).to_contain_text(say("strip.strip.sent"))
