"""Published interlaboratory and one-way studies with the results published for them."""

from __future__ import annotations

# ASTM E691, glucose in serum: 8 laboratories, 3 replicates (mg/dL); data as in the open data set
# `Glucose` of the CRAN package ILS, which names E691 as its source. Materials B and C of that data
# set do not give the published results, most likely for typing errors, and are left out.
GLUCOSE = {
    "A": (
        (41.03, 41.45, 41.37), (41.17, 42.00, 41.15), (41.01, 40.68, 42.66), (39.37, 42.37, 42.63),
        (41.88, 41.19, 41.32), (43.28, 40.50, 42.28), (41.08, 41.27, 39.02), (43.36, 42.65, 41.72),
    ),
    "D": (
        (193.71, 193.59, 193.65), (190.88, 200.14, 194.30), (192.71, 193.28, 190.28),
        (195.85, 196.36, 199.43), (192.59, 191.44, 195.12), (195.34, 198.26, 198.13),
        (194.66, 191.99, 187.13), (197.56, 195.99, 200.82),
    ),
    "E": (
        (292.78, 294.09, 292.89), (292.27, 309.40, 295.08), (295.53, 290.14, 292.34),
        (295.19, 295.44, 296.83), (293.93, 292.48, 294.28), (297.74, 296.80, 290.33),
        (287.29, 293.76, 289.36), (298.46, 295.28, 296.12),
    ),
}  # fmt: skip
# mean, s_r, s_R, r, R: ASTM E691's table of results (values from memory).
GLUCOSE_RESULTS = {
    "A": (41.5183, 1.0632, 1.0632, 2.98, 2.98),
    "D": (194.7170, 2.6251, 3.3657, 7.35, 9.42),
    "E": (294.4920, 3.9350, 4.1923, 11.02, 11.74),
}
# E691, 8 laboratories and 3 replicates at 0.5 %: critical h and k (values from memory).
GLUCOSE_CRITICAL = (2.15, 2.06)

# ISO 5725-2, annex B, sulfur in coal (mass %): 8 laboratories that measured unequally often; data
# and results from memory.
SULFUR = (
    (
        (0.71, 0.71, 0.70, 0.71), (0.69, 0.67, 0.68), (0.66, 0.65, 0.69), (0.67, 0.65, 0.66),
        (0.70, 0.69, 0.66, 0.71, 0.69), (0.73, 0.74, 0.73), (0.71, 0.71, 0.69), (0.70, 0.65, 0.68),
    ),
    (
        (1.20, 1.18, 1.23, 1.21), (1.22, 1.21, 1.22), (1.28, 1.31, 1.30), (1.23, 1.18, 1.20),
        (1.31, 1.22, 1.22, 1.24), (1.39, 1.36, 1.37), (1.20, 1.26, 1.26), (1.24, 1.22, 1.30),
    ),
    (
        (1.68, 1.70, 1.68, 1.69), (1.64, 1.64, 1.65), (1.61, 1.61, 1.62), (1.68, 1.66, 1.66),
        (1.64, 1.67, 1.60, 1.66, 1.68), (1.70, 1.73, 1.73), (1.69, 1.70, 1.68), (1.67, 1.68, 1.67),
    ),
    (
        (3.26, 3.26, 3.20, 3.24), (3.20, 3.20, 3.20), (3.37, 3.36, 3.38), (3.16, 3.22, 3.23),
        (3.20, 3.19, 3.18, 3.27, 3.24), (3.27, 3.31, 3.29), (3.27, 3.24, 3.23), (3.25, 3.26, 3.26),
    ),
)  # fmt: skip
SULFUR_RESULTS = (
    (0.690, 0.015, 0.026), (1.252, 0.029, 0.061), (1.667, 0.017, 0.035), (3.250, 0.026, 0.058),
)  # fmt: skip

# Critical values by number of laboratories, as ISO 5725-2 prints them (from memory): Cochran's C
# for 3 replicates and Grubbs for one outlier, at 5 % and 1 %, 8 laboratories.
CRITICAL_8 = {"C": (0.516, 0.615), "G": (2.126, 2.274)}

# NIST Statistical Reference Datasets, one-way analysis of variance, SiRstv: certified.
SIRSTV = (
    (196.3052, 196.1240, 196.1890, 196.2569, 196.3403),
    (196.3042, 196.3825, 196.1669, 196.3257, 196.0422),
    (196.1303, 196.2005, 196.2889, 196.0343, 196.1811),
    (196.2795, 196.1748, 196.1494, 196.1485, 195.9885),
    (196.2119, 196.1051, 196.1850, 196.0052, 196.2090),
)
# set: certified F, certified residual SD, relative error that doubles allow. The further sets are
# read from the files that scipy ships for its own tests.
STRD = {
    "SiRstv": (1.18046237440255, 0.104076068334656, 1e-10),
    "AtmWtAg": (15.9467335677930, 1.51048314446410e-05, 1e-8),
    "SmLs01": (21.0, 0.1, 1e-12),
    "SmLs04": (21.0, 0.1, 1e-8),
    "SmLs07": (21.0, 0.1, 2e-2),
}
SIRSTV_SQUARES = (0.0511462616, 0.21663656)
