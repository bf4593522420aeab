"""Photos with everyday care beside a caliper: slips are told, right distances are not doubted."""

from __future__ import annotations

import numpy as np
import pytest

from tests.pictures import photomaker
from tests.pictures.slipfigures import slips

SEEDS = ((98_000, 98_008), (98_008, 98_016), (98_016, 98_024), (98_024, 98_032))


@pytest.mark.parametrize(("first", "end"), SEEDS)
def test_no_right_distance_is_doubted_and_slips_are_told(first: int, end: int) -> None:
    found = slips(photomaker.EVERYDAY, range(first, end))

    told = [not check.fits for check in found.wrong[2.0]]
    swapped = [not check.fits for check in found.swapped]

    assert found.measured >= 6
    assert np.median(found.off_mm) < 0.25
    assert 0 == found.doubted
    assert len(told) == len(found.right) == 10 * found.measured
    assert np.mean(told) > 0.99
    assert len(swapped) > 10
    assert np.mean(swapped) > 0.99
