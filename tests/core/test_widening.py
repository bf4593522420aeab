from __future__ import annotations

from bench.core.tripod import triangle_from
from bench.core.widening import weak_way
from tests.facts.tripod_figures import FLAT


def test_a_flat_triangle_rocks_about_its_long_side() -> None:
    sides, reading_sd_mm, _ = FLAT
    found = weak_way(triangle_from(*sides), reading_sd_mm)

    assert ("A", "B") == found.side
    assert "C" == found.facing
