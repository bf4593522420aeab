"""What files state of their lens, as Pillow writes it, in both orders of bytes."""

from __future__ import annotations

import json

import pytest

from bench.pictures.container import stripped
from bench.pictures.refusal import PictureRefused
from tests.pictures import lensfiles
from tests.pictures.lensfiles import STATING


@pytest.mark.parametrize("name", [name for name, one in STATING.items() if not one.cut])
def test_the_length_on_film_is_all_that_is_kept_of_what_a_file_states(name: str) -> None:
    stating = STATING[name]

    kept = stripped(lensfiles.written(stating))

    assert stating.film_mm == kept.film_mm
    assert b"Invented" not in kept.data
    assert kept == stripped(kept.data)


def test_a_file_cut_short_is_refused() -> None:
    with pytest.raises(PictureRefused):
        stripped(lensfiles.written(STATING["cut short"]))


def test_the_tablets_scripts_are_tested_with_these_very_files() -> None:
    kept = json.loads(lensfiles.FILE.read_text("utf-8"))

    assert json.loads(lensfiles.text()) == kept
