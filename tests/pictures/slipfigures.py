"""What photos of the invented camera say of a caliper's distances: right ones, wrong ones, swapped ones."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from bench.core.casephotos import check_against, measured
from bench.core.entries import PhotoMarksConfirmed, TripodMarked
from bench.core.photocheck import Check
from bench.core.photonaming import named
from bench.core.photoplane import Three, plane_from, sense_from_above
from bench.core.tripod import Sense
from bench.pictures.looking import Seen, look
from tests.pictures.figures import marks_matched
from tests.pictures.photomaker import Conditions, Truth, photo

# Common practice, no source: a caliper's distance over pencil marks repeats to a tenth of a millimetre.
CALIPER_SD_MM = 0.1
ABOUT = "01900000-0000-7000-8000-000000000000"
CALIPERS = 10  # times that one photo's marks are measured by the caliper


@dataclass
class Slips:
    """How many photos could be measured, how far they were off, and what their checks said.

    Right ones are named as the record proposes it; wrong and swapped ones as on the cast, `proposed`
    as a record that is wrong by 2 mm proposes it.
    """

    photos: int = 0
    measured: int = 0
    off_mm: list[float] = field(default_factory=list)
    right: list[Check] = field(default_factory=list)
    wrong: dict[float, list[Check]] = field(default_factory=lambda: {2.0: [], 1.5: []})
    swapped: list[Check] = field(default_factory=list)
    proposed: list[Check] = field(default_factory=list)

    @property
    def doubted(self) -> int:
        """Return how many right distances were doubted."""
        return sum(not check.fits for check in self.right)


def slips(conditions: Conditions, seeds: Iterable[int]) -> Slips:
    """Return what the checks say over one photo a seed, each beside several calipers.

    Photos are looked at, named, measured and checked as the pages do it, the height not told.
    """
    total = Slips()
    for seed in seeds:
        data, truth = photo(seed, conditions)
        seen = look(data, truth.colours, code=truth.code, label_mm=truth.label_mm)
        total.photos += 1
        drawn = [n for n in marks_matched(seen, truth) if n is not None]
        if seen.label is not None and len(drawn) == 3:  # places are tapped otherwise
            total.measured += 1
            _add(total, Tripod(seen, truth, drawn), np.random.default_rng(seed))
    return total


def _add(total: Slips, tripod: Tripod, chance: np.random.Generator) -> None:
    true = tripod.true_mm
    total.off_mm += [abs(off) for off in tripod.as_drawn(true).off_mm]
    for _ in range(CALIPERS):
        caliper = np.array(true) + chance.normal(0, CALIPER_SD_MM, 3)
        total.right.append(tripod.as_proposed(_three(caliper)))
        for by_mm, checks in total.wrong.items():
            slipped = caliper.copy()
            slipped[chance.integers(3)] += by_mm * chance.choice([-1, 1])
            checks.append(tripod.as_drawn(_three(slipped)))
            if by_mm == 2.0:
                total.proposed.append(tripod.as_proposed(_three(slipped)))
        if abs(caliper[0] - caliper[1]) >= 2:
            total.swapped.append(tripod.as_drawn(_three(caliper[[1, 0, 2]])))


@dataclass(frozen=True)
class Tripod:
    """The marks that were found in a photo; `drawn` says which of them are A, B and C."""

    seen: Seen
    truth: Truth
    drawn: list[int]

    @property
    def true_mm(self) -> Three:
        """Return the distances as they are."""
        a, b, c = self.truth.marks_mm
        sides = (a - b, a - c, b - c)
        return _three(np.array([np.linalg.norm(side) for side in sides]))

    def as_drawn(self, caliper: Three) -> Check:
        """Return the check of a caliper's distances with the names that the marks have."""
        return self._check(caliper, self.drawn)

    def as_proposed(self, caliper: Three) -> Check:
        """Return the check with the names that a record of these distances proposes."""
        assert self.seen.label is not None
        plane = plane_from(self.seen.label.corners_px, self.truth.label_mm)
        places = [plane.mm_of((mark.x_px, mark.y_px)) for mark in self.seen.marks]
        order = named(places, caliper, self._sense)
        assert order is not None
        return self._check(caliper, order)

    @property
    def _sense(self) -> Sense:
        return sense_from_above([(float(x), float(y)) for x, y, _ in self.truth.marks_mm])

    def _check(self, caliper: Three, order: Sequence[int]) -> Check:
        assert self.seen.label is not None
        marks = [(self.seen.marks[n].x_px, self.seen.marks[n].y_px) for n in order]
        confirmed = PhotoMarksConfirmed(
            "0" * 64, ABOUT, self.truth.label_mm, _flat(self.seen.label.corners_px), _flat(marks),
            ("found",) * 3,
        )  # fmt: skip
        found = measured(confirmed, self.seen.width_px, self.seen.height_px)
        return check_against(TripodMarked(*caliper, self._sense, True, True, True, True), found)


def _three(sides: np.ndarray) -> Three:
    ab, ac, bc = (float(side) for side in sides)
    return ab, ac, bc


def _flat(places: Iterable[tuple[float, float]]) -> tuple[float, ...]:
    return tuple(figure for place in places for figure in place)
