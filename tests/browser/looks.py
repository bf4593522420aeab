"""What a page is looked over for: axe's findings, targets too small for a finger, things beyond the edge."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

from playwright.sync_api import Page

from bench.places import static

AXE = static().parent / "scripts" / "node_modules" / "axe-core" / "axe.min.js"
LEVELS = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
SIZES = {"on its side": (1024, 768), "upright": (820, 1180), "phone": (390, 844)}
LEAST_PX = 44

_AXE_ASKED = """asked => axe.run(document, asked).then(found => found.violations.flatMap(
  fault => fault.nodes.map(node => `${fault.id}: ${node.target.join(" ")}`)))"""
# A link inside a sentence is exempt (WCAG 2.2, 2.5.8, "Inline"); so is what only a screen reader meets.
# A stroke that does not shrink with its picture is touched too, and no box counts it.
_SMALL = """([least, beside]) => { const hit = part => { const box = part.getBoundingClientRect();
    const reach = part.querySelector(".reach"), look = reach && getComputedStyle(reach);
    const wide = look?.vectorEffect === "non-scaling-stroke" ? parseFloat(look.strokeWidth) : 0;
    return { width: Math.max(box.width, wide), height: Math.max(box.height, wide) }; };
  return [...document.querySelectorAll(
    "a[href], button, input:not([type=hidden]), select, textarea, summary, [data-archmap] a")]
  .map(part => /^(radio|checkbox)$/.test(part.type) ? part.closest("label") ?? part : part)
  .filter(part => part.checkVisibility({ visibilityProperty: true }))
  .filter(part => !part.matches(".skip, .unseen") && !(beside && part.matches(beside)))
  .filter(part => !(part.matches("a") && getComputedStyle(part).display === "inline"
    && !part.closest("svg")))
  .filter(part => { const box = hit(part);
    return box.width && Math.min(box.width, box.height) < least - 0.5; })
  .map(part => { const box = hit(part);
    const name = part.getAttribute("aria-label") ?? part.textContent.trim();
    return `${part.localName}.${part.getAttribute("class") ?? ""} ${name.slice(0, 30)}`
      + ` ${box.width.toFixed(0)}x${box.height.toFixed(0)}`; }); }"""
_BEYOND = """() => { const root = document.documentElement;
  if (root.scrollWidth <= root.clientWidth) return [];
  const far = [...document.querySelectorAll("body *")].filter(
    part => part.checkVisibility() && part.getBoundingClientRect().right > root.clientWidth + 1);
  return [`${root.scrollWidth} > ${root.clientWidth}: ${far.slice(-1).map(
    part => part.localName + "." + part.getAttribute("class"))}`]; }"""
_OPEN = "() => document.querySelectorAll('details').forEach(fold => { fold.open = true; })"
_TEXT = "percent => { document.documentElement.style.fontSize = percent; }"


@cache
def _axe() -> str:
    return AXE.read_text(encoding="utf-8")


def axe(page: Page, *rules: str) -> list[str]:
    """Return what axe finds against WCAG 2.2 AA, or against some of its rules only."""
    asked: dict[str, Any] = {"resultTypes": ["violations"], "preload": False}
    asked["runOnly"] = list(rules or LEVELS)
    if rules:
        asked["runOnly"] = {"type": "rule", "values": list(rules)}
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(_axe())
    return page.evaluate(_AXE_ASKED, asked)  # type: ignore[no-any-return]


def open_folds(page: Page) -> None:
    page.evaluate(_OPEN)


def faults_in_light_and_dark(page: Page) -> list[str]:
    """Return what axe finds on a page in the light, and what else stands out too little in the dark."""
    page.emulate_media(color_scheme="light")
    light = axe(page)
    page.emulate_media(color_scheme="dark")
    dark = [f"dark {fault}" for fault in axe(page, "color-contrast")]
    page.emulate_media(color_scheme="light")
    return light + dark


def too_small(page: Page, beside: str = "") -> list[str]:
    """Return what a finger would miss: narrower or lower than 44 px.

    `beside` selects what another key of the page does too, in a size to hit.
    """
    return page.evaluate(_SMALL, [LEAST_PX, beside])  # type: ignore[no-any-return]


def beyond(page: Page) -> list[str]:
    """Return what makes the page wider than the screen as it is."""
    return page.evaluate(_BEYOND)  # type: ignore[no-any-return]


def beyond_the_edge(page: Page) -> Iterator[str]:
    """Yield what makes the page wider than the screen, at each size and at twice the size of text."""
    for percent in ("100%", "200%"):
        page.evaluate(_TEXT, percent)
        for name, (width, height) in SIZES.items():
            page.set_viewport_size({"width": width, "height": height})
            yield from (f"{name} {percent} {fault}" for fault in beyond(page))
    page.evaluate(_TEXT, "")
