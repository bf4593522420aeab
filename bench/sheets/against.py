"""What stands against release, as a sheet says it: like reasons together, each with its rule and its end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from bench.core.release import Judged, Judgement, Verdict
from bench.core.survey import Survey
from bench.core.teeth import place_in_arch
from bench.sheets.blocks import Force, Note
from bench.words.reader import Reader
from bench.words.wording import overruling_in_words, reason_in_words, rule_name

TOGETHER = 3
_FORCES: dict[Judgement, Force] = {"blocks": "stopped", "warns": "stale", "overruled": "plain"}
_ORDER: tuple[Judgement, ...] = ("overruled", "blocks", "warns")


def reasons(verdict: Verdict, reader: Reader) -> tuple[Note, ...]:
    """Return what was overruled and by whom, what stops the release, and the warnings, in this order."""
    return tuple(
        note
        for force in _ORDER
        for note in _notes(verdict.of(force), force, reader)
    )  # fmt: skip


def exemption(survey: Survey, reader: Reader) -> tuple[Note, ...]:
    """Return which guide planes stand for balanced retention and why, when any do."""
    said = survey.exemption
    if said is None:
        return ()
    words = reader.say(
        "sheet.exempted", sites=reader.sites(said.body.sites), person=said.entry.person,
        reason=said.entry.reason,
    )  # fmt: skip
    return (Note(words),)


def _notes(judged: Iterable[Judged], force: Judgement, reader: Reader) -> Iterator[Note]:
    for _, group in groupby(judged, key=_like):
        same = list(group)
        told = (
            [_grouped(same, reader)]
            if len(same) > TOGETHER
            else [_told(one, reader) for one in same]
        )
        for text in dict.fromkeys(told):
            yield Note(text, _FORCES[force])


def _like(one: Judged) -> tuple[str, str, str]:
    over = one.overruling.entry.id if one.overruling else ""
    return one.reason.rule, one.reason.problem, over


def _told(one: Judged, reader: Reader) -> str:
    sentence = reason_in_words(one, reader).sentence
    return _ended(one, sentence, reader)


def _grouped(same: list[Judged], reader: Reader) -> str:
    first = same[0]
    places = _places(same, reader)
    return _ended(first, reader.say(
        "sheet.against.grouped", name=rule_name(first.reason.rule, reader), count=len(same), places=places,
    ), reader)  # fmt: skip


def _places(same: list[Judged], reader: Reader) -> str:
    """Return where like reasons lie: their sites, or the whole teeth; nothing where they name none."""
    sites: list[str] = []
    for one in same:
        params = one.reason.params
        named = params.get("sites") or (params.get("site"),)
        sites += [str(site) for site in named if site] if isinstance(named, tuple) else []
    if sites:
        ordered = sorted(dict.fromkeys(sites), key=lambda site: place_in_arch(int(site[:2])))
        return reader.say("sheet.against.at", sites=reader.sites(ordered))
    return ""


def _ended(one: Judged, sentence: str, reader: Reader) -> str:
    key = f"sheet.against.{one.force}"
    return reader.say(
        key, sentence=sentence, rule=one.reason.rule, overruled=overruling_in_words(one, reader)
    )
