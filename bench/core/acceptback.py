"""What only the case can tell about putting a cast back: re-mounts, as worked out or as read, and fourth marks."""

from __future__ import annotations

from dataclasses import replace

from bench.core import bounds
from bench.core.backagain import setting_held
from bench.core.bounds import BadEntry
from bench.core.case import Case
from bench.core.entries import (
    Disturbed,
    Draft,
    FourthMarkMade,
    Remounted,
    RemountRead,
    TripodMarked,
    sealed,
)
from bench.core.fourthmark import NoFourthPlace, fourth_place
from bench.core.lab import Lab
from bench.core.off import triangle_of, worked_out
from bench.core.survey import Survey
from bench.core.tilt import Tilt, TiltTooSteep, angle_between_deg


def check_remount(draft: Draft, case: Case, lab: Lab) -> None:
    """A re-mount answers disturbances of this case, and is held to the lab's own tolerance."""
    body = draft.body
    assert isinstance(body, Remounted)
    disturbances = {said.entry.id for said in case.said(Disturbed)}
    for entry_id in body.settles:
        if entry_id not in disturbances:
            raise BadEntry("settles", "no_such_entry", value=entry_id)
    if body.tripod is not None and not is_tripod(case, body.tripod):
        raise BadEntry("tripod", "no_such_entry", value=body.tripod)
    most = lab.policy.number("remount_tolerance_deg")
    bounds.within("tolerance_deg", body.tolerance_deg, 0.05, most, "degrees")
    held = setting_held(Survey(case, lab))
    if body.method == "inclinometer" and held is not None and held.tilt is not None:
        _total_off(body, held.tilt)


def check_reading(draft: Draft, case: Case, lab: Lab) -> None:
    """What was read must be of marks and a setting of this case, and tell how far off the cast is."""
    body = draft.body
    assert isinstance(body, RemountRead)
    if body.tripod is not None and not is_tripod(case, body.tripod):
        raise BadEntry("tripod", "no_such_entry", value=body.tripod)
    if case.setting_of(body.brings_back) is None:
        raise BadEntry("brings_back", "no_such_entry", value=body.brings_back)
    as_recorded = sealed(draft, entry_id="", device="", at="", seq=0, prev="")
    found = worked_out(as_recorded, case.by_id)
    if found is None:
        raise BadEntry("h_c_mm" if body.method == "tripod" else "ap_deg", "tells_nothing")
    settles = replace(draft, body=replace(found, settles=body.answers))
    check_remount(settles, case, lab)


def check_fourth_mark(draft: Draft, case: Case, lab: Lab) -> None:
    """A fourth mark belongs to a tripod that stands, and fits its three."""
    body = draft.body
    assert isinstance(body, FourthMarkMade)
    if body.tripod in case.aside or not is_tripod(case, body.tripod):
        raise BadEntry("tripod", "no_such_entry", value=body.tripod)
    try:
        fourth_place(triangle_of(case.by_id[body.tripod].body), body)  # type: ignore[arg-type]
    except NoFourthPlace as refused:
        raise BadEntry("d_cd_mm", refused.code, **refused.params) from refused


def _total_off(body: Remounted, wanted: Tilt) -> None:
    """Two angles off a tilt make another total than off the level: about 2 % more at 14 degrees."""
    try:
        read = Tilt(wanted.ap_deg + body.ap_deg, wanted.lat_deg + body.lat_deg)
        total = angle_between_deg(read, wanted)
    except TiltTooSteep:
        raise BadEntry("total_deg", "total_differs", value=body.total_deg) from None
    if abs(total - body.total_deg) > 0.01 + 0.01 * total:
        raise BadEntry("total_deg", "total_differs", value=body.total_deg)


def is_tripod(case: Case, entry_id: str) -> bool:
    """Say whether an id names tripod marks of the case."""
    entry = case.by_id.get(entry_id)
    return entry is not None and isinstance(entry.body, TripodMarked)
