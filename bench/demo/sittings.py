"""What a technician does at each step of the survey, in order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import ceil, sqrt

from bench.core.entries import (
    CastReceived,
    Confirmed,
    DisinfectionRecorded,
    Entry,
    FourthMarkMade,
    GuidePlaneRead,
    GuidePlaneWished,
    IndirectRetainerWished,
    InterferenceNoted,
    InterferencesLooked,
    Mounted,
    PersonConfirmed,
    PersonUnconfirmed,
    PhotoDrawn,
    PhotoKept,
    PrescriptionRecorded,
    Released,
    Remounted,
    RemountRead,
    RestWished,
    SettingMadeFinal,
    SettingTaken,
    SurveyLinesDrawn,
    TeethRecorded,
    TipChosen,
    TripodMarked,
    UndercutRead,
)
from bench.core.off import triangle_of
from bench.core.release import Judged, grounds, judge
from bench.core.remount import tilt_off
from bench.core.surfaces import Site
from bench.core.teeth import side_of
from bench.core.tilt import Tilt, total_deg
from bench.demo.people import CALIPER, GAUGES, SLEEVE, SURVEYORS, TABLE, TABLE_WITHOUT_SCALE
from bench.demo.photos import BASE_URL, around, confirmed
from bench.demo.walk import DAY_MS, Walk
from bench.pictures.label import LabelFacts
from bench.store.log import iso

Sitting = Callable[[Walk], None]
CAST_KINDS = ("master", "master", "diagnostic", "duplicate")
TURNED_DEG = 4.0
TILTS_DEG = ((3.0, 0.0), (-2.0, 1.5), (4.0, -1.0), (0.0, 2.5), (-3.5, -2.0), (2.5, 1.0))


def receive(walk: Walk) -> None:
    """Open the case and note the teeth, the prescription, the cast and the wish list."""
    plan = walk.plan
    walk.open(walk.random.choice(CAST_KINDS))
    walk.say(TeethRecorded(plan.missing, plan.replaced, plan.extractions))
    walk.say(PrescriptionRecorded(f"RX-{walk.number}", iso(walk.now_ms - DAY_MS)[:10]))
    walk.say(DisinfectionRecorded(walk.random.choice(("disinfected", "disinfected", "unknown"))))
    chipped = walk.random.random() < 0.15
    walk.say(CastReceived("chipped" if chipped else "sound", "Heel chipped" if chipped else ""))
    wish(walk)


def receive_in_part(walk: Walk) -> None:
    """Open the case and note the teeth only; the rest has to wait."""
    walk.open("master")
    walk.say(TeethRecorded(walk.plan.missing, walk.plan.replaced, walk.plan.extractions))


def wish(walk: Walk) -> None:
    """Note what the dentist wishes."""
    for clasp in walk.plan.clasps:
        walk.say(clasp)
    for tooth, seat in walk.plan.rests:
        walk.say(RestWished(tooth, seat))
    for tooth, surface in walk.plan.planes:
        walk.say(GuidePlaneWished(tooth, surface))
    for tooth in walk.plan.indirect:
        walk.say(IndirectRetainerWished(tooth))


def mount(walk: Walk) -> None:
    """Mount the cast at zero and gauge the planned tips there."""
    walk.wait_days(1)
    table = TABLE_WITHOUT_SCALE if _has_no_scale(walk) else TABLE
    walk.say(Mounted(SURVEYORS[0], table))
    for clasp in walk.plan.clasps:
        contact = "both" if walk.random.random() < 0.8 else "lip_first"
        gauge_mm = clasp.wanted_mm
        walk.say(
            UndercutRead(clasp.tooth, clasp.surface, gauge_mm, contact, None, GAUGES[gauge_mm])
        )


def tilt(walk: Walk) -> None:
    """Try a tilt or two."""
    ap_deg, lat_deg = walk.random.choice(TILTS_DEG)
    if _has_no_scale(walk):
        walk.say(SettingTaken(None, None, TABLE_WITHOUT_SCALE))
        return
    if walk.random.random() < 0.5:
        walk.say(SettingTaken(ap_deg + 1.5, lat_deg, TABLE, 0.5))
    walk.say(SettingTaken(ap_deg, lat_deg, TABLE, 0.5))


def _has_no_scale(walk: Walk) -> bool:
    return walk.number.endswith("7")


def steep(walk: Walk) -> None:
    """Tilt further than the usual ceiling, with the reason, and lock."""
    walk.say(SettingTaken(15.0, 4.0, TABLE, 0.5), reason="Molar leans far forward; dentist agrees.")
    final(walk)


def final(walk: Walk) -> None:
    """Lock the table and make the setting final."""
    walk.say(SettingMadeFinal())


def guide_planes(walk: Walk) -> None:
    """Lay the rod on every surface that faces a space."""
    _planes(walk, walk.survey.plane_sites)


def half_the_guide_planes(walk: Walk) -> None:
    """Lay the rod on some of the surfaces."""
    sites = walk.survey.plane_sites
    _planes(walk, sites[: ceil(len(sites) / 2)] if len(sites) > 1 else ())


def _planes(walk: Walk, sites: Sequence[Site]) -> None:
    for tooth, surface in sites:
        light = walk.random.choice(("none", "gingival", "occlusal"))
        gap_mm = None if light == "none" else walk.random.choice((0.2, 0.3, 0.4))
        height_mm = None if gap_mm is None else walk.random.choice((2.0, 2.5, 3.0))
        off_mm = 0.2 if light == "occlusal" else None
        run_mm = walk.random.choice((2.5, 3.0))
        walk.say(GuidePlaneRead(tooth, surface, light, gap_mm, height_mm, off_mm, run_mm))


def undercuts(walk: Walk) -> None:
    """Gauge every planned tip and mark it."""
    for site in walk.survey.undercut_sites:
        read(walk, site)


def half_the_undercuts(walk: Walk) -> None:
    """Gauge the first planned tip only."""
    read(walk, walk.survey.undercut_sites[0])


def read(walk: Walk, site: Site, gauge: str = "") -> Entry:
    """Gauge one site at the present setting."""
    wanted = {(w.tooth, w.surface): w.wanted_mm for w in walk.plan.clasps}
    gauge_mm = wanted.get((site.tooth, site.surface), 0.25)
    drop_mm = round(walk.random.uniform(1.0, 2.4) * 20) / 20
    contact = "both" if walk.random.random() < 0.9 else "lip_short"
    tag = gauge or GAUGES[gauge_mm]
    return walk.say(UndercutRead(*site, gauge_mm, contact, drop_mm, tag, True))


def interferences(walk: Walk) -> None:
    """Look for interferences: note one now and then."""
    if walk.random.random() < 0.7:
        walk.say(InterferencesLooked())
    elif walk.plan.arch == "lower":
        walk.say(InterferenceNoted("right_lingual", "torus"))
    else:
        walk.say(InterferenceNoted("left_buccal", "soft_tissue_undercut", remark="Tuberosity"))


def survey_lines(walk: Walk) -> None:
    """Draw the survey lines, one side after the other."""
    for side in ("right", "left"):
        _lines(walk, side)


def half_the_survey_lines(walk: Walk) -> None:
    """Draw the survey lines of the patient's right."""
    _lines(walk, "right")


