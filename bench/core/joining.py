"""What only the lab can tell about a statement of itself: people, policy, instruments, devices."""

from __future__ import annotations

from collections.abc import Callable

from bench.core.bounds import BadEntry
from bench.core.entries import (
    DevicePaired,
    DeviceRevoked,
    Draft,
    FiguresLookedAt,
    InstrumentAdded,
    InstrumentChecked,
    InstrumentRetired,
    InstrumentReturned,
    PersonAdded,
    PersonChanged,
    PersonConfirmed,
    PolicySet,
    TableDescribed,
    UncertaintyStated,
)
from bench.core.lab import Lab
from bench.core.policy import changed
from bench.core.proving import check_confirmed


def check_lab(draft: Draft, lab: Lab) -> None:
    """Refuse a statement about the lab that does not fit it as it is; raise BadEntry.

    `lab` is folded from what is recorded, in the same transaction that will record the draft.
    """
    if isinstance(draft.body, PersonConfirmed):
        check_confirmed(draft.person, draft.body, lab.unconfirmed)
    demand = _DEMANDS.get(type(draft.body))
    if demand:
        demand(draft.body, lab)


def _person_added(body: PersonAdded, lab: Lab) -> None:
    if body.initials in lab.people:
        raise BadEntry("initials", "initials_taken", value=body.initials)
    if not lab.people and body.role != "supervisor":
        raise BadEntry("role", "first_is_supervisor")


def _person_changed(body: PersonChanged, lab: Lab) -> None:
    if body.initials not in lab.people:
        raise BadEntry("initials", "no_such_person", value=body.initials)
    others = [one for one in lab.supervisors() if one.initials != body.initials]
    if not others and not (body.active and body.role == "supervisor"):
        raise BadEntry("role", "last_supervisor", value=body.initials)


def _policy_set(body: PolicySet, lab: Lab) -> None:
    changed(lab.policy, body.item, body.value)


def _instrument_added(body: InstrumentAdded, lab: Lab) -> None:
    if body.tag in lab.instruments:
        raise BadEntry("tag", "tag_taken", value=body.tag)
    if body.sort == "gauge" and body.size_mm is None:
        raise BadEntry("size_mm", "missing")


def _instrument_in_service(body: InstrumentChecked | InstrumentRetired, lab: Lab) -> None:
    known = lab.instruments.get(body.tag)
    if known is None:
        raise BadEntry("tag", "no_such_instrument", value=body.tag)
    if not known.in_service:
        raise BadEntry("tag", "instrument_retired", value=body.tag)


def _instrument_returned(body: InstrumentReturned, lab: Lab) -> None:
    known = lab.instruments.get(body.tag)
    if known is None:
        raise BadEntry("tag", "no_such_instrument", value=body.tag)
    if known.in_service:
        raise BadEntry("tag", "instrument_in_service", value=body.tag)


def _table_described(body: TableDescribed, lab: Lab) -> None:
    known = lab.instruments.get(body.tag)
    if known is None or known.sort != "table":
        raise BadEntry("tag", "no_such_instrument", value=body.tag)


def _uncertainty_stated(body: UncertaintyStated, lab: Lab) -> None:
    """The check spoken of is known, and was read in the unit of the uncertainty."""
    known = lab.instruments.values()
    checks = {one.id: one.body for each in known for one in (*each.checks, *each.unproved)}
    check = checks.get(body.check)
    if not isinstance(check, InstrumentChecked):
        raise BadEntry("check", "no_such_check", value=body.check)
    if (check.unit == "mm") != (body.uncertainty_mm is not None):
        raise BadEntry("uncertainty_mm", "unit_of_the_check", value=check.unit)


def _figures_looked_at(body: FiguresLookedAt, lab: Lab) -> None:
    if not lab.policy.switches["person_figures"]:
        raise BadEntry("whose", "figures_pooled")
    if body.whose and body.whose not in lab.people:
        raise BadEntry("whose", "no_such_person", value=body.whose)


def _device_paired(body: DevicePaired, lab: Lab) -> None:
    if body.device in lab.devices:
        raise BadEntry("device", "device_taken", value=body.device)


def _device_revoked(body: DeviceRevoked, lab: Lab) -> None:
    known = lab.devices.get(body.device)
    if known is None:
        raise BadEntry("device", "no_such_device", value=body.device)
    if known.revoked_at:
        raise BadEntry("device", "device_revoked", value=known.name)


_DEMANDS: dict[type, Callable[..., None]] = {
    PersonAdded: _person_added,
    PersonChanged: _person_changed,
    PolicySet: _policy_set,
    InstrumentAdded: _instrument_added,
    InstrumentChecked: _instrument_in_service,
    InstrumentRetired: _instrument_in_service,
    InstrumentReturned: _instrument_returned,
    TableDescribed: _table_described,
    UncertaintyStated: _uncertainty_stated,
    FiguresLookedAt: _figures_looked_at,
    DevicePaired: _device_paired,
    DeviceRevoked: _device_revoked,
}
