"""Orders of drills, worked out with the sha256sum of GNU coreutils (FIPS 180-4) and by hand.

Of seed 7 the digests of "7, technician, repeat, cast", a line each, begin: AM 1: C 6448, B bad5, A f9e2;
AM 2: A 1520, B cf51, C d157; KT 1: B 5127, A 5562, C 8589; KT 2: A 151f, B 2f49, C 7a55. The second
round of AM would begin with the cast just read, so its first two change places.
"""

from __future__ import annotations

from bench.core.entries import DrillPlanned

_PLAN = DrillPlanned("distance", ("A", "B", "C"), ("AM", "KT"), 2, 7)
ORDERS = (
    (_PLAN, "AM", ["C", "B", "A", "B", "A", "C"]),
    (_PLAN, "KT", ["B", "A", "C", "A", "B", "C"]),
)