def _lines(walk: Walk, side: str, without: tuple[int, ...] = ()) -> None:
    sites = [s.text for s in walk.survey.line_sites if side_of(s.tooth) == side]
    drawn = tuple(text for text in sites if int(text[:2]) not in without)
    if drawn:
        walk.say(SurveyLinesDrawn(drawn, True, SLEEVE))


def lines_but_one_tooth(walk: Walk) -> None:
    """Draw the survey lines of all teeth but the last, which is too chipped to hold lead."""
    last = walk.survey.line_teeth[-1]
    for side in ("right", "left"):
        _lines(walk, side, (last,))


def tripod(walk: Walk) -> None:
    """Mark, ring and measure the tripod, and photograph it."""
    marked = tripod_without_photo(walk)
    assert isinstance(marked.body, TripodMarked)
    on_cast = _as_marked(walk, marked.body)
    kept = photograph(walk, marked.id, "tripod", on_cast)
    if kept.sha256 in walk.album.labelled and walk.number[-1] not in "05":
        walk.say(confirmed(kept, walk.plan.arch, marked.id, on_cast))
    if walk.number.endswith("2"):
        _photograph_a_finding(walk)


def _photograph_a_finding(walk: Walk) -> None:
    """Keep a photo of the first undercut read, and draw a circle round its tooth."""
    read = walk.case.said(UndercutRead)
    if read:
        tooth = read[0].body.tooth
        kept = photograph(walk, read[0].entry.id, "site")
        walk.say(PhotoDrawn(kept.sha256, (around(walk.plan.arch, tooth, str(tooth)),)))


def _as_marked(walk: Walk, told: TripodMarked) -> TripodMarked:
    """Return the marks as they are: now and then two distances were swapped, or one misread."""
    if walk.number.endswith("4"):
        return replace(told, d_ab_mm=told.d_ac_mm, d_ac_mm=told.d_ab_mm)
    if walk.number.endswith("7"):
        return replace(told, d_bc_mm=told.d_bc_mm - 3.0)
    return told


