"""How a contradiction is settled: one of the statements is made again, in place of those it disagrees with."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bench.core.claims import stated_by
from bench.core.contradiction import Contradiction
from bench.core.entries import (
    AT_A_SETTING,
    Body,
    CaseOpened,
    Entry,
    Mounted,
    SettingTaken,
    SurveyLinesDrawn,
    Withdrawn,
)


@dataclass(frozen=True, slots=True)
class Settled:
    """One statement that settles: its body, what it replaces, the setting it belongs to."""

    body: Body
    supersedes: tuple[str, ...]
    setting: str | None


def can_settle(found: Contradiction) -> bool:
    """Say whether a statement can settle it: the opening of a case stays as it was."""
    return not any(isinstance(entry.body, CaseOpened) for entry in found.entries)


def settle(found: Contradiction, chosen: Entry, here: str | None) -> tuple[Settled, ...]:
    """Return the statements by which `chosen` stands and all that disagrees with it falls.

    Of two settings that left the same one, the other is taken back. Survey lines of other surfaces in
    an entry that falls are said again as they were. `here` is the id of the setting the cast has now.
    """
    if isinstance(chosen.body, (SettingTaken, Mounted)):
        others = (entry for entry in found.entries if entry.id != chosen.id)
        return tuple(Settled(Withdrawn(entry.id), (), None) for entry in others)
    against = [entry for entry in found.entries if _value(found, entry) != _value(found, chosen)]
    falls = tuple(entry.id for entry in (chosen, *against))
    setting = here if type(chosen.body) in AT_A_SETTING else chosen.setting
    if isinstance(chosen.body, SurveyLinesDrawn):
        return _lines(found, (chosen, *against), falls, setting)
    return (Settled(chosen.body, falls, setting),)


def _value(found: Contradiction, entry: Entry) -> object:
    return dict(stated_by(entry)).get(found.claim)


def _lines(
    found: Contradiction, entries: tuple[Entry, ...], falls: tuple[str, ...], setting: str | None
) -> tuple[Settled, ...]:
    site = str(found.claim[1])
    statements = []
    for place, entry in enumerate(entries):
        body = entry.body
        assert isinstance(body, SurveyLinesDrawn)
        rest = tuple(one for one in body.sites if one != site)
        sites = (site, *rest) if place == 0 else rest
        if sites:
            statements.append(
                Settled(replace(body, sites=sites), falls if place == 0 else (), setting)
            )
    return tuple(statements)
