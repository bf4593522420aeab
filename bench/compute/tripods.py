"""The computations on tripod marks: how finely they hold, and how far a re-mounted cast is off."""

from __future__ import annotations

from bench.compute.given import RemountGiven, TripodGiven
from bench.core.remount import edges_to_lower, tilt_off
from bench.core.tripod import how_finely_held, triangle_from

Answer = dict[str, object]


def tripod(given: TripodGiven) -> Answer:
    """Return where the marks lie, the first at zero and the second along +X, and what they hold."""
    distances = given.distances_mm
    triangle = triangle_from(distances.d12, distances.d13, distances.d23)
    held = how_finely_held(triangle.marks_mm, given.reading_sd_mm)
    return {
        "marks_mm": triangle.marks_mm,
        "least_altitude_mm": triangle.least_altitude_mm,
        "sd_axes_deg": (held.worst_deg, held.best_deg),
        "total95_deg": held.total95_deg,
    }


def remount(given: RemountGiven) -> Answer:
    """Return how far the cast is off, and which edges to lower; the residual needs four marks."""
    off = tilt_off(given.marks_mm, given.heights_mm)
    return {
        "ap_deg": off.ap_deg,
        "lat_deg": off.lat_deg,
        "total_deg": off.total_deg,
        "residual_mm": off.residual_mm,
        "advice": [
            {"code": "lower_edge", "edge": move.edge, "by_deg": move.by_deg}
            for move in edges_to_lower(off)
        ],
    }
