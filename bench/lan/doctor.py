"""Look over the bench PC and say what is well and what is not: it changes nothing."""

from __future__ import annotations

import shutil
import socket
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from bench.core.refusal import Refusal
from bench.lan.announce import can_announce
from bench.lan.authority import Authority, Certificates, covers, is_near_its_end
from bench.lan.names import domain_names, host_name, names_now
from bench.settings import Settings
from bench.store.contacts import contacts, kept_aside
from bench.store.folder import made_ready, share_of
from bench.store.log import Log
from bench.store.open import FILE_NAME, Store

State = Literal["well", "look", "ill"]
LEAST_FREE_GB, SPARE_FREE_GB = 1.0, 5.0
SILENT_DAYS = 14
_DAY_MS = 86_400_000
_EARLIEST = "2025-01-01"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at: `part`.`code` has its words, filled from `figures`."""

    part: str
    code: str
    state: State = "well"
    figures: dict[str, object] = field(default_factory=dict)


def look_over(
    settings: Settings,
    store: Store | None,
    now: datetime,
    names: Callable[[], tuple[str, ...]] = names_now,
) -> Iterator[Finding]:
    """Yield what is found: clock, certificate, name, disk, share, room, port, devices."""
    yield _clock(store, now)
    yield from _certificate(settings, now, names())
    yield Finding("name", "announced" if can_announce() else "not_announced",
                  "well" if can_announce() else "look", {"name": domain_names(host_name())[0]})  # fmt: skip
    yield from _folder(settings)
    yield _port(settings)
    if store is not None:
        yield from _devices(store, now)


def _clock(store: Store | None, now: datetime) -> Finding:
    at = now.isoformat(timespec="seconds")
    newest = Log(store).newest_received_at() if store else ""
    if at < _EARLIEST or (newest and datetime.fromisoformat(newest) > now):
        return Finding("clock", "behind", "ill", {"now": at, "newest": newest or _EARLIEST})
    return Finding("clock", "fits", figures={"now": at})


def _certificate(settings: Settings, now: datetime, names: tuple[str, ...]) -> Iterator[Finding]:
    held = Authority(settings.data).held()
    if held is None:
        yield Finding("certificate", "none", "look")
        return
    missing = sorted(set(names) - set(held.names))
    foreign = [name for name in missing if not covers(held.authority, name)]
    if foreign:
        yield Finding("certificate", "renamed", "ill", {"names": ", ".join(foreign)})
    elif missing:
        yield Finding("certificate", "moved", "look", {"names": ", ".join(missing)})
    yield _end_of(held, now)


def _end_of(held: Certificates, now: datetime) -> Finding:
    figures: dict[str, object] = {"until": held.leaf.not_valid_after_utc.date().isoformat()}
    if held.leaf.not_valid_after_utc < now:
        return Finding("certificate", "ended", "ill", figures)
    if is_near_its_end(held.leaf, now):
        return Finding("certificate", "ends_soon", "look", figures)
    return Finding("certificate", "good", figures=figures)


def _folder(settings: Settings) -> Iterator[Finding]:
    if not (settings.data / FILE_NAME).is_file():
        yield Finding("disk", "no_logbook", "ill", {"folder": settings.data})
        return
    try:
        made_ready(settings.data)
        yield Finding("disk", "writable", figures={"folder": settings.data})
    except Refusal as refusal:
        yield Finding(
            "disk", "not_writable", "ill", {"folder": settings.data, "words": str(refusal)}
        )
    share = share_of(settings.data.resolve())
    yield Finding(
        "share",
        "on_a_share" if share else "on_this_pc",
        "ill" if share else "well",
        {"share": share},
    )
    yield _room(shutil.disk_usage(settings.data).free / 1e9)


def _room(free_gb: float) -> Finding:
    state: State = (
        "ill" if free_gb < LEAST_FREE_GB else "look" if free_gb < SPARE_FREE_GB else "well"
    )
    code = {"ill": "full", "look": "short", "well": "enough"}[state]
    return Finding("room", code, state, {"free_gb": f"{free_gb:.1f}"})


def _port(settings: Settings) -> Finding:
    """A port that answers is either the bench at work or another program: its own page tells."""
    try:
        with closing(socket.create_connection(("127.0.0.1", settings.port), timeout=2)):
            return Finding("port", "answers", figures={"port": settings.port})
    except OSError:
        return Finding("port", "silent", "look", {"port": settings.port})


def _devices(store: Store, now: datetime) -> Iterator[Finding]:
    lab, heard, aside = Log(store).lab(), contacts(store), kept_aside(store)
    used = [one for one in lab.devices.values() if not one.revoked_at]
    yield Finding("devices", "paired", figures={"count": len(used)})
    now_ms = round(now.timestamp() * 1000)
    for one in sorted(used, key=lambda device: device.device):
        figures: dict[str, object] = {"name": one.name, "device": one.device}
        contact = heard.get(one.device)
        if aside.get(one.device):
            yield Finding("devices", "aside", "ill", {**figures, "count": aside[one.device]})
        if contact is None or now_ms - contact.at_ms > SILENT_DAYS * _DAY_MS:
            yield Finding("devices", "silent", "look", {**figures, "days": SILENT_DAYS})
        elif contact.unsent:
            yield Finding("devices", "unsent", "look", {**figures, "count": contact.unsent})