def tripod_without_photo(walk: Walk) -> Entry:
    """Mark, ring and measure the tripod."""
    d_ab, d_ac, d_bc = (round(walk.random.uniform(34.0, 44.0), 1) for _ in range(3))
    sense = walk.random.choice(("clockwise", "anticlockwise"))
    height_mm = round(walk.random.uniform(40.0, 60.0), 1)
    marked = walk.say(
        TripodMarked(d_ab, d_ac, d_bc, sense, True, True, True, True, height_mm, "", CALIPER)
    )
    if walk.number.endswith("3"):
        # D lies across BC from A, so that the four make a parallelogram.
        d_ad = sqrt(2 * d_ab**2 + 2 * d_ac**2 - d_bc**2)
        walk.say(FourthMarkMade(marked.id, round(d_ad, 2), d_ac, d_ab, CALIPER))
    return marked


def photograph(
    walk: Walk, about: str, shows: str, on_cast: TripodMarked | None = None, turned_deg: float = 0.0
) -> PhotoKept:
    """Keep a photo about an entry, with the marks that are on the cast by then."""
    facts = LabelFacts(walk.code, walk.number, walk.plan.arch, BASE_URL)
    kept = walk.album.photo(facts, walk.plan.missing, about, shows, on_cast, turned_deg)
    walk.say(kept)
    return kept


def tips(walk: Walk) -> None:
    """Choose the retentive tips as they were wished."""
    for clasp in walk.plan.clasps:
        other = walk.random.choice(("arm", "plate", "arm", "minor_connector"))
        walk.say(TipChosen(clasp.tooth, clasp.surface, clasp.material, other, clasp.arm_mm))


def first_tip(walk: Walk) -> None:
    """Choose one tip only."""
    clasp = walk.plan.clasps[0]
    walk.say(TipChosen(clasp.tooth, clasp.surface, clasp.material, "arm", clasp.arm_mm))


def release(walk: Walk) -> None:
    """Release the cast to design on what stands."""
    walk.wait_minutes(20)
    walk.say(Released(grounds(walk.case)))


def confirm(walk: Walk, share: float, but: tuple[type, ...] = (TripodMarked,)) -> None:
    """Look again at a share of the stale findings and confirm them."""
    stale = [one.reason.entries[0] for one in walk_stale(walk)]
    kept = [key for key in stale if not isinstance(walk.case.by_id[key].body, but)]
    for key in kept[: ceil(len(kept) * share)]:
        walk.say(Confirmed(key))


def walk_stale(walk: Walk) -> list[Judged]:
    """Return what is stale at the present setting."""
    return [one for one in judge(walk.survey).judged if one.reason.rule == "S2"]


def heights(walk: Walk) -> tuple[float, ...]:
    """Return heights as they are read on the marks of a cast put back with care, in mm."""
    return tuple(round(walk.random.gauss(0.0, 0.15), 2) for _ in range(3))


def remount(
    walk: Walk, heights_mm: tuple[float, ...], settles: tuple[str, ...] = (), by: str = ""
) -> None:
    """Put the cast back by its tripod and read the heights of its marks."""
    reading = walk.survey.tripod
    assert reading is not None
    off = tilt_off(triangle_of(reading.body).marks_mm, heights_mm)
    left = Tilt(round(off.ap_deg, 2), round(off.lat_deg, 2))
    tolerance_deg = walk.lab.policy.number("remount_tolerance_deg")
    walk.say(
        Remounted(
            "tripod",
            ap_deg=left.ap_deg,
            lat_deg=left.lat_deg,
            total_deg=round(total_deg(left), 2),
            tolerance_deg=tolerance_deg,
            heights_mm=heights_mm,
            tripod=reading.entry.id,
            surveyor=SURVEYORS[1],
            second_check="gauge_touches" if off.total_deg <= tolerance_deg else "none",
            settles=settles,
        ),
        by=by,
    )


def photograph_put_back(walk: Walk) -> None:
    """Photograph the marks of the cast put back, and confirm where they are, to know it for the same."""
    reading = walk.survey.tripod
    assert reading is not None
    on_cast = _as_marked(walk, reading.body)
    kept = photograph(walk, reading.entry.id, "tripod", on_cast, TURNED_DEG)
    if kept.sha256 in walk.album.labelled:
        walk.say(confirmed(kept, walk.plan.arch, reading.entry.id, on_cast, TURNED_DEG))


def remount_on_a_tablet(walk: Walk) -> None:
    """Put the cast back where no bench PC answers, and confirm it there with the PIN afterwards."""
    reading, now = walk.survey.tripod, walk.case.now
    assert reading is not None
    assert now is not None
    tolerance_deg = walk.lab.policy.number("remount_tolerance_deg")
    read = walk.say(
        RemountRead("tripod", now.id, tolerance_deg, reading.entry.id, None, 0.0, 0.1, 0.05)
    )
    walk.say(PersonUnconfirmed((read.id,)))
    walk.wait_minutes(30)
    walk.say(PersonConfirmed((read.id,)))
