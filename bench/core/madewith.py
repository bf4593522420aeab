"""What the statements of a case were made with: instruments they name, and those they rest on.

A finding names its gauge; that it was read on a surveyor and a table follows from the mounting, and
which inclinometer set the tilt from its setting. A re-mount by marks rests on the caliper of its tripod.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from bench.core.case import Case
from bench.core.entries import (
    AT_A_SETTING,
    Entry,
    Exempted,
    Mounted,
    Overruled,
    Released,
    Remounted,
    RemountRead,
    SettingTaken,
)
from bench.core.instruments import Doubt, named_by

By = Literal["named", "mounted", "setting", "tripod"]
# What a supervisor decides is no reading; what stands on one is listed by its own entry.
_BACK = (Remounted, RemountRead)
_READ = AT_A_SETTING - {Exempted, Overruled, Released} | {SettingTaken, *_BACK}


@dataclass(frozen=True, slots=True)
class Use:
    """A statement that an instrument is behind: its tag, when it was used (ISO 8601), and how it comes in.

    `by` is `named` where the statement names it, `mounted` for what the cast lay on, `setting` for
    what the tilt was read with, `tripod` for what the marks of a re-mount were measured with.
    """

    entry: Entry
    tag: str
    at: str
    by: By


def uses_in(case: Case) -> Iterator[Use]:
    """Yield every use of an instrument in a case, in order of time; what was taken back too."""
    mounted: dict[str, str] = {}
    for entry in sorted(case.entries, key=lambda one: (one.at, one.id)):
        named = named_by(entry.body)
        yield from (Use(entry, tag, entry.at, "named") for tag in sorted(named))
        if type(entry.body) in _READ:
            behind = [*_lain_on(entry, mounted), *_behind(case, entry)]
            yield from (one for one in behind if one.tag not in named)
        _move(entry, mounted)


def uses_between(uses: Iterable[Use], tag: str, since: str, until: str) -> tuple[Use, ...]:
    """Return the uses of one instrument after one time and before another, '' for no such end."""
    return tuple(
        use for use in uses if use.tag == tag and since < use.at and (not until or use.at < until)
    )


def doubtful(doubt: Doubt, uses: Iterable[Use], tag: str) -> tuple[Use, ...]:
    """Return the uses of an instrument in a doubtful time."""
    return uses_between(uses, tag, doubt.since, doubt.until)


def _move(entry: Entry, mounted: dict[str, str]) -> None:
    """A mounting says anew what the cast lies on; a re-mount may have changed the surveyor alone."""
    body = entry.body
    if isinstance(body, Mounted):
        mounted |= {"surveyor": body.surveyor, "table": body.table}
    elif isinstance(body, _BACK) and body.surveyor:
        mounted["surveyor"] = body.surveyor


def _lain_on(entry: Entry, mounted: dict[str, str]) -> Iterator[Use]:
    other = isinstance(entry.body, _BACK) and bool(entry.body.surveyor)
    for what, tag in mounted.items():
        if tag and not (other and what == "surveyor"):
            yield Use(entry, tag, entry.at, "mounted")


def _behind(case: Case, entry: Entry) -> Iterator[Use]:
    if entry.setting is not None and not isinstance(entry.body, (SettingTaken, *_BACK)):
        yield from _inherited(case, entry, entry.setting, "setting")
    if isinstance(entry.body, _BACK) and entry.body.tripod is not None:
        yield from _inherited(case, entry, entry.body.tripod, "tripod")


def _inherited(case: Case, entry: Entry, key: str, by: By) -> Iterator[Use]:
    """A mounting is a setting too, but what it names the cast lies on: that is told already."""
    source = case.by_id.get(key)
    if source is not None and not isinstance(source.body, Mounted):
        yield from (Use(entry, tag, source.at, by) for tag in sorted(named_by(source.body)))
