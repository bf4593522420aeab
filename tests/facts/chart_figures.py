"""Published factors and worked charts."""

from __future__ import annotations

# Factors for control charts by number of readings: NIST/SEMATECH e-Handbook and standard tables,
# three decimals (from memory).
D2 = {2: 1.128, 3: 1.693, 4: 2.059, 5: 2.326, 6: 2.534, 7: 2.704, 8: 2.847, 9: 2.970, 10: 3.078}
D4 = {2: 3.267, 3: 2.575, 4: 2.282, 5: 2.115, 6: 2.004, 7: 1.924, 8: 1.864, 9: 1.816, 10: 1.777}
E2 = 2.660
# Factors f(n) of the critical range, ISO 5725-6, n = 2 to 10 (from memory).
CRITICAL_RANGE = (2.8, 3.3, 3.6, 3.9, 4.0, 4.2, 4.3, 4.4, 4.5)

# NIST/SEMATECH e-Handbook 6.3.2.2: flow rates; centre, mean moving range, upper and lower limit
# (which it works out with d2 rounded to 1.128).
FLOW = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
FLOW_CHART = (50.81, 1.8778, 55.8041, 45.8159)

# NIST/SEMATECH e-Handbook 6.3.2.4: weight 0.3, start 50, SD 2.0539; its averages and limits.
WEIGHTED = (
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
    49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1,
)  # fmt: skip
WEIGHTED_AVERAGES = (
    50.00, 50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33,
    50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
)  # fmt: skip
WEIGHTED_SETTINGS = {"weight": 0.3, "centre": 50.0, "sd": 2.0539}
WEIGHTED_LIMITS = (52.5884, 47.4115)

# NIST/SEMATECH e-Handbook 6.3.2.3: target 325, allowance 0.3175, decision 4.1959; the sums upward,
# the first of those downward, and the sample (from 1) that signals first.
SUMMED = (
    324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600,
    324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
)  # fmt: skip
SUMMED_SETTINGS = (325.0, 0.3175, 4.1959)
SUMS_UPWARD = (
    0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04,
)  # fmt: skip
SUMS_DOWNWARD = (0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31, 0)
FIRST_SAMPLE_SIGNALLED = 14

# Mean number of readings until chance meets the rules: Champ and Woodall (1987), from memory.
# Rules by place in `runrules.USUAL`.
RUN_LENGTHS = {(0,): 370.40, (0, 1): 225.44, (0, 2): 166.05, (0, 3): 152.73, (0, 1, 2, 3): 91.75}
