"""What a survey sheet says, worked out once for the page and for the paper."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bench.core.entries import (
    CastReceived,
    DisinfectionRecorded,
    IndirectRetainerWished,
    PrescriptionRecorded,
    Remounted,
    SettingTaken,
)
from bench.core.ids import shown_code
from bench.core.release import State, Verdict, state_of
from bench.core.rules.records import tripod_photos
from bench.core.survey import Survey
from bench.core.tilt import Tilt, total_deg
from bench.pictures.label import label_address
from bench.sheets import findings
from bench.sheets.against import reasons
from bench.sheets.blocks import Block, Note, Pair
from bench.sheets.markedmap import MarkedMap, marked_map
from bench.words.reader import Reader
from bench.words.wording import kennedy_in_words, tilt_in_words

When = Callable[[str], str]
CAUTIONS = ("not_disinfected", "dust", "sharp", "estimate", "repeat")


@dataclass(frozen=True)
class Facts:
    """A survey sheet in the reader's words.

    `status` begins with NOT RELEASED unless the release stands; `photo` is the SHA-256 of the tripod's
    newest photo. Blocks come in the order they are read; those of the `middle` go beside the map where
    there is room, else below it.
    """

    code: str
    number: str
    address: str
    title: str
    state: State
    status: str
    about: tuple[Pair, ...]
    marked: MarkedMap
    setting: Block
    tripod: Block
    photo: str | None
    right: tuple[Block, ...]
    middle: tuple[Block, ...]
    below: tuple[Block, ...]
    cautions: tuple[str, ...]
    decides: str
    recorded: str
    signature: tuple[str, ...]

    @property
    def released(self) -> bool:
        """Whether the cast is released and what the release rests on still stands."""
        return self.state == "released"

    @property
    def shown_code(self) -> str:
        """The label code as people read it."""
        return shown_code(self.code)


def facts_of(
    survey: Survey, verdict: Verdict, reader: Reader, *, when: When, base_url: str, printed: str
) -> Facts:
    """Return what the sheet of a survey says.

    `when` tells a time of the log on the lab's clock, `printed` the time of printing; `base_url` goes
    into the square. Raises BadLabel for an address no square can hold.
    """
    case, state = survey.case, state_of(survey.case, verdict)
    photos = tripod_photos(survey)
    return Facts(
        code=case.code, number=case.opened.body.number,
        address=label_address(base_url, case.code), title=reader.say("sheet.title"), state=state,
        status=status_in_words(survey, verdict, state, reader, when), about=about(survey, reader),
        marked=marked_map(survey, reader), setting=setting(survey, reader),
        tripod=findings.tripod(survey, reader), photo=photos[-1].sha256 if photos else None,
        right=tuple(part(survey, reader) for part in (
            findings.changes, findings.planes, findings.tips, findings.retention)),
        middle=(findings.lines(survey, reader), findings.interferences(survey, reader)),
        below=(against(verdict, reader),),
        cautions=tuple(reader.say(f"cautions.{key}") for key in CAUTIONS if _applies(key, survey)),
        decides=reader.say("cautions.decides"), recorded=recorded(survey, reader, when, printed),
        signature=tuple(reader.say(f"sheet.sign.{key}") for key in ("dentist", "date", "changes")),
    )  # fmt: skip


def _applies(caution: str, survey: Survey) -> bool:
    known = survey.case.latest(DisinfectionRecorded)
    return caution != "not_disinfected" or known is None or known.body.status != "disinfected"


def status_in_words(
    survey: Survey, verdict: Verdict, state: State, reader: Reader, when: When
) -> str:
    """Return whether the cast is released, by whom and when, or that it is not and why."""
    release = survey.case.release
    by = {"person": release.entry.person, "at": when(release.entry.at)} if release else {}
    if state in ("released", "recalled"):
        return reader.say(f"sheet.status.{state}", **by)
    if state == "ready":
        return reader.say("sheet.status.ready")
    return reader.counted("sheet.status.stopped", len(verdict.blocking))


def about(survey: Survey, reader: Reader) -> tuple[Pair, ...]:
    """Return what the case is: cast, class, prescription, teeth and wishes."""
    case, teeth = survey.case, survey.case.teeth
    retainers = [said.body.tooth for said in case.said(IndirectRetainerWished)]
    pairs = (
        ("cast", reader.say("sheet.about.cast_is", arch=reader.choice("arch", case.arch),
                            kind=reader.choice("cast_kind", case.opened.body.cast_kind))),
        ("kennedy", kennedy_in_words(survey.kennedy, reader).title),
        ("prescription", _prescription(survey, reader)),
        ("received", _received(survey, reader)),
        ("missing", reader.teeth(teeth.missing)),
        ("replaced", reader.teeth(teeth.replaced)),
        ("extractions", reader.teeth(teeth.extractions) if teeth.extractions else ""),
        ("rests", reader.teeth(survey.rests)),
        ("retainers", reader.teeth(retainers) if retainers else ""),
    )  # fmt: skip
    return tuple((reader.say(f"sheet.about.{key}"), value) for key, value in pairs if value)


def _prescription(survey: Survey, reader: Reader) -> str:
    said = survey.case.latest(PrescriptionRecorded)
    if said is None:
        return reader.say("sheet.at.missing")
    return reader.say("sheet.about.dated", reference=said.body.reference, dated=said.body.dated)


def _received(survey: Survey, reader: Reader) -> str:
    cast, status = survey.case.latest(CastReceived), survey.case.latest(DisinfectionRecorded)
    sound = (
        reader.choice("soundness", cast.body.soundness) if cast else reader.say("sheet.at.missing")
    )
    known = status.body.status if status else "unknown"
    return reader.say("sheet.about.as_received", sound=sound,
                      disinfection=reader.say(f"sheet.disinfection.{known}"))  # fmt: skip


def setting(survey: Survey, reader: Reader) -> Block:
    """Return the setting the findings belong to: tilt, instrument, whether final, the last re-mount."""
    title, now = reader.say("sheet.setting.title"), survey.case.now
    if now is None:
        return Block(
            "setting", title, notes=(Note(reader.say("sheet.setting.missing"), "stopped"),)
        )
    final = "final" if now.final else "not_final"
    name = reader.say(f"sheet.setting.{final}", setting=reader.setting(now.number))
    pairs = [
        (reader.say("sheet.setting.name"), name),
        (reader.say("sheet.setting.tilt"), tilt_in_words(now, reader, survey.case.arch)),
        *_angles(survey, reader), *_remount(survey, reader),
    ]  # fmt: skip
    notes = () if now.final else (Note(reader.say("sheet.setting.warn"), "stopped"),)
    return Block("setting", title, pairs=tuple(pairs), notes=notes)


def _angles(survey: Survey, reader: Reader) -> list[Pair]:
    now = survey.case.now
    body = now.entry.body if now else None
    if not isinstance(body, SettingTaken) or body.ap_deg is None or body.lat_deg is None:
        return []
    total = reader.angle(round(total_deg(Tilt(body.ap_deg, body.lat_deg)), 1))
    instrument = body.instrument or reader.say("sheet.setting.unnamed")
    read_to = reader.angle(body.resolution_deg or 0.0)
    return [
        (reader.say("sheet.setting.total"), total),
        (reader.say("sheet.setting.instrument"),
         reader.say("sheet.setting.read_to", instrument=instrument, resolution=read_to)),
    ]  # fmt: skip


def _remount(survey: Survey, reader: Reader) -> list[Pair]:
    said, now = survey.case.latest(Remounted), survey.case.now
    if said is None or now is None or said.entry.id < now.id:
        return []
    body = said.body
    key = "sheet.setting.inside" if body.passes else "sheet.setting.outside"
    words = reader.say(key, off=reader.angle(round(body.total_deg, 2)),
                       tolerance=reader.angle(body.tolerance_deg), person=said.entry.person)  # fmt: skip
    return [(reader.say("sheet.setting.remount"), words)]


def against(verdict: Verdict, reader: Reader) -> Block:
    """Return what stops the release, what was overruled and why, and the warnings."""
    notes = reasons(verdict, reader) or (Note(reader.say("sheet.against.nothing"), "done"),)
    return Block("against", reader.say("sheet.against.title"), notes=notes)


def recorded(survey: Survey, reader: Reader, when: When, printed: str) -> str:
    """Return who recorded, when the last entry was made, and when this was printed."""
    entries = survey.case.entries
    people = reader.listed(sorted({entry.person for entry in entries}))
    last = max(entry.at for entry in entries)
    return reader.say("sheet.recorded", people=people, last=when(last), printed=printed)
