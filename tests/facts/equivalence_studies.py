"""Published tests of equivalence with their results."""

from __future__ import annotations

# Two one-sided tests at a margin of 0.6, 15 differences each: tests of statsmodels, values from the
# R package `equivalence`: both ends of the 90 % interval, chance.
MARGIN = 0.6
SHOWN = (
    0.24, -0.31, 0.23, -0.51, -0.87, 0.75, 0.67, -0.21, 0.11, -0.14, 0.86, 0.65, 0.33, -0.15, 0.82,
)  # fmt: skip
SHOWN_RESULTS = (-0.0744337, 0.4037670, 0.003166881489265)
NOT_SHOWN = (
    0.24, -0.40, 0.49, -0.18, -0.23, 1.47, 1.73, 0.39, -0.88, -0.80, 0.81, 0.90, 0.98, 2.33, 1.59,
)  # fmt: skip
NOT_SHOWN_RESULTS = (0.1261653, 0.9991680, 0.4412034046)

# Least number of differences by SD over margin, risk 5 %, power 80 %: derived from the exact power
# and checked by simulation (no published source).
NEEDED = {0.2: 3, 0.3: 3, 0.4: 4, 0.5: 4, 0.6: 5, 0.7: 6, 0.8: 8, 1.0: 11}
# Power at SD half the margin with 8 differences (the same derivation).
POWER_OF_EIGHT = 0.99929
