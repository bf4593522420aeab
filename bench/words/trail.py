"""The trail of a case as a readable story: each entry a sentence, with what it replaced and why."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import fields, replace
from typing import NamedTuple

from bench.core.case import Case
from bench.core.casephotos import photo_of
from bench.core.claims import Claim
from bench.core.contradiction import Contradiction
from bench.core.entries import CaseOpened, Entry, SettingTaken, Unknown, Withdrawn
from bench.core.ids import is_entry_id, shown_code
from bench.core.policy import NUMBERS, RULES
from bench.core.surfaces import SURFACES, NoSuchSite
from bench.core.teeth import Arch, NoSuchTooth
from bench.words.reader import Reader
from bench.words.tilts import tilt_in_words
from bench.words.verdicts import rule_name


class ContradictionWords(NamedTuple):
    """A contradiction in words: about what, and who said what."""

    title: str
    statements: tuple[str, ...]


def entry_in_words(entry: Entry, case: Case | None, reader: Reader) -> str:
    """Return an entry as a sentence: who stated what, in place of what, and why.

    `case` is None for entries of the laboratory. An entry this version cannot read says so.
    """
    said = _statement(entry, case, reader) + reader.say("entries.end")
    replaced = [one for key in entry.supersedes if (one := _known(key, case)) is not None]
    if replaced:
        earlier = reader.listed(_quoted(one, case, reader) for one in replaced)
        said += reader.say("entries.in_place_of", earlier=earlier)
    if entry.reason:
        said += reader.say("entries.because", reason=entry.reason)
    return said


def fate_in_words(entry: Entry, case: Case, reader: Reader) -> str:
    """Return who put an entry aside and why; nothing while it stands."""
    by = case.aside.get(entry.id)
    if by is None:
        return ""
    key = "entries.taken_back_by" if isinstance(by.body, Withdrawn) else "entries.replaced_by"
    return reader.say(key, person=by.person, reason=by.reason)


def contradiction_in_words(
    found: Contradiction, case: Case | None, reader: Reader
) -> ContradictionWords:
    """Return what entries disagree about, and what each of them says."""
    return ContradictionWords(
        claim_in_words(found.claim, reader),
        tuple(_statement(one, case, reader) + reader.say("entries.end") for one in found.entries),
    )


def claim_in_words(claim: Claim, reader: Reader) -> str:
    """Return what a claim is about: `undercut of 34 MB`."""
    name, *rest = claim
    about = [_about(part, reader) for part in rest if part is not None]
    if len(rest) == 2 and rest[1] in SURFACES:
        about = [reader.site(f"{rest[0]}{rest[1]}")]
    return reader.say(f"entries.claim.{name}", about=reader.say("choices.row.between").join(about))


def _about(part: object, reader: Reader) -> str:
    if isinstance(part, int):
        return reader.tooth(part)
    text = str(part)
    if text[:2].isdigit():
        return reader.site(text)
    for field in ("place", "nature", "seat"):
        if reader.words.has(f"choices.{field}.{text}"):
            return reader.choice(field, text)
    return text


def _quoted(entry: Entry, case: Case | None, reader: Reader) -> str:
    return reader.say("entries.quoted", said=_statement(entry, case, reader))


def _statement(entry: Entry, case: Case | None, reader: Reader) -> str:
    """Return the bare statement: the kind's sentence, then a clause for each detail it has."""
    if isinstance(entry.body, Unknown):
        return reader.say("entries.unknown", person=entry.person, kind=entry.kind)
    entry = _worked_out(entry, case)
    params = _params(entry, case, reader)
    said = reader.say(f"entries.{entry.kind}.said", **params)
    return said + "".join(reader.say(key, **params) for key in _clauses(entry, reader))


def _worked_out(entry: Entry, case: Case | None) -> Entry:
    """Return a re-mount that was only read with its figures: it is told as any other."""
    figures = case.worked_out.get(entry.id) if case else None
    return replace(entry, kind="remounted", body=figures) if figures else entry


def _clauses(entry: Entry, reader: Reader) -> list[str]:
    """Return the keys of the clauses: `with_<field>` of what is given, `without_<field>` of what is not."""
    found = []
    for field in fields(entry.body):
        given = getattr(entry.body, field.name) not in (None, "", (), False)
        key = f"entries.{entry.kind}.{'with' if given else 'without'}_{field.name}"
        found += [key] if reader.words.has(key) else []
    return found


def _params(entry: Entry, case: Case | None, reader: Reader) -> dict[str, str]:
    body = entry.body
    params = {field.name: _field(entry, field.name, case, reader) for field in fields(body)}
    params |= {"person": entry.person, "at_setting": _setting(entry.setting, case, reader)}
    surface = getattr(body, "surface", None)
    if surface is not None:
        params["site"] = reader.site(f"{getattr(body, 'tooth', '')}{surface}")
    if isinstance(body, SettingTaken):
        params["tilt"] = tilt_in_words(body, reader, _arch(case))
        params["number"] = _setting(entry.id, case, reader)
    return params


