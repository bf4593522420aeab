"""The findings of a survey in the tables and notes of its sheet; stale and missing marked in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from bench.core.case import Reading
from bench.core.casephotos import tripod_check
from bench.core.entries import (
    GuidePlaneRead,
    InterferenceNoted,
    InterferencesLooked,
    SurveyLinesDrawn,
    UndercutRead,
)
from bench.core.lines import signed_distance_mm
from bench.core.off import triangle_of
from bench.core.retention import Tip, judge_balance, resultant
from bench.core.rules.balance import exemption_holds
from bench.core.rules.records import hold_of, tripod_photos
from bench.core.surfaces import Site, site_from
from bench.core.survey import CountedTip, Survey
from bench.core.teeth import place_in_arch
from bench.sheets.against import exemption
from bench.sheets.blocks import Block, Force, Note, Pair, Row, Table
from bench.words.photochecks import check_in_words
from bench.words.reader import Reader
from bench.words.wording import balance_in_words, fulcrum_in_words, resultant_in_words

_DECLARED = ("one_tip_height", "arm_locked", "table_locked", "ringed")


def at_setting(
    survey: Survey, reading: Reading[object] | None, reader: Reader, *, in_row: bool = False
) -> str:
    """Return where a reading stands: this setting, stale with the setting it was made at, or missing."""
    if reading is None:
        return reader.say("sheet.at.missing")
    if reading.current:
        return reader.say("sheet.at.here")
    made_at = survey.case.setting_of(reading.entry.setting)
    key = "sheet.at.stale_row" if in_row else "sheet.at.stale"
    return reader.say(key, setting=reader.setting(made_at.number if made_at else None))


def _row(
    cells: tuple[str, ...], survey: Survey, reading: Reading[object] | None, reader: Reader
) -> Row:
    force: Force = "stopped" if reading is None else "plain" if reading.current else "stale"
    return Row((*cells, at_setting(survey, reading, reader, in_row=True)), force)


def changes(survey: Survey, reader: Reader) -> Block:
    """Return the tooth changes asked for: what is to be taken off, and how far the plane may run."""
    asked = [one for one in _in_order(survey.planes.values()) if one.body.take_off_mm]
    alike: dict[tuple[object, ...], list[Reading[GuidePlaneRead]]] = {}
    for one in asked:
        made_at = None if one.current else one.entry.setting
        alike.setdefault((one.body.take_off_mm, one.body.run_mm, made_at), []).append(one)
    notes = tuple(_change(survey, same, reader) for same in alike.values())
    none = (Note(reader.say("sheet.changes.none")),)
    return Block("changes", reader.say("sheet.changes.title"), notes=notes or none)


def _change(survey: Survey, same: list[Reading[GuidePlaneRead]], reader: Reader) -> Note:
    body = same[0].body
    key = "sheet.changes.take_off_run" if body.run_mm is not None else "sheet.changes.take_off"
    words = reader.say(
        key, where=_where(same, reader),
        take_off=reader.length(body.take_off_mm or 0.0), run=reader.length(body.run_mm or 0.0),
    )  # fmt: skip
    if same[0].current:
        return Note(words)
    return Note(f"{words} {at_setting(survey, same[0], reader)}", "stale")


def _where(same: list[Reading[GuidePlaneRead]], reader: Reader) -> str:
    sites = [f"{one.body.tooth}{one.body.surface}" for one in same]
    if len(sites) > 1:
        return reader.sites(sites)
    name = reader.tooth_name(same[0].body.tooth)
    return reader.say("sheet.changes.named", site=reader.site(sites[0]), name=name)


def _in_order(readings: Iterable[Reading[GuidePlaneRead]]) -> list[Reading[GuidePlaneRead]]:
    return sorted(readings, key=lambda one: (place_in_arch(one.body.tooth), one.body.surface))


def planes(survey: Survey, reader: Reader) -> Block:
    """Return the guide planes wanted or read, one a line."""
    read = {
        Site(one.body.tooth, one.body.surface): one for one in _in_order(survey.planes.values())
    }
    sites = sorted(
        {*survey.plane_sites, *read}, key=lambda site: (place_in_arch(site.tooth), site.surface)
    )
    rows = tuple(_plane(survey, site, read.get(site), reader) for site in sites)
    head = tuple(
        reader.say(f"sheet.planes.{key}") for key in ("site", "light", "wedge", "take_off", "at")
    )
    return Block("planes", reader.say("sheet.planes.title"), table=Table(head, rows))


def _plane(
    survey: Survey, site: Site, reading: Reading[GuidePlaneRead] | None, reader: Reader
) -> Row:
    if reading is None:
        return _row((reader.site(site.text), "", "", ""), survey, None, reader)
    body = reading.body
    wedge = reader.say("sheet.planes.gap", gap=reader.length(body.gap_mm), height=reader.length(
        body.height_mm)) if body.gap_mm is not None and body.height_mm is not None else ""  # fmt: skip
    off = (
        reader.length(body.take_off_mm) if body.take_off_mm else reader.say("sheet.planes.nothing")
    )
    light = reader.say(f"sheet.planes.light_{body.light}")
    return _row((reader.site(site.text), light, wedge, off), survey, reading, reader)


def tips(survey: Survey, reader: Reader) -> Block:
    """Return the retentive tips with gauge, depth, arm, reciprocation and distance to the fulcrum line."""
    keys = ("tip", "gauge", "drop", "arm", "reciprocation", "fulcrum", "at")
    head = tuple(reader.say(f"sheet.tips.{key}") for key in keys)
    rows = tuple(_tip(survey, counted, reader) for counted in survey.tips)
    notes = () if rows else (Note(reader.say("sheet.tips.none"), "stopped"),)
    return Block("tips", reader.say("sheet.tips.title"), table=Table(head, rows), notes=notes)


def _tip(survey: Survey, counted: CountedTip, reader: Reader) -> Row:
    body, read = counted.tip.body, counted.reading
    material = reader.say(f"sheet.material.{body.material}")
    arm = material if body.arm_mm is None else reader.say(
        "sheet.tips.arm_of", material=material, length=reader.length(body.arm_mm))  # fmt: skip
    cells = (
        reader.site(counted.site.text), _gauge(read, reader), _drop(read, reader), arm,
        reader.say(f"sheet.reciprocation.{body.reciprocation}"), _distance(survey, counted, reader),
    )  # fmt: skip
    worst = read if read is None or not counted.tip.stale else counted.tip
    return _row(cells, survey, worst, reader)


def _gauge(read: Reading[UndercutRead] | None, reader: Reader) -> str:
    if read is None:
        return reader.say("sheet.at.missing")
    return reader.say(f"sheet.contact.{read.body.contact}", gauge=reader.length(read.body.gauge_mm))


def _drop(read: Reading[UndercutRead] | None, reader: Reader) -> str:
    return reader.length(read.body.drop_mm) if read and read.body.drop_mm is not None else ""


def _distance(survey: Survey, counted: CountedTip, reader: Reader) -> str:
    line = survey.fulcrum.line
    if line is None:
        return ""
    off_mm = signed_distance_mm(survey.model, line, Tip(*counted.site))
    key = "on" if abs(off_mm) < 0.05 else "away" if off_mm > 0 else "base"
    return reader.say(f"sheet.tips.{key}", mm=reader.number(abs(off_mm), 1))


def retention(survey: Survey, reader: Reader) -> Block:
    """Return the verdict on balance, the resultant beside it, the fulcrum line, and other undercuts read."""
    balance = judge_balance(survey.retentive)
    exempted = not balance.balanced and exemption_holds(survey)
    force: Force = "done" if balance.balanced else "plain" if exempted else "stopped"
    notes = (
        Note(balance_in_words(balance, reader), force),
        *exemption(survey, reader),
        Note(resultant_in_words(resultant(survey.model, survey.retentive), reader)),
        Note(fulcrum_in_words(survey.fulcrum, reader)),
        *_other_undercuts(survey, reader),
    )
    return Block("retention", reader.say("sheet.retention.title"), notes=notes)


def _other_undercuts(survey: Survey, reader: Reader) -> Iterator[Note]:
    tipped = {counted.site for counted in survey.tips}
    others = [one for one in survey.undercuts.values()
              if one.current and Site(one.body.tooth, one.body.surface) not in tipped]  # fmt: skip
    others.sort(key=lambda one: (place_in_arch(one.body.tooth), one.body.surface))
    told = (
        f"{reader.site(f'{one.body.tooth}{one.body.surface}')} {_gauge(one, reader)}"
        for one in others
    )
    if others:
        yield Note(reader.say("sheet.retention.others", readings="; ".join(told)))
    unread = [site.text for site in survey.undercut_sites if survey.undercut(site) is None]
    if unread:
        yield Note(reader.say("sheet.retention.unread", sites=reader.sites(unread)), "stopped")


def lines(survey: Survey, reader: Reader) -> Block:
    """Return how many of the survey lines wanted are drawn at this setting, and what is not."""
    drawn, wanted = survey.lines, [site.text for site in survey.line_sites]
    every = {str(claim[1]): reading for claim, reading in drawn.items()}
    here = [site for site in wanted if site in every and every[site].current]
    count = reader.say("sheet.lines.count", done=len(here), wanted=len(wanted))
    whole = len(here) == len(wanted)
    notes = [Note(count, "done" if whole else "stopped"), *_lines_wanting(every, wanted, reader)]
    return Block("lines", reader.say("sheet.lines.title"), notes=tuple(notes))


def _lines_wanting(
    every: Mapping[str, Reading[SurveyLinesDrawn]], wanted: list[str], reader: Reader
) -> Iterator[Note]:
    kinds = (
        ("missing", "stopped", [site for site in wanted if site not in every]),
        ("stale", "stale", [site for site in _sorted(every) if every[site].stale]),
        ("high", "stopped", [s for s in _sorted(every) if not every[s].body.lead_at_gingival]),
        ("drawn", "plain", [s for s in _sorted(every) if every[s].current]),
    )
    for key, force, sites in kinds:
        if sites:
            yield Note(reader.say(f"sheet.lines.{key}", sites=reader.sites(sites)), force)  # type: ignore[arg-type]


def _sorted(sites: Iterable[str]) -> list[str]:
    return sorted(sites, key=lambda text: (place_in_arch(site_from(text).tooth), text))


def interferences(survey: Survey, reader: Reader) -> Block:
    """Return what stands in the way of a bar, plate or flange, or that nothing was seen."""
    case = survey.case
    noted = case.readings(InterferenceNoted).values()
    unique = {one.entry.id: one for one in noted}.values()
    notes = [_interference(survey, one, reader) for one in unique]
    looked = [
        one for one in case.readings(InterferencesLooked).values() if not unique or one.current
    ]
    notes += [
        _of_reading(survey, reader.say("sheet.interferences.none_seen"), one, reader)
        for one in looked
    ]
    missing = () if notes else (Note(reader.say("sheet.interferences.missing"), "stopped"),)
    return Block("interferences", reader.say("sheet.interferences.title"), notes=(*notes, *missing))


def _interference(survey: Survey, reading: Reading[InterferenceNoted], reader: Reader) -> Note:
    body = reading.body
    words = reader.say(
        "sheet.interferences.noted", nature=reader.choice("nature", body.nature),
        place=reader.choice("place", body.place),
        tooth=reader.say("sheet.interferences.tooth", tooth=reader.tooth(body.tooth)) if body.tooth else "",
        remark=reader.say("sheet.interferences.remark", remark=body.remark.rstrip(".")) if body.remark else "",
    )  # fmt: skip
    return _of_reading(survey, words[:1].upper() + words[1:], reading, reader)


def _of_reading(survey: Survey, words: str, reading: Reading[object], reader: Reader) -> Note:
    if reading.current:
        return Note(words)
    return Note(f"{words} {at_setting(survey, reading, reader)}", "stale")


def tripod(survey: Survey, reader: Reader) -> Block:
    """Return the tripod's distances, how finely they hold the tilt, and what was seen to."""
    title, reading = reader.say("sheet.tripod.title"), survey.tripod
    if reading is None:
        return Block("tripod", title, notes=(Note(reader.say("sheet.tripod.missing"), "stopped"),))
    body = reading.body
    notes = [Note(at_setting(survey, reading, reader), "stale")] if reading.stale else []
    wanting = [name for name in _DECLARED if not getattr(body, name)]
    notes += [Note(reader.say(f"sheet.tripod.not_{name}"), "stopped") for name in wanting]
    if not wanting:
        notes.append(Note(reader.say("sheet.tripod.seen_to")))
    if not tripod_photos(survey):
        notes.append(Note(reader.say("sheet.tripod.no_photo"), "stopped"))
    notes += _photo_notes(survey, reader)
    pairs = _tripod_pairs(survey, reader)
    return Block("tripod", title, pairs=pairs, notes=tuple(notes))


