"""Let a device in: a supervisor's one-time code and the device's own key make it known to the lab."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from bench.core.bounds import BadEntry
from bench.core.entries import DevicePaired, DeviceRevoked, Draft, Entry
from bench.core.joining import check_lab
from bench.core.lab import Device, Lab, fold_lab
from bench.store.log import Log
from bench.store.onetimecode import new_code, redeem
from bench.store.refusals import CodeRefused
from bench.sync.signing import check_key, device_name


class RevokedKey(BadEntry):
    """The key was put out of use, and a key never comes back: the device needs a new one."""

    def __init__(self) -> None:
        super().__init__("public_key", "revoked_key")


def offer(log: Log, supervisor: str, now_ms: int) -> str:
    """Return a one-time code in a supervisor's name; raise BadEntry for anybody else."""
    if not _is_supervisor(log.lab(), supervisor):
        raise BadEntry("initials", "no_such_person", value=supervisor[:8])
    return new_code(log.store, supervisor, now_ms)


def pair(
    log: Log, code: str, name: str, public_key: str, *, now_ms: int, random_bits: Callable[[], int]
) -> str:
    """Return the name under which the lab knows a device from now on.

    Its entry is recorded by the supervisor who made the code. A key that is known already is answered
    with its name. Raises BadEntry for name and key, RevokedKey, CodeRefused, Throttled.
    """
    body = DevicePaired(device_name(public_key), name.strip(), public_key)
    check_key(public_key)
    supervisor = redeem(log.store, code, body.device, now_ms)
    draft = Draft(body, supervisor)

    def fits(entries: Sequence[Entry]) -> None:
        lab = fold_lab(entries)
        if not _is_supervisor(lab, supervisor):
            raise CodeRefused()
        check_lab(draft, lab)

    if not _is_known(log.lab().devices.get(body.device), public_key):
        log.record([draft], check=fits, now_ms=now_ms, random_bits=random_bits)
    return body.device


def _is_known(known: Device | None, public_key: str) -> bool:
    if known is None:
        return False
    if known.revoked_at:
        raise RevokedKey()
    if known.public_key != public_key:
        raise BadEntry("public_key", "bad_key")
    return True


def revocation(device: str, person: str, reason: str) -> Draft:
    """Return the statement that puts a device out of use."""
    return Draft(DeviceRevoked(device), person, reason=reason.strip())


def _is_supervisor(lab: Lab, initials: str) -> bool:
    return any(one.initials == initials for one in lab.supervisors())
