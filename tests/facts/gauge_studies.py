"""Published crossed gauge studies with their results: parts by operators by repeats."""

from __future__ import annotations

# Thermal impedance of power modules, 10 parts, 3 operators, 3 repeats: Houf and Berman (1988), as
# given by Montgomery; data as in two open copies (EKU_RUG on GitHub; Vidakovic, exercise 11.14).
IMPEDANCE = tuple(
    tuple(tuple(float(value) for value in cell.split()) for cell in part.split("|"))
    for part in (
        "37 38 37|41 41 40|41 42 41", "42 41 43|42 42 42|43 42 43", "30 31 31|31 31 31|29 30 28",
        "42 43 42|43 43 43|42 42 42", "28 30 29|29 30 29|31 29 29", "42 42 43|45 45 45|44 46 45",
        "25 26 27|28 28 30|29 27 27", "40 40 40|43 42 42|43 43 41", "25 25 25|27 29 28|26 26 26",
        "35 34 34|35 35 34|35 34 35",
    )
)  # fmt: skip
# Variances of repeat, interaction, operator, part: Montgomery (from memory).
IMPEDANCE_VARIANCES = (0.51, 0.73, 0.56, 48.29)

# Paper helicopters, 3 prototypes, 3 operators, 3 repeats: Cano, Moguerza and Redchuk (2012), data
# set ss.data.rr of the CRAN package SixSigma; results from that package's own tests.
FLIGHTS = (
    ((1.27, 0.90, 1.09), (1.34, 1.32, 1.27), (1.09, 1.26, 1.09)),
    ((1.12, 1.09, 1.15), (1.24, 1.00, 1.14), (1.48, 1.15, 1.15)),
    ((1.73, 1.28, 1.77), (1.64, 1.65, 1.77), (1.64, 1.44, 1.68)),
)
FLIGHTS_SQUARES = (1.2007, 0.0529, 0.0834, 0.3854)
FLIGHTS_CHANCES = (0.00422, 0.37415, 0.44619)
FLIGHTS_RATIOS = (28.797, 1.270, 0.974)
# With the interaction pooled: variance of the gauge, of the repeat, of the operator.
FLIGHTS_POOLED = (0.0219, 0.0213, 0.0006)

# Measurement systems example of the automotive industry, 10 parts, 3 operators, 3 repeats; data as
# in three open copies, results as an open package documents them: EV, AV, gauge SD, part SD, with
# the interaction pooled.
_ROWS = (
    (
        "0.29 -0.56 1.34 0.47 -0.80 0.02 0.59 -0.31 2.26 -1.36",
        "0.41 -0.68 1.17 0.50 -0.92 -0.11 0.75 -0.20 1.99 -1.25",
        "0.64 -0.58 1.27 0.64 -0.84 -0.21 0.66 -0.17 2.01 -1.31",
    ),
    (
        "0.08 -0.47 1.19 0.01 -0.56 -0.20 0.47 -0.63 1.80 -1.68",
        "0.25 -1.22 0.94 1.03 -1.20 0.22 0.55 0.08 2.12 -1.62",
        "0.07 -0.68 1.34 0.20 -1.28 0.06 0.83 -0.34 2.19 -1.50",
    ),
    (
        "0.04 -1.38 0.88 0.14 -1.46 -0.29 0.02 -0.46 1.77 -1.49",
        "-0.11 -1.13 1.09 0.20 -1.07 -0.67 0.01 -0.56 1.45 -1.77",
        "-0.15 -0.96 0.67 0.11 -1.45 -0.49 0.21 -0.49 1.87 -2.16",
    ),
)
PARTS = tuple(
    tuple(tuple(float(row.split()[part]) for row in operator) for operator in _ROWS)
    for part in range(10)
)
PARTS_SDS = (0.19993, 0.22684, 0.30237, 1.0423)

# NIST/SEMATECH e-Handbook 2.4.4: sums of squares of five wafers with 60 degrees of freedom each,
# and the pooled SD they give.
WAFER_SQUARES = (0.48115, 0.69209, 0.48483, 1.21752, 0.30076)
WAFER_DF = 60
WAFER_SQUARES_SUM = 3.17635
