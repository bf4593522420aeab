"""What makes the pages an app of the tablet: worker, list of files, manifest, icons, words for the scripts."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

from flask import Blueprint, Response, abort, current_app, jsonify, make_response, url_for

from bench.web import chosen, frame, speech
from bench.web.icon import GROUND, STONE, icon_png
from bench.web.roles import least
from bench.words import Words

blueprint = Blueprint("shellfiles", __name__)

ICON_SIDES_PX = (180, 192, 512)
WORDS_ROOM = "strip."
GAPS = ("count", "age", "at", "why", "what", "code", "person", "words")
_NOT_OF_THE_SHELL = ("sw.js", ".d.ts", "LICENSE", "LICENSE-MIT")
DAY_S = 24 * 3600


@blueprint.get("/sw.js")
@least("stranger", quiet=True)
def worker() -> Response:
    """Serve the worker from the root, so that it may answer for every page; never from a cache."""
    static: Path = current_app.config["STATIC"]
    # The mark makes the worker another one whenever any static file is another one.
    text = (static / "sw.js").read_text("utf-8") + f"\n// {current_app.config['STATIC_MARK']}\n"
    answer = make_response(text)
    answer.headers["Content-Type"] = "text/javascript; charset=utf-8"
    answer.headers["Cache-Control"] = "no-cache"
    answer.headers["Service-Worker-Allowed"] = "/"
    return answer


@blueprint.get("/sync/shell.json")
@least("stranger", quiet=True)
def shell() -> Response:
    """Say which files the shell of this version consists of, under addresses that change with them."""
    mark = current_app.config["STATIC_MARK"]
    return jsonify(
        mark=mark, files=[frame.asset(name) for name in _files(current_app.config["STATIC"])]
    )


@cache
def _files(static: Path) -> tuple[str, ...]:
    names = sorted(p.relative_to(static).as_posix() for p in static.rglob("*") if p.is_file())
    return tuple(name for name in names if not name.endswith(_NOT_OF_THE_SHELL))


@blueprint.get("/manifest.webmanifest")
@least("stranger", quiet=True)
def manifest() -> Response:
    """Say how the tablet shows the app among its own."""
    icons = [_icon(side, whole) for side in ICON_SIDES_PX[1:] for whole in (False, True)]
    answer = jsonify(
        name=speech.say("shell.app.name"), short_name=speech.say("shell.app.name"), id="/",
        start_url="/", scope="/", display="standalone", lang=chosen.language(),
        background_color=STONE, theme_color=GROUND, icons=icons,
    )  # fmt: skip
    answer.headers["Content-Type"] = "application/manifest+json"
    return answer


def _icon(side_px: int, whole: bool) -> dict[str, str]:
    form = "whole" if whole else "plain"
    return {
        "src": url_for("shellfiles.icon", form=form, side_px=side_px), "type": "image/png",
        "sizes": f"{side_px}x{side_px}", "purpose": "maskable" if whole else "any",
    }  # fmt: skip


@blueprint.get("/icon/<any(plain, whole):form>-<int:side_px>.png")
@least("stranger", quiet=True)
def icon(form: str, side_px: int) -> Response:
    """Serve the mark as a picture."""
    if side_px not in ICON_SIDES_PX:
        abort(404)
    answer = make_response(icon_png(side_px, whole=form == "whole"))
    answer.headers["Content-Type"] = "image/png"
    answer.headers["Cache-Control"] = f"public, max-age={DAY_S}"
    return answer


@blueprint.app_context_processor
def given() -> dict[str, object]:
    """Return the words that the scripts of a paired tablet say, and the mark of this version."""
    return {
        "tablet_words": tablet_words(chosen.language()),
        "shell_mark": current_app.config["STATIC_MARK"],
    }


@cache
def tablet_words(language: str) -> str:
    """Return a language's words of the room `strip` as JSON, without the room's name, gaps left open."""
    words = Words(language)
    gaps = {name: f"{{{name}}}" for name in GAPS}
    keys = [key for key in words.keys() if key.startswith(WORDS_ROOM)]  # noqa: SIM118
    return json.dumps({key.removeprefix(WORDS_ROOM): words.say(key, **gaps) for key in keys})
