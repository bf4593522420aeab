"""Predictions kept honest: what a tilt was expected to do to an undercut, beside what was read there.

Each standing reading at a setting is paired with the last reading before it that touched at another
setting: the depth at that mark is expected by the wall's circle (see `undercut`). A gauge that
touches tells the depth; one that does not tells only on which side of it the depth lies.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import fsum, sqrt
from typing import Literal

from bench.core.case import Said
from bench.core.enough import Shortage, short_of
from bench.core.entries import UndercutRead
from bench.core.surfaces import Site
from bench.core.survey import Survey
from bench.core.tilt import Tilt, angle_between_deg
from bench.core.undercut import turn_deg, undercut_after
from bench.core.wishes import readings_of, tilt_now

Found = Literal["at", "more", "less"]
LEAST_PAIRS = 5
_FOUND: dict[str, Found] = {"both": "at", "lip_short": "more", "lip_first": "less", "none": "less"}
# A gauge does not tell depths apart that lie this close.
SAME_MM = 0.005


@dataclass(frozen=True, slots=True)
class Expected:
    """The depth (mm) expected at a site's mark at a setting, and from which reading.

    `by_deg` is the angle between the two settings; `drop_guessed` says that no drop was read.
    """

    site: Site
    mm: float
    drop_guessed: bool
    by_deg: float
    before: str


@dataclass(frozen=True, slots=True)
class Prediction:
    """What was expected, and what the gauge then found: `at`, `more` or `less` than `gauge_mm`."""

    expected: Expected
    reading: str
    gauge_mm: float
    found: Found

    @property
    def off_mm(self) -> float | None:
        """Expected less read, mm; None where the gauge did not touch and so tells no depth."""
        return self.expected.mm - self.gauge_mm if self.found == "at" else None

    @property
    def agrees(self) -> bool | None:
        """Whether the depth lies on the expected side of the gauge; None where it touched."""
        if self.found == "at":
            return None
        deeper = self.expected.mm - self.gauge_mm
        return deeper > -SAME_MM if self.found == "more" else deeper < SAME_MM


@dataclass(frozen=True, slots=True)
class Told:
    """All predictions in figures: bias and spread (SD) in mm of those where the gauge touched.

    Bias is expected less read: more than nothing says that undercuts were expected too deep.
    `sided` of the others a side is known, `agreeing` of which as expected. None while `short`.
    """

    count: int
    touched: int
    bias_mm: float | None
    spread_mm: float | None
    sided: int
    agreeing: int
    guessed: int
    short: tuple[Shortage, ...]


def expected_at(
    survey: Survey, site: Site, tilt: Tilt, before: Iterable[Said[UndercutRead]]
) -> Expected | None:
    """Return what the newest serving reading of some lets expect at a tilt, or None.

    Only a gauge that touched, at a setting with a scale, tells a depth to start from.
    """
    for said in reversed(tuple(before)):
        setting = survey.case.setting_of(said.entry.setting)
        if said.body.contact != "both" or setting is None or setting.tilt is None:
            continue
        turned_deg = turn_deg(survey.model.azimuth_deg(site), tilt, setting.tilt)
        guess_mm = survey.policy.number("guessed_drop_mm")
        after = undercut_after(said.body.gauge_mm, said.body.drop_mm, turned_deg, guess_mm)
        by_deg = angle_between_deg(tilt, setting.tilt)
        return Expected(site, after.depth_mm, after.drop_is_guessed, by_deg, said.entry.id)
    return None


def expected_now(survey: Survey, site: Site) -> Expected | None:
    """Return what is expected at a site at the present setting by a reading of another one, or None."""
    tilt, now = tilt_now(survey), survey.case.now
    if tilt is None or now is None:
        return None
    elsewhere = [said for said in readings_of(survey, site) if said.entry.setting != now.id]
    return expected_at(survey, site, tilt, elsewhere)


def prediction_of(expected: Expected, reading: str, read: UndercutRead) -> Prediction:
    """Return what was expected beside what a reading, named by its entry, found."""
    return Prediction(expected, reading, read.gauge_mm, _FOUND[read.contact])


def predictions_of(survey: Survey) -> tuple[Prediction, ...]:
    """Return every prediction of a case that was put to the test, in order of the readings' ids."""
    read: dict[Site, list[Said[UndercutRead]]] = {}
    found = []
    for said in survey.case.said(UndercutRead):
        site = Site(said.body.tooth, said.body.surface)
        earlier = read.setdefault(site, [])
        found += _tested(survey, site, said, earlier)
        earlier.append(said)
    return tuple(found)


def told_of(predictions: Sequence[Prediction]) -> Told:
    """Return bias, spread and counts of some predictions; it takes five where the gauge touched."""
    off = [one.off_mm for one in predictions if one.off_mm is not None]
    sides = [one.agrees for one in predictions if one.agrees is not None]
    short = short_of("readings", len(off), LEAST_PAIRS)
    bias_mm = fsum(off) / len(off) if off and not short else None
    return Told(
        len(predictions), len(off), bias_mm, _spread_mm(off, bias_mm), len(sides), sum(sides),
        sum(one.expected.drop_guessed for one in predictions), short,
    )  # fmt: skip


def _spread_mm(off: Sequence[float], bias_mm: float | None) -> float | None:
    if bias_mm is None:
        return None
    return sqrt(fsum((one - bias_mm) ** 2 for one in off) / (len(off) - 1))


def _tested(
    survey: Survey, site: Site, said: Said[UndercutRead], earlier: Sequence[Said[UndercutRead]]
) -> list[Prediction]:
    setting = survey.case.setting_of(said.entry.setting)
    if setting is None or setting.tilt is None:
        return []
    elsewhere = [one for one in earlier if one.entry.setting != said.entry.setting]
    expected = expected_at(survey, site, setting.tilt, elsewhere)
    if expected is None:
        return []
    return [prediction_of(expected, said.entry.id, said.body)]