def _photo_notes(survey: Survey, reader: Reader) -> list[Note]:
    """Say what the photo of the marks says of the caliper's distances, once its marks are confirmed."""
    check = tripod_check(survey)
    if check is None:
        return []
    words = check_in_words(check, reader)
    force: Force = (
        "plain" if words.mark == "done" else "stale" if words.mark == "warns" else "stopped"
    )
    return [Note(reader.say("sheet.tripod.photo", said=words.said), force)]


def _tripod_pairs(survey: Survey, reader: Reader) -> tuple[Pair, ...]:
    assert survey.tripod is not None
    body = survey.tripod.body
    held = hold_of(triangle_of(body), survey.lab)
    figures = {
        name: reader.length(getattr(body, f"{name}_mm")) for name in ("d_ab", "d_ac", "d_bc")
    }
    finely = {"worst": reader.angle(round(held.worst_deg, 2)), "best": reader.angle(round(held.best_deg, 2)),
              "total": reader.angle(round(held.total95_deg, 1))}  # fmt: skip
    return (
        (reader.say("sheet.tripod.distances"), reader.say("sheet.tripod.figures", **figures)),
        (reader.say("sheet.tripod.turn"), reader.choice("sense", body.sense)),
        (reader.say("sheet.tripod.repeats"), reader.say("sheet.tripod.finely", **finely)),
    )
