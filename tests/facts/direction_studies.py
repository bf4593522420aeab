"""Published directions (declination and inclination in degrees) with Fisher's statistics of them."""

from __future__ import annotations

# Fisher, Lewis and Embleton (1987), set B2, pages 130-132, as quoted in the examples of the open
# package mplstereonet: mean 144.2 / 57.2, concentration 109, cone 2.7 degrees.
B2 = tuple(
    zip(
        (
            122.5, 130.5, 132.5, 148.5, 140.0, 133.0, 157.5, 153.0, 140.0, 147.5, 142.0, 163.5,
            141.0, 156.0, 139.5, 153.5, 151.5, 147.5, 141.0, 143.5, 131.5, 147.5, 147.0, 149.0,
            144.0, 139.5,
        ),
        (
            55.5, 58.0, 44.0, 56.0, 63.0, 64.5, 53.0, 44.5, 61.5, 54.5, 51.0, 56.0, 59.5, 56.5,
            54.0, 47.5, 61.0, 58.5, 57.0, 67.5, 62.5, 63.5, 55.5, 62.0, 53.5, 58.0,
        ),
        strict=True,
    )
)  # fmt: skip
B2_RESULTS = {"mean": (144.2, 57.2), "concentration": 109, "cone_deg": 2.7}

# Ten directions of the documentation of the open package PmagPy (fishrot): declination and
# inclination of the mean, resultant length, concentration, cone; its angular SD uses 81 / sqrt(k).
FISHROT = (
    (20.5, 41.3), (19.0, 35.4), (345.0, 37.0), (12.3, 37.2), (350.7, 40.4),
    (20.6, 36.7), (9.9, 41.5), (8.2, 44.4), (21.4, 34.9), (18.4, 40.7),
)  # fmt: skip
FISHROT_RESULTS = (10.78355298491744, 39.60258299352024, 9.848433230859508, 59.379770717798884,
                   6.320446730051139)  # fmt: skip

# Two groups, documentation of PmagPy (Watson's test): F 5.23, critical 3.26.
GROUP_ONE = (
    (337.4, 59.6), (8.0, 27.5), (349.1, 49.6), (357.3, 10.7), (349.3, 64.2),
    (5.0, 44.8), (22.3, 38.5), (355.1, 28.0), (8.3, 47.8), (325.5, 30.4),
)  # fmt: skip
GROUP_TWO = (
    (356.8, 42.1), (40.8, 46.0), (27.4, 23.9), (1.1, 50.3), (47.9, 23.4),
    (60.7, 36.7), (13.9, 54.3), (41.6, 58.8), (12.7, 34.8), (2.6, 55.3),
)  # fmt: skip
WATSON = (5.23, 3.26)
