"""A wheel, built from the source archive, runs away from the checkout with all that it needs."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import sysconfig
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
pytestmark = pytest.mark.xdist_group("wheel")


def say(command: list[str], folder: Path) -> str:
    """Run a command in a folder, apart from the checkout, and return what it printed."""
    apart = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    done = subprocess.run(
        command, cwd=folder, env=apart, capture_output=True, text=True, encoding="utf-8"
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A wheel built from a source archive of this checkout."""
    out = tmp_path_factory.mktemp("dist")
    say([sys.executable, "-m", "build", "--no-isolation", "--outdir", str(out), str(ROOT)], out)
    (built,) = out.glob("tiltbook-*.whl")
    return built


@pytest.fixture(scope="module")
def programs(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of programs of a new environment with the wheel installed."""
    home = tmp_path_factory.mktemp("installed")
    say([sys.executable, "-m", "venv", "--without-pip", str(home)], home)
    places = {"base": str(home), "platbase": str(home)}
    programs = Path(sysconfig.get_path("scripts", "venv", vars=places))
    packages = Path(sysconfig.get_path("purelib", "venv", vars=places))
    # What Tiltbook requires comes from here; paths in a .pth file do not bring in further ones,
    # so that an editable install of the checkout stays out.
    (packages / "requirements.pth").write_text(sysconfig.get_path("purelib"), encoding="utf-8")
    python = str(programs / "python")
    pip = [sys.executable, "-m", "pip", "--python", python, "install", "-q", "--no-deps"]
    say([*pip, str(wheel)], home)
    return programs


def test_the_wheel_carries_every_page_template_and_static_file(wheel: Path) -> None:
    wanted = {
        f"bench/{path.relative_to(ROOT).as_posix()}"
        for folder in ("templates", "static")
        for path in (ROOT / folder).rglob("*")
        if path.is_file()
    }

    carried = set(zipfile.ZipFile(wheel).namelist())

    assert {"bench/static/vendor/htmx/htmx.min.js", "bench/static/vendor/qr/decode.js"} <= wanted
    assert wanted - carried == set()


def test_the_wheel_carries_every_file_of_the_package_and_nothing_else(wheel: Path) -> None:
    wanted = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "bench").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }

    names = zipfile.ZipFile(wheel).namelist()
    carried = {name for name in names if not name.startswith(("bench/templates", "bench/static"))}

    assert wanted == {name for name in carried if ".dist-info/" not in name}


def test_an_installed_wheel_finds_templates_and_browser_code(
    programs: Path, tmp_path: Path
) -> None:
    ask = (
        "import json; from bench import places; "
        "print(json.dumps([str(places.templates()), str(places.static())]))"
    )

    templates, static = map(Path, json.loads(say([str(programs / "python"), "-c", ask], tmp_path)))

    assert ROOT not in templates.parents
    assert ROOT not in static.parents
    assert templates.is_dir()
    assert (static / "vendor" / "htmx" / "htmx.min.js").stat().st_size > 40_000
    assert (static / "vendor" / "qr" / "decode.js").exists()


def test_the_installed_program_starts_in_another_folder(programs: Path, tmp_path: Path) -> None:
    said = say([str(programs / "tiltbook"), "--help"], tmp_path)

    assert "Usage: tiltbook" in said
