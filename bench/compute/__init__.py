"""`tiltbook compute NAME`: the core's computations on JSON, for scripts and checks.

`COMPUTATIONS` names each with the shape it takes and the function that answers; a new one is one
entry there.
"""

from __future__ import annotations

from bench.compute.answering import Computation, NotTaken, answered, encoded, refused
from bench.compute.casts import kennedy, lines, retention
from bench.compute.given import (
    AngleGiven,
    FindTiltGiven,
    KennedyGiven,
    LinesGiven,
    RemountGiven,
    RetentionGiven,
    TripodGiven,
    WhatIfGiven,
)
from bench.compute.studies import (
    ChartGiven,
    KappaGiven,
    PrecisionGiven,
    chart,
    kappa,
    precision,
)
from bench.compute.tilts import angle, find, what_if
from bench.compute.tripods import remount, tripod

__all__ = ["COMPUTATIONS", "Computation", "NotTaken", "compute", "encoded", "refused"]

COMPUTATIONS: dict[str, Computation] = {
    "kennedy": Computation(KennedyGiven, kennedy),
    "angle": Computation(AngleGiven, angle),
    "what-if": Computation(WhatIfGiven, what_if),
    "find-tilt": Computation(FindTiltGiven, find),
    "tripod": Computation(TripodGiven, tripod),
    "remount": Computation(RemountGiven, remount),
    "retention": Computation(RetentionGiven, retention),
    "lines": Computation(LinesGiven, lines),
    "precision": Computation(PrecisionGiven, precision),
    "kappa": Computation(KappaGiven, kappa),
    "chart": Computation(ChartGiven, chart),
}


def compute(name: str, given: bytes) -> bytes:
    """Return the JSON answer of one computation; raise NotTaken on anything wrong."""
    if name not in COMPUTATIONS:
        known = ", ".join(COMPUTATIONS)
        raise NotTaken("no_such_computation", f"There is no {name}. There are {known}.")
    return answered(COMPUTATIONS[name], given)