def _field(entry: Entry, name: str, case: Case | None, reader: Reader) -> str:
    value = getattr(entry.body, name)
    own = _OWN.get((entry.kind, name)) or _OWN.get(("", name))
    if own:
        return own(entry, value, case, reader)
    if isinstance(value, bool):
        return reader.choice("yes_no", value)
    if isinstance(value, str) and is_entry_id(value):
        return _noun(value, case, reader)
    return reader.shown(name, value)


def _known(entry_id: str, case: Case | None) -> Entry | None:
    return case.by_id.get(entry_id) if case else None


def _noun(entry_id: str, case: Case | None, reader: Reader) -> str:
    """Return an entry as something spoken of: `the undercut of 34 MB that AM read`."""
    entry = _known(entry_id, case)
    if entry is None:
        return reader.say("entries.not_here")
    if isinstance(entry.body, Unknown):
        return reader.say("entries.unknown_noun", person=entry.person, kind=entry.kind)
    # What the entry speaks of in its turn is left out: entries can name each other in a ring.
    return reader.say(f"entries.{entry.kind}.noun", **_params(entry, None, reader))


def _setting(setting_id: str | None, case: Case | None, reader: Reader) -> str:
    found = case.setting_of(setting_id) if case else None
    return reader.setting(found.number if found else None)


def _arch(case: Case | None) -> Arch | None:
    opened = case.said(CaseOpened) if case else ()
    return opened[0].body.arch if opened else None


Own = Callable[[Entry, object, "Case | None", Reader], str]


def _nouns(entry: Entry, value: object, case: Case | None, reader: Reader) -> str:
    return reader.listed(_noun(key, case, reader) for key in _texts(value))


def _count(entry: Entry, value: object, case: Case | None, reader: Reader) -> str:
    return reader.counted("entries.count", len(_texts(value)))


def _covered(entry: Entry, value: object, case: Case | None, reader: Reader) -> str:
    """Return the sites and teeth that an overruling's keys name, each once."""
    subjects = [key.split(":", 2)[-1] for key in _texts(value)]
    shown = [_subject(text, reader) for text in subjects]
    return reader.listed(dict.fromkeys(one for one in shown if one))


def _subject(text: str, reader: Reader) -> str:
    try:
        return reader.tooth(int(text)) if len(text) == 2 else reader.site(text)
    except (NoSuchSite, NoSuchTooth, ValueError):
        return ""


def _policy_item(entry: Entry, value: object, case: Case | None, reader: Reader) -> str:
    item = str(value)
    if item in RULES:
        return reader.say("entries.rule", rule=item, name=rule_name(item, reader))
    return reader.choice("policy", item)


def _policy_value(entry: Entry, value: object, case: Case | None, reader: Reader) -> str:
    number = NUMBERS.get(str(getattr(entry.body, "item", "")))
    if number is None:
        return reader.choice("policy_value", value)
    return reader.say("choices.figure.plain", value=value, unit=reader.choice("unit", number.unit))


def _with_unit(entry: Entry, value: object, case: Case | None, reader: Reader) -> str:
    if value is None:
        return ""
    in_degrees = getattr(entry.body, "unit", "mm") == "deg"
    return reader.shown("reading_deg" if in_degrees else "reading_mm", value)


def _names(entry: Entry, value: object, case: Case | None, reader: Reader) -> str:
    return reader.listed(_texts(value))


def _photo(entry: Entry, value: object, case: Case | None, reader: Reader) -> str:
    """Return a photo as something spoken of, by the entry that kept it."""
    kept = photo_of(case, str(value)) if case else None
    if kept is None:
        return reader.say("entries.a_photo")
    return _noun(kept.entry.id, case, reader)


def _marks(entry: Entry, value: object, case: Case | None, reader: Reader) -> str:
    """Return for each mark how its place was come by: `A as found, B moved and C moved`."""
    pairs = zip("ABC", _texts(value), strict=False)
    return reader.listed(f"{mark} {reader.choice('came', came)}" for mark, came in pairs)


def _shapes(entry: Entry, value: object, case: Case | None, reader: Reader) -> str:
    return reader.counted("entries.shapes", len(_texts(value)))


def _texts(value: object) -> tuple[str, ...]:
    return tuple(str(one) for one in value) if isinstance(value, Iterable) else ()


_OWN: dict[tuple[str, str], Own] = {
    ("", "code"): lambda entry, value, case, reader: shown_code(str(value)),
    ("", "settles"): _nouns,
    ("", "grounds"): _count,
    ("", "entries"): _count,
    ("", "covers"): _covered,
    ("", "item"): _policy_item,
    ("", "casts"): _names,
    ("", "technicians"): _names,
    ("photo_marks_confirmed", "sha256"): _photo,
    ("photo_marks_confirmed", "came"): _marks,
    ("photo_drawn", "sha256"): _photo,
    ("photo_drawn", "shapes"): _shapes,
    ("policy_set", "value"): _policy_value,
    ("overruled", "rule"): _policy_item,
    ("case_opened", "number"): lambda entry, value, case, reader: str(value),
    ("instrument_checked", "reading"): _with_unit,
    ("instrument_checked", "reference"): _with_unit,
}
