"""The tilt finder with its explanation and map, beside general optimisers on the same cases."""

from __future__ import annotations

import random
from collections.abc import Iterator
from math import radians, sin

import numpy as np
from scipy.optimize import differential_evolution, minimize

from bench.core.finder import Bench as Limits
from bench.core.finder import FoundTilt, find_tilt
from bench.core.strips import Place, WishedSite, sides_of, strip_of
from bench.core.tilt import Tilt, angle_between_deg
from bench.core.toothchange import GuidePlane, Pull, cost_mm2, pulls_of
from measures.row import Row, percentile, timed_ms
from measures.served import Bench

SITES, PLANES, CASES = 12, 6, 200
SEARCHED = 20
LIMITS = Limits()
REACH = sin(radians(LIMITS.limit_deg))
Case = tuple[list[WishedSite], list[GuidePlane]]


class Asked:
    """One case as general optimisers take it: a sum to make least, and rows that hold it."""

    def __init__(self, case: Case) -> None:
        sides = [side for site in case[0] for side in sides_of(strip_of(site))]
        self.rows = np.array([[side.x, side.y] for side in sides])
        self.least = np.array([side.least for side in sides])
        self.pulls: tuple[Pull, ...] = pulls_of(case[1], LIMITS.tie_weight_mm2)
        self.bounds = [(-REACH, REACH)] * 2

    def cost(self, at: np.ndarray) -> float:
        """Return the tooth change at a place."""
        return cost_mm2(self.pulls, Place(*at))

    def programme(self) -> Tilt:
        """Find the least tooth change by a sequential quadratic programme from level."""
        held = {"type": "ineq", "fun": lambda at: self.rows @ at - self.least,
                "jac": lambda at: self.rows}  # fmt: skip
        found = minimize(self.cost, [0.0, 0.0], method="SLSQP", bounds=self.bounds,
                         constraints=[held], options={"ftol": 1e-12, "maxiter": 200})  # fmt: skip
        return Place(*np.clip(found.x, -REACH, REACH)).tilt

    def search(self) -> Tilt:
        """Find the least tooth change by a global search that pays for what is missed."""

        def pays(at: np.ndarray) -> float:
            missed = np.maximum(self.least - self.rows @ at, 0).sum()
            return self.cost(at) + 1e3 * float(missed)

        return Place(*differential_evolution(pays, self.bounds, rng=1, tol=1e-10).x).tilt


def rows(bench: Bench) -> Iterator[Row]:
    """Measure cases that a tilt serves, cases of conflict, and the optimisers on some of each."""
    served, conflicts = _cases()
    exact = [timed_ms(lambda case=case: find_tilt(*case), 3)[1] for case, _ in served]
    what = f"{SITES} sites, {PLANES} planes"
    programmes = [timed_ms(Asked(case).programme, 3)[1] for case, _ in served]
    searches = [timed_ms(Asked(case).search, 1)[0] for case, _ in served[:SEARCHED]]
    yield Row(f"tilt finder, {what} (p50)", percentile(exact, 0.5), "ms", "",
              f"SLSQP {percentile(programmes, 0.5):.1f} ms, global {percentile(searches, 0.5):.0f} ms")  # fmt: skip
    yield Row(f"tilt finder, {what} (p95)", percentile(exact, 0.95), "ms", "<= 5 ms",
              f"SLSQP {percentile(programmes, 0.95):.1f} ms, "
              f"global {percentile(searches, 0.95):.0f} ms")  # fmt: skip
    clashes = [timed_ms(lambda case=case: find_tilt(*case), 3)[1] for case in conflicts]
    yield Row("tilt finder, wishes in conflict (p95)", percentile(clashes, 0.95), "ms", "<= 5 ms",
              f"{len(conflicts)} cases, p50 {percentile(clashes, 0.5):.2g} ms")  # fmt: skip
    yield _differs("SLSQP", served, [Asked(case).programme() for case, _ in served])
    some = served[:SEARCHED]
    yield _differs("global", some, [Asked(case).search() for case, _ in some])


def _differs(name: str, served: list[tuple[Case, FoundTilt]], tilts: list[Tilt]) -> Row:
    off = [angle_between_deg(f.tilt, tilt) for (_, f), tilt in zip(served, tilts, strict=True)]
    return Row(f"tilt finder, worst difference from {name}", max(off), "degrees", "<= 0.05",
               f"{len(off)} cases, p50 {percentile(off, 0.5):.2g}")  # fmt: skip


def _cases() -> tuple[list[tuple[Case, FoundTilt]], list[Case]]:
    chance = random.Random(12)
    served: list[tuple[Case, FoundTilt]] = []
    conflicts: list[Case] = []
    while len(served) < CASES:
        case = _case(chance)
        found = find_tilt(*case)
        if found.feasible:
            served.append((case, found))
        elif len(conflicts) < CASES:
            conflicts.append(case)
    return served, conflicts


def _case(chance: random.Random) -> Case:
    sites = [
        WishedSite(f"site {n}", chance.uniform(0, 360), chance.uniform(0.15, 0.5),
                   chance.uniform(1.2, 3.0), chance.choice([0.15, 0.20, 0.25]))
        for n in range(SITES)
    ]  # fmt: skip
    planes = [
        GuidePlane(
            f"plane {n}", chance.uniform(0, 360), chance.uniform(-8, 8), chance.uniform(2, 5)
        )
        for n in range(PLANES)
    ]
    return sites, planes
