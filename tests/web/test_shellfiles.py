from __future__ import annotations

import io
import json
import re

from PIL import Image

from bench import places
from bench.web.shellfiles import GAPS


def test_the_worker_is_served_from_the_root_and_never_from_a_cache(stranger):
    answer = stranger.get("/sw.js")

    assert answer.headers["Cache-Control"] == "no-cache"
    assert answer.headers["Service-Worker-Allowed"] == "/"
    assert answer.headers["Content-Type"].startswith("text/javascript")


def test_the_worker_is_another_one_whenever_a_static_file_is(app, stranger):
    before = stranger.get("/sw.js").text
    app.config["STATIC_MARK"] = "f" * 16

    assert stranger.get("/sw.js").text != before


def test_every_file_of_the_shell_is_there_under_its_address(stranger):
    files = stranger.get("/sync/shell.json").json["files"]

    assert {200} == {stranger.get(path).status_code for path in files}
    assert any(path.endswith("/js/tablet.js") for path in files)
    assert any(path.endswith("/tiltbook.css") for path in files)
    assert not any(path.endswith("/sw.js") for path in files)


def test_the_shell_holds_every_module_that_another_imports(stranger):
    names = {path.split("/", 3)[3] for path in stranger.get("/sync/shell.json").json["files"]}
    imported = set()
    for path in (places.static() / "js").glob("*.js"):
        found = re.findall(r"""(?:from|import\()\s*"\./([^"]+)\"""", path.read_text("utf-8"))
        imported |= {f"js/{name}" for name in found}

    assert imported <= names


def test_the_manifest_names_icons_of_the_sizes_they_have(stranger):
    told = json.loads(stranger.get("/manifest.webmanifest").data)

    assert (told["start_url"], told["display"]) == ("/", "standalone")
    for icon in told["icons"]:
        with Image.open(io.BytesIO(stranger.get(icon["src"]).data)) as picture:
            assert icon["sizes"] == f"{picture.width}x{picture.height}"


def test_an_icon_of_another_size_is_not_drawn(stranger):
    assert stranger.get("/icon/plain-4096.png").status_code == 404


def test_the_words_of_the_scripts_have_no_gap_that_nobody_fills(stranger):
    page = stranger.get("/outbox").text
    words = re.search(r'id="tablet"[^>]* data-words="([^"]+)"', page)

    assert words
    assert set(re.findall(r"\{(\w+)\}", words[1])) <= set(GAPS)


def test_every_word_that_a_script_says_is_in_the_catalogue(app):
    from bench.words import Words

    said = set()
    for path in (places.static() / "js").glob("*.js"):
        said |= set(re.findall(r"""says\("([a-z_.]+)\"""", path.read_text("utf-8")))
        counted = re.findall(r"""counted\("([a-z_.]+)\"""", path.read_text("utf-8"))
        said |= {f"{key}{end}" for key in counted for end in ("", "_1")}

    assert len(said) > 20
    assert set() == {key for key in said if not Words("en").has(f"strip.{key}")}
