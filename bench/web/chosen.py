"""What this reader chose: from the tablet's cookie, the language from the browser until they choose one."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Literal, get_args, get_type_hints

from flask import g, has_request_context, request

from bench.words import FIRST, language_for

COOKIE = "tiltbook-display"


@dataclass(frozen=True, slots=True)
class Display:
    """The reader's choices; a new one goes last, so that cookies of before stay valid."""

    numbering: Literal["iso", "universal"] = "iso"
    unit: Literal["mm", "inch"] = "mm"
    theme: Literal["auto", "light", "dark", "contrast"] = "auto"
    type: Literal["normal", "large"] = "normal"
    hand: Literal["right", "left"] = "right"
    language: Literal["auto", "en", "de"] = "auto"

    @property
    def text(self) -> str:
        """The choices as the cookie holds them."""
        return ".".join(asdict(self).values())


CHOICES: dict[str, tuple[str, ...]] = {
    name: get_args(hint) for name, hint in get_type_hints(Display).items()
}


def display() -> Display:
    """Return the choices of whoever makes this request; what the cookie says otherwise is left out."""
    if "display" not in g:
        g.display = _from_cookie(request.cookies.get(COOKIE, ""))
    chosen: Display = g.display
    return chosen


def language() -> str:
    """Return the language of whoever makes this request: chosen, else the browser's, else the first."""
    if not has_request_context():
        return FIRST
    wanted = display().language
    return asked_by_browser() if wanted == "auto" else wanted


def asked_by_browser() -> str:
    """Return the language of the catalogue that the browser asks for first, else the catalogue's first."""
    return language_for(request.accept_languages.values())


def _from_cookie(text: str) -> Display:
    said = dict(zip(CHOICES, text.split("."), strict=False))
    return Display(**{k: v for k, v in said.items() if v in CHOICES[k]})  # type: ignore[arg-type]
