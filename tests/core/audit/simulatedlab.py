"""An invented lab of 12 technicians and 4 surveyors that re-mounts casts with known errors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from random import Random

from bench.core.audit.samples import Remount
from bench.core.tilt import Tilt, total_deg

TECHNICIANS = tuple(f"T{letter}" for letter in "ABCDEFGHIJKL")
SURVEYORS = ("S1", "S2", "S3", "S4")
METHODS = ("tripod", "scored_lines", "inclinometer")
DRIFTING, DRIFTS_FOR = "S4", 25


@dataclass(frozen=True)
class Truth:
    """The SDs behind a simulated lab, degrees along each axis, and the drift per re-mount."""

    technician_deg: float = 0.15
    surveyor_deg: float = 0.12
    repeat_deg: float = 0.25

    @property
    def between_remounts_deg(self) -> float:
        return sqrt(self.technician_deg**2 + self.repeat_deg**2)


TRUTH = Truth()


def remount(number: int, technician: str, surveyor: str, ap_deg: float, lat_deg: float) -> Remount:
    """Return the re-mount of that number; one a minute, every fifth on one cast."""
    ap_deg, lat_deg = round(ap_deg, 4), round(lat_deg, 4)
    return Remount(
        entry=f"e{number:06}", round=f"e{number:06}", at=f"2026-01-{1 + number // 1440:02}T00:00:00.000Z",
        case=f"case {number % 400:03}", technician=technician, surveyor=surveyor,
        method=METHODS[number % 3], record="r", ap_deg=ap_deg, lat_deg=lat_deg,
        total_deg=round(total_deg(Tilt(ap_deg, lat_deg)), 4), tolerance_deg=1.0, first=True, last=True,
    )  # fmt: skip


def simulated(
    seed: int, count: int = 2000, truth: Truth = TRUTH, drift: bool = True
) -> list[Remount]:
    """Return re-mounts in order; with `drift` the last 25 on one surveyor move by a tenth SD each."""
    dice = Random(seed)
    bias = {name: _pair(dice, truth.technician_deg) for name in TECHNICIANS}
    offset = {name: _pair(dice, truth.surveyor_deg) for name in SURVEYORS}
    who = [(dice.choice(TECHNICIANS), dice.choice(SURVEYORS)) for _ in range(count)]
    made = []
    for number, (technician, surveyor) in enumerate(who):
        error = _pair(dice, truth.repeat_deg)
        ap, lat = (bias[technician][i] + offset[surveyor][i] + error[i] for i in (0, 1))
        later = sum(1 for _, other in who[number:] if other == surveyor)
        if drift and surveyor == DRIFTING and later <= DRIFTS_FOR:
            ap += 0.1 * truth.between_remounts_deg * (DRIFTS_FOR + 1 - later)
        made.append(remount(number, technician, surveyor, ap, lat))
    return made


def quiet(dice: Random, count: int, sd_deg: float = 0.3) -> list[Remount]:
    """Return re-mounts of one person on one surveyor among which nothing changes."""
    return [remount(n, "TA", "S1", *_pair(dice, sd_deg)) for n in range(count)]


def of(remounts: Sequence[Remount], surveyor: str) -> list[Remount]:
    """Return the re-mounts on a surveyor."""
    return [one for one in remounts if one.surveyor == surveyor]


def _pair(dice: Random, sd_deg: float) -> tuple[float, float]:
    return dice.gauss(0, sd_deg), dice.gauss(0, sd_deg)
