"""What becomes of the demo's cases: each story is a row of sittings, and how many days it takes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bench.core.entries import (
    Disturbed,
    Exempted,
    HoldLifted,
    HoldSet,
    InterferenceNoted,
    InterferencesLooked,
    Overruled,
    RecallTaken,
    SettingTaken,
    UndercutRead,
    Withdrawn,
)
from bench.core.release import judge
from bench.core.surfaces import Site
from bench.demo import sittings as at
from bench.demo.people import FAILED_GAUGE, OVERDUE_GAUGE, TABLE, TECHNICIANS
from bench.demo.plans import Plan, unbalanced
from bench.demo.sittings import Sitting
from bench.demo.walk import Walk

_TO_FINAL = (at.receive, at.mount, at.tilt, at.final)
_TO_LINES = (*_TO_FINAL, at.guide_planes, at.undercuts, at.interferences, at.survey_lines)
_TO_READY = (*_TO_LINES, at.tripod, at.tips)
_TO_RELEASE = (*_TO_READY, at.release)


@dataclass(frozen=True, slots=True)
class Story:
    """One story: its name, its sittings, the least days ago it began, and how it changes its plan."""

    name: str
    sittings: tuple[Sitting, ...]
    days: int
    planned: Callable[[Plan], Plan] = lambda plan: plan


def _corrected(walk: Walk) -> None:
    site = walk.survey.undercut_sites[0]
    reading = walk.survey.undercut(site)
    assert reading is not None
    old = reading.body
    body = UndercutRead(*site, old.gauge_mm, "both", 1.2, old.gauge, True)
    walk.say(body, supersedes=reading.seen, reason="Read again: the lead had worn flat.")


def _withdrawn(walk: Walk) -> None:
    noted = walk.say(InterferenceNoted("front_lingual", "bony_undercut"))
    walk.say(Withdrawn(noted.id), reason="Typed for the wrong cast.")
    walk.say(InterferencesLooked())


def _nudged(walk: Walk) -> None:
    walk.wait_minutes(30)
    now = walk.case.now
    assert now is not None
    ap_deg, lat_deg = now.ap_deg or 0.0, now.lat_deg or 0.0
    walk.say(SettingTaken(ap_deg + 1.0, lat_deg - 0.5, TABLE, 0.5))
    at.final(walk)


def _some_confirmed(walk: Walk) -> None:
    at.confirm(walk, 0.4)


def _all_confirmed(walk: Walk) -> None:
    at.tripod(walk)
    at.confirm(walk, 1.0, but=())


def _overruled(walk: Walk) -> None:
    blocking = [one.reason for one in judge(walk.survey).blocking if one.reason.rule == "R4"]
    keys = tuple(reason.key for reason in blocking)
    why = "The tooth gets a crown before the frame is made; the dentist was told."
    walk.say(Overruled("R4", keys), by=walk.supervisor, reason=why)


def _held(walk: Walk) -> None:
    why = "The dentist's insurer asks that the record stays."
    walk.say(HoldSet("L-26-014"), by=walk.supervisor, reason=why)


def _held_for_a_while(walk: Walk) -> None:
    hold = walk.say(HoldSet(), by=walk.supervisor, reason="A question about the release is open.")
    walk.say(HoldLifted(hold.id), by=walk.supervisor, reason="The question was answered.")


def _exempted(walk: Walk) -> None:
    sites = tuple(site.text for site in walk.survey.plane_sites)
    why = "Facing guide planes hold the path; agreed with the dentist by telephone."
    walk.say(Exempted(sites), by=walk.supervisor, reason=why)


def _table_moved(walk: Walk) -> None:
    walk.say(Disturbed("table_moved", "Elbow"))


def _cast_fell(walk: Walk) -> None:
    walk.say(Disturbed("cast_dropped", "On the mat, no chip seen"))


def _settled(walk: Walk) -> None:
    walk.wait_minutes(10)
    at.remount(walk, (0.0, 0.1, -0.1), tuple(d.entry.id for d in walk.case.disturbances))


def _put_back(walk: Walk) -> None:
    """Let three technicians put the cast back twice each, as for an audit of repeatability."""
    for _ in range(2):
        walk.wait_days(3)
        for name in TECHNICIANS[:3]:
            walk.wait_minutes(20)
            at.remount(walk, at.heights(walk), by=name)
    at.photograph_put_back(walk)


def _put_back_badly_first(walk: Walk) -> None:
    walk.wait_days(6)
    at.remount(walk, (0.0, 1.1, -0.6))
    walk.wait_minutes(15)
    at.remount(walk, (0.0, -0.1, 0.15))
    at.remount_on_a_tablet(walk)


def _changed_after_release(walk: Walk) -> None:
    walk.wait_days(2)
    _nudged(walk)


def _recall_taken(walk: Walk) -> None:
    release = walk.case.release
    assert release is not None
    walk.say(RecallTaken(release.entry.id), by=walk.supervisor)


def _read_elsewhere(walk: Walk) -> None:
    tooth, surface = walk.survey.undercut_sites[0]
    other = TECHNICIANS[(TECHNICIANS.index(walk.person) + 1) % len(TECHNICIANS)]
    reading = walk.survey.undercut(Site(tooth, surface))
    assert reading is not None
    body = UndercutRead(
        tooth, surface, reading.body.gauge_mm, "lip_first", None, reading.body.gauge
    )
    walk.say_elsewhere(body, by=other)


def _stone_weighed(walk: Walk) -> None:
    walk.say_in_a_newer_version("stone_weighed", '{"stone_g":84.5}')


def _with_an_overdue_gauge(walk: Walk) -> None:
    tooth = walk.survey.undercut_sites[0].tooth
    walk.say(UndercutRead(tooth, "L", 0.75, "lip_first", None, OVERDUE_GAUGE))


def _with_worn_gauge(walk: Walk) -> None:
    for site in walk.survey.undercut_sites:
        at.read(walk, site, FAILED_GAUGE)


STORIES: tuple[Story, ...] = (
    Story("released", (*_TO_RELEASE, _stone_weighed), 16),
    Story("received", (at.receive,), 1),
    Story("ready", (*_TO_READY, _with_an_overdue_gauge), 4),
    Story("stale", (*_TO_READY, _nudged, _some_confirmed), 5),
    Story("contradiction", (*_TO_LINES, _read_elsewhere), 6),
    Story("recalled", (*_TO_RELEASE, _changed_after_release), 18),
    Story("guide planes", (*_TO_FINAL, at.half_the_guide_planes), 3),
    Story("overruled", (
        *_TO_FINAL, at.guide_planes, at.undercuts, at.interferences, at.lines_but_one_tooth,
        at.tripod, at.tips, _overruled, at.release, _held,
    ), 20),
    Story("received in part", (at.receive_in_part,), 1),
    Story("mounted", (at.receive, at.mount), 3),
    Story("exempted", (*_TO_READY, _exempted, at.release), 24, unbalanced),
    Story("put back", (*_TO_RELEASE, _put_back, _held_for_a_while), 28),
    Story("tilted", (at.receive, at.mount, at.tilt), 3),
    Story("undercuts", (*_TO_FINAL, at.guide_planes, at.half_the_undercuts), 4),
    Story("disturbed", (
        *_TO_FINAL, at.guide_planes, _with_worn_gauge, at.interferences, at.survey_lines,
        at.tripod, at.tips, _table_moved,
    ), 5),
    Story("put back badly first", (*_TO_RELEASE, _put_back_badly_first), 30),
    Story("interferences", (*_TO_FINAL, at.guide_planes, at.undercuts), 4),
    Story("survey lines", (
        *_TO_FINAL, at.guide_planes, at.undercuts, at.interferences, at.half_the_survey_lines,
    ), 4),
    Story("corrected", (
        *_TO_FINAL, at.guide_planes, at.undercuts, _corrected, _withdrawn, at.survey_lines,
        at.tripod, at.tips, at.release,
    ), 19),
    Story("confirmed", (*_TO_READY, _nudged, _all_confirmed), 6),
    Story("tripod", _TO_LINES, 4),
    Story("fell and settled", (*_TO_READY, _cast_fell, _settled, at.release), 22),
    Story("recall taken", (*_TO_RELEASE, _changed_after_release, _recall_taken), 26),
    Story("retention", (*_TO_LINES, at.tripod, at.first_tip), 5),
    Story("unbalanced", _TO_READY, 6, unbalanced),
    Story("steep", (
        at.receive, at.mount, at.steep, at.guide_planes, _with_worn_gauge, at.interferences,
        at.survey_lines, at.tripod, at.tips, at.release,
    ), 17),
)  # fmt: skip
