from __future__ import annotations

from pathlib import Path

import pytest

from bench import places


def test_a_checkout_has_its_folders_beside_the_package(tmp_path: Path) -> None:
    (tmp_path / "bench").mkdir()
    (tmp_path / "templates").mkdir()
    (tmp_path / "static").mkdir()

    assert places.templates(tmp_path / "bench") == tmp_path / "templates"
    assert places.static(tmp_path / "bench") == tmp_path / "static"


def test_a_wheel_has_its_folders_inside_the_package(tmp_path: Path) -> None:
    inside = tmp_path / "bench" / "static"
    inside.mkdir(parents=True)
    (tmp_path / "static").mkdir()  # another package's folder in the same site-packages

    assert places.static(tmp_path / "bench") == inside


def test_this_install_finds_both_folders() -> None:
    assert places.templates().is_dir()
    assert (places.static() / "vendor" / "htmx" / "htmx.min.js").is_file()


def test_a_missing_folder_is_named_with_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(places.FolderMissing, match=r"folder templates .* Install Tiltbook again"):
        places.templates(tmp_path / "bench")
