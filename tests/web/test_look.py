"""The look: every pair of ink and ground reads in every theme, and colours live in one place."""

from __future__ import annotations

import re
from itertools import product

import pytest

from bench.places import static

SHEET = (static() / "tiltbook.css").read_text("utf-8")
THEMES = ("light", "dark", "contrast", "paper")
GROUNDS = ("ground", "rail", "sheet", "key")
TEXT = [
    *product(("ink", "soft"), GROUNDS),
    *product(("done", "stale", "stop"), ("ground", "sheet", "key")),
    *product(("done", "stale", "stop"), ("rail",)),
    *product(("ink",), ("done-wash", "stale-wash", "stop-wash")),
    ("done", "done-wash"), ("stale", "stale-wash"), ("stop", "stop-wash"),
    ("on-bar", "bar"), ("soft-on-bar", "bar"), ("on-done", "done"), ("on-stop", "stop"),
    ("on-chosen", "chosen"), ("gap", "ground"), ("soft", "stop-wash"),
]  # fmt: skip
STROKES = [
    *product(("edge",), GROUNDS), ("focus", "ground"), ("focus", "sheet"), ("focus", "halo"),
    ("stale-line", "stale-wash"), ("chosen", "sheet"), ("done", "done-wash"), ("on-bar", "bar"),
]  # fmt: skip


def rule(selector: str) -> str:
    found = re.search(re.escape(selector) + r"\s*\{([^}]*)\}", SHEET)
    assert found, selector
    return found.group(1)


def tokens(body: str) -> dict[str, str]:
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6});", body))


def theme(name: str) -> dict[str, str]:
    light = tokens(rule(":root"))
    if name == "light":
        return light
    selector = ":root, [data-theme]" if name == "paper" else f'[data-theme="{name}"]'
    return light | tokens(rule(selector))


def luminance(colour: str) -> float:
    """Relative luminance; source: WCAG 2.2, definition of relative luminance (sRGB)."""
    channels = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: str, other: str) -> float:
    """Contrast ratio; source: WCAG 2.2, definition of contrast ratio."""
    bright, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def test_black_on_white_has_the_ratio_that_the_standard_names() -> None:
    # Source: WCAG 2.2, contrast ratio: ratios range from 1 to 21.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#777777") == pytest.approx(1)


@pytest.mark.parametrize("name", THEMES)
@pytest.mark.parametrize(("ink", "ground"), TEXT)
def test_words_stand_out_from_their_ground(name: str, ink: str, ground: str) -> None:
    # Source: WCAG 2.2, 1.4.3 contrast (minimum): 4.5 for text.
    colours = theme(name)

    assert contrast(colours[ink], colours[ground]) >= 4.5


@pytest.mark.parametrize("name", THEMES)
@pytest.mark.parametrize(("line", "ground"), STROKES)
def test_edges_and_marks_stand_out_from_their_ground(name: str, line: str, ground: str) -> None:
    # Source: WCAG 2.2, 1.4.11 non-text contrast: 3 for controls and graphics.
    colours = theme(name)

    assert contrast(colours[line], colours[ground]) >= 3


@pytest.mark.parametrize(("ink", "ground"), [*product(("ink", "soft"), GROUNDS)])
def test_high_contrast_reaches_the_enhanced_ratio(ink: str, ground: str) -> None:
    # Source: WCAG 2.2, 1.4.6 contrast (enhanced): 7 for text.
    colours = theme("contrast")

    assert contrast(colours[ink], colours[ground]) >= 7


def test_auto_in_the_dark_is_the_dark_theme() -> None:
    assert tokens(rule('[data-theme="auto"]')) == tokens(rule('[data-theme="dark"]'))


@pytest.mark.parametrize("name", ["dark", "contrast"])
def test_every_theme_names_every_colour(name: str) -> None:
    assert tokens(rule(f'[data-theme="{name}"]')).keys() == tokens(rule(":root")).keys()


def test_colours_are_written_only_as_tokens() -> None:
    without_tokens = re.sub(r"--[\w-]+:[^;]*;", "", SHEET.split("/* ---------- paper")[0])
    without_camera = re.sub(r"\.scan [^{]*\{[^}]*\}", "", without_tokens)

    assert re.findall(r"#[0-9a-f]{3,8}\b|rgb\(", without_camera) == []


def test_every_token_that_is_used_is_written() -> None:
    written = set(re.findall(r"(--[\w-]+):", SHEET))

    assert set(re.findall(r"var\((--[\w-]+)", SHEET)) <= written


def test_fingers_get_at_least_44_pixels() -> None:
    # Source: WCAG 2.2, 2.5.5 target size (enhanced): 44 by 44 CSS pixels.
    sizes = dict(re.findall(r"--(tap[\w-]*): max\((\d+)px", SHEET))

    assert {name: int(size) >= 44 for name, size in sizes.items()} == {
        "tap": True, "tap-key": True, "tap-main": True,
    }  # fmt: skip
    assert int(sizes["tap-key"]) >= 52
