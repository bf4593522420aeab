"""Over the lab's own certificate a tablet is a full one; where it is not trusted the strip says so."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from playwright.sync_api import Page, Playwright, expect

from bench.core.entries import Draft, PersonAdded
from bench.sync import pairing
from bench.web.clock import SYSTEM
from tests.browser.hand import say
from tests.browser.tablets import TabletHand, at_hand
from tests.conftest import PINS
from tests.lan.served import Served, served


@pytest.fixture
def network(tmp_path: Path) -> Iterator[Served]:
    with served(tmp_path / "data") as bench:
        for initials, role in (("SUP", "supervisor"), ("TEC", "technician")):
            draft = Draft(PersonAdded(initials, role), "SUP")
            bench.app.extensions["log"].record(
                [draft], now_ms=SYSTEM.now_ms(), random_bits=lambda: SYSTEM.random_bits(74)
            )
            bench.app.extensions["credentials"].set_pin(initials, PINS[initials])
        yield bench


def keys_of(bench: Served) -> str:
    """Return what makes Chromium trust the served certificate as a tablet trusts the lab's authority."""
    spki = bench.network.certificates.leaf.public_key()
    der = spki.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    return base64.b64encode(hashlib.sha256(der).digest()).decode()


def page_of(
    playwright: Playwright, folder: Path, bench: Served, *more: str, **rest: object
) -> Page:
    debian = Path("/usr/bin/chromium")
    context = playwright.chromium.launch_persistent_context(
        str(folder), executable_path=str(debian) if debian.exists() else None,
        args=["--no-sandbox", *more], has_touch=True, base_url=f"https://127.0.0.1:{bench.settings.port}", **rest,  # type: ignore[arg-type]
    )  # fmt: skip
    context.set_default_timeout(8000)
    return context.pages[0]


def pair(page: Page, bench: Served) -> None:
    code = pairing.offer(bench.app.extensions["log"], "SUP", SYSTEM.now_ms())
    page.goto(f"/pair#{code}")
    page.locator("#name").fill("Tablet")
    page.get_by_role("button", name=say("pairing.go")).click()


def test_over_the_labs_certificate_a_tablet_pairs_and_keeps_pages(
    playwright: Playwright, tmp_path: Path, network: Served
) -> None:
    trusted = f"--ignore-certificate-errors-spki-list={keys_of(network)}"
    page = page_of(playwright, tmp_path / "trusting", network, trusted)
    pair(page, network)
    expect(page.locator("[data-pair-said]")).to_have_text(say("pairing.says.paired"))
    TabletHand(page).sign_in("TEC", PINS["TEC"])
    TabletHand(page).goto("/")
    at_hand(page, "/offline/label")

    assert page.evaluate("() => Boolean(navigator.serviceWorker.controller)")
    page.context.close()


def test_without_a_trusted_certificate_no_worker_takes_root(
    playwright: Playwright, tmp_path: Path, network: Served
) -> None:
    page = page_of(playwright, tmp_path / "doubting", network, ignore_https_errors=True)
    pair(page, network)
    expect(page.locator("[data-pair-said]")).not_to_be_empty()
    TabletHand(page).sign_in("TEC", PINS["TEC"])
    page.goto("/")
    page.wait_for_load_state("networkidle")

    assert (
        page.evaluate("() => navigator.serviceWorker.getRegistrations().then((all) => all.length)")
        == 0
    )
    expect(page.locator("[data-strip]").first).to_contain_text(say("strip.strip.online_only"))
    page.context.close()
