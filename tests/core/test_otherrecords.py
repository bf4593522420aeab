from __future__ import annotations

import numpy as np
import pytest

from bench.core.otherrecords import by_inclinometer, by_scored_lines


# By hand: a step of 0.5 gives 0.5 / √12 = 0.1443 a reading, √2 times that for two: 0.2041.
def test_an_inclinometer_tells_by_its_step_at_both_readings():
    told = by_inclinometer(0.5)

    assert told.sd_deg == pytest.approx(0.2041, abs=1e-4)
    assert told.total95_deg == pytest.approx(2.4477 * 0.2041, abs=1e-3)


# By hand: 0.2·√2 mm over 15 mm is 0.01886, or 1.080 degrees.
def test_a_scored_line_tells_by_its_length():
    assert by_scored_lines(0.2).sd_deg == pytest.approx(1.080, abs=1e-3)
    assert by_scored_lines(0.2, 30.0).sd_deg == pytest.approx(0.540, abs=1e-3)


def test_an_inclinometers_figure_agrees_with_a_simulation():
    chance = np.random.default_rng(7)
    true = chance.uniform(-8, 8, (200_000, 2))
    now = true + chance.normal(0, 3, true.shape)
    read = np.round(now / 0.5) * 0.5 - np.round(true / 0.5) * 0.5
    off = read - (now - true)

    assert by_inclinometer(0.5).sd_deg == pytest.approx(off.std(), rel=0.02)
    # Two even errors have shorter tails than normal ones, so a little more than 95 of 100 stay within.
    within = np.mean(np.hypot(*off.T) <= by_inclinometer(0.5).total95_deg)
    assert 0.95 < within < 0.98
