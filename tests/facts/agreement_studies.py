"""Published tables of agreement with their coefficients."""

from __future__ import annotations

# Fleiss' kappa, 10 subjects, 14 readers, 5 categories, as reproduced in reference works and in the
# tests of statsmodels; observed, expected, kappa.
FOURTEEN_READERS = (
    (0, 0, 0, 0, 14), (0, 2, 6, 4, 2), (0, 0, 3, 5, 6), (0, 3, 9, 2, 0), (2, 2, 8, 1, 1),
    (7, 7, 0, 0, 0), (3, 2, 6, 3, 0), (2, 5, 3, 2, 2), (6, 5, 2, 1, 0), (0, 2, 2, 3, 7),
)  # fmt: skip
FOURTEEN_READERS_RESULTS = (0.378022, 0.212755, 0.209931)

# Fleiss (1971): 30 patients, 6 readers, 5 diagnoses; data as in statsmodels, kappa from memory.
# Digits are counts.
_DIAGNOSED = (
    "00060 03003 01401 00006 03030 20400 00402 20310 20040 00006 10050 11040 03300 10050 02031 "
    "00501 30012 51000 02040 10203 00006 01050 02013 20040 10041 05010 40002 02040 10500 00006"
)
DIAGNOSES = tuple(tuple(map(int, row)) for row in _DIAGNOSED.split())
DIAGNOSES_KAPPA = 0.430
# First 15 of them: value and standard error of Fleiss' kappa and of AC1, and raw agreement, as
# printed in the README of the CRAN package irrCAC (Gwet).
FIRST_FIFTEEN = {"fleiss": (0.4139265, 0.08119291), "gwet": (0.4448007, 0.08418757)}
FIRST_FIFTEEN_OBSERVED = 0.5511111

# Four readers, 12 subjects, some read by fewer (0: not read): value and standard error of Fleiss'
# kappa and of AC1, raw agreement; README of irrCAC.
FOUR_READERS = (
    (1, 1, 0, 1), (2, 2, 3, 2), (3, 3, 3, 3), (3, 3, 3, 3), (2, 2, 2, 2), (1, 2, 3, 4),
    (4, 4, 4, 4), (1, 1, 2, 1), (2, 2, 2, 2), (0, 5, 5, 5), (0, 0, 1, 1), (0, 0, 3, 0),
)  # fmt: skip
FOUR_READERS_RESULTS = {"fleiss": (0.76117, 0.15302), "gwet": (0.77544, 0.14295)}
FOUR_READERS_OBSERVED = 0.8181818

# Two abstractors, three categories; kappa, AC1 with its standard error, raw agreement: README of
# irrCAC.
ABSTRACTORS = ((13, 0, 0), (0, 20, 7), (0, 4, 56))
ABSTRACTORS_RESULTS = (0.7964094, 0.8493305, 0.04321747, 0.89)

# Cohen's kappa with its standard error, tests of statsmodels.
WITH_STANDARD_ERROR = ((0, 4, 1), (0, 8, 0), (0, 1, 5))
WITH_STANDARD_ERROR_RESULTS = (0.4842, 0.1380)

# Yes and no by two readers, a worked example of Cohen's kappa in reference works.
YES_NO = ((20, 5), (10, 15))
YES_NO_RESULTS = (0.70, 0.50, 0.40)

# Feinstein and Cicchetti (1990): the same raw agreement, kappa .70 and .32 (from memory).
BALANCED_AND_ONE_SIDED = (((40, 9), (6, 45)), ((80, 10), (5, 5)))
BALANCED_AND_ONE_SIDED_KAPPAS = (0.70, 0.32)

# One-sided 95 % lower bounds of a share (exact; recomputed with scipy's beta distribution).
SHARE_BOUNDS = {(20, 20): 0.861, (29, 30): 0.851, (59, 59): 0.950, (45, 50): 0.801}
