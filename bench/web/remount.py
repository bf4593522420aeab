"""The page of a re-mount: the record, what is read now, how far off the cast is, and which edge to lower."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from flask import (
    Blueprint,
    Response,
    abort,
    make_response,
    redirect,
    render_template,
    request,
    url_for,
)

from bench.core.backagain import answered, fourth_in, fourth_said, setting_held
from bench.core.bounds import BadEntry
from bench.core.case import Case, Reading, Setting
from bench.core.entries import (
    CaseOpened,
    Entry,
    FourthMarkMade,
    PhotoKept,
    Remounted,
    TripodMarked,
)
from bench.core.entries.vocabulary import METHODS, SECOND_CHECKS
from bench.core.lab import Instrument
from bench.core.off import Off, off_by_lines, off_by_marks, off_by_reading, triangle_of
from bench.core.refusal import Refusal
from bench.core.rules.records import tripod_photos
from bench.core.tilt import Tilt
from bench.store.refusals import AlreadyRecorded
from bench.web import book, clock, htmx, seats, speech, telling
from bench.web.forms import Form, number_from
from bench.web.offtold import (
    Told,
    precision_in_words,
    residual_of,
    table_of,
    told,
    told_of_round,
)
from bench.web.record import record, stamps
from bench.web.recording import faults_of
from bench.web.roles import RANK, least
from bench.web.step_tripod import Shown, shown
from bench.web.stepforms import FieldsSeen
from bench.web.steps import UNDO_MS, StepPage
from bench.words.wording import tilt_in_words

blueprint = Blueprint("remount", __name__)

HEIGHTS = ("h_a_mm", "h_b_mm", "h_c_mm")
FOURTH = "h_d_mm"
ANGLES = ("ap_deg", "lat_deg")
LIMITS = {
    **dict.fromkeys((*HEIGHTS, FOURTH), (-50.0, 50.0, "mm")),
    **dict.fromkeys(ANGLES, (-45.0, 45.0, "degrees")),
}
TURN = "a_turn_deg"
ROUNDS = 6
Words = dict[str, str]


class Unread(ValueError):
    """Readings that tell nothing yet: for each field at fault its words; none where it is only blank."""

    def __init__(self, words: Words) -> None:
        super().__init__(", ".join(words))
        self.words = words


@dataclass(frozen=True)
class RemountView:
    """What the page of a re-mount shows besides its frame."""

    page: StepPage
    typed: Mapping[str, str]
    words: Words

    @property
    def case(self) -> Case:
        """The case."""
        return self.page.case

    @cached_property
    def reading(self) -> Reading[TripodMarked] | None:
        """The tripod that counts, whatever its setting."""
        return self.page.survey.tripod

    @property
    def setting(self) -> Setting | None:
        """The setting the record brings back."""
        return setting_held(self.page.survey)

    @property
    def of_this_setting(self) -> bool:
        """Whether that is the setting the cast is surveyed at now."""
        return (
            self.setting is not None
            and self.case.now is not None
            and self.setting.id == self.case.now.id
        )

    @property
    def setting_words(self) -> str:
        """The setting to bring back, by number and tilt."""
        if self.setting is None:
            return telling.reader().setting(None)
        return speech.say(
            "remount.setting", name=telling.reader().setting(self.setting.number),
            tilt=tilt_in_words(self.setting, telling.reader(), self.case.arch),
        )  # fmt: skip

    @property
    def methods(self) -> list[tuple[str, str]]:
        """The ways open: marks where there are any, an inclinometer where the setting has angles."""
        angles = self.setting is not None and self.setting.ap_deg is not None
        ways = {"tripod": self.reading is not None, "inclinometer": angles}
        reader = telling.reader()
        return [(way, reader.choice("method", way)) for way in METHODS if ways.get(way, True)]

    @property
    def method(self) -> str:
        """The way chosen: by the marks unless another is."""
        open_ways = [way for way, _ in self.methods]
        asked = self.typed.get("method", "")
        return asked if asked in open_ways else open_ways[0]

    @property
    def photos(self) -> tuple[PhotoKept, ...]:
        """The photos of the marks, newest first."""
        return tripod_photos(self.page.survey)[::-1]

    @property
    def shown(self) -> Shown | None:
        """The triangle as the cast lies, None without a tripod."""
        if self.reading is None:
            return None
        turn_deg = _turn(self.typed)
        fourth_mm = fourth_in(self.page.survey, turn_deg)
        return shown(triangle_of(self.reading.body), 90.0 - turn_deg, fourth_mm)

    @cached_property
    def fourth(self) -> FourthMarkMade | None:
        """The fourth mark of the tripod, None without one."""
        said = fourth_said(self.page.survey)
        return said.body if said else None

    @property
    def names(self) -> list[tuple[str, str]]:
        """What a tablet names beside its readings, as hidden fields: all that the figures rest on."""
        fourth, held = fourth_said(self.page.survey), self.setting
        tolerance_deg = self.page.lab.policy.number("remount_tolerance_deg")
        named = {
            "brings_back": held.id if held else "", "tolerance_deg": f"{tolerance_deg:g}",
            "fourth": fourth.entry.id if fourth else "",
        }  # fmt: skip
        disturbed = [("answers", said.entry.id) for said in self.case.disturbances]
        return [*named.items(), *disturbed]

    @property
    def heights(self) -> tuple[str, ...]:
        """The fields of the heights that are read: three, or four where there is a fourth mark."""
        return (*HEIGHTS, FOURTH) if self.fourth else HEIGHTS

    @property
    def told(self) -> Told | None:
        """How far off, None while too little is typed."""
        try:
            off = off_of(self)
        except Unread:
            return None
        read = _numbers(self.typed, self.heights) if self.method == "tripod" else ()
        return told(self.page, off, residual_of(self.page.survey, read))

    @property
    def table(self) -> Instrument | None:
        """The table the cast lies on: the one it was mounted on, else the only one in service."""
        return table_of(self.page)

    @property
    def precision(self) -> str:
        """How finely the way chosen tells the tilt, in words."""
        return precision_in_words(self.page, self.method)

    @property
    def fields(self) -> FieldsSeen:
        """What was typed, as the controls of a step ask for it."""
        return FieldsSeen(self.typed, self.words)

    @property
    def second_checks(self) -> list[tuple[str, str]]:
        """The second means of checking as keys; the way chosen first is no second one."""
        say = telling.reader().choice
        return [(one, say("second_check", one)) for one in SECOND_CHECKS if one != self.method]

    @property
    def tolerance_words(self) -> str:
        """The lab's tolerance."""
        policy, angle = self.page.lab.policy, telling.reader().angle
        within, above = (
            policy.number("remount_tolerance_deg"),
            policy.number("remount_repeat_above_deg"),
        )
        return speech.say("remount.tolerance", within=angle(within), above=angle(above))

    @property
    def rounds(self) -> list[tuple[Entry, str, Told]]:
        """The last re-mounts, newest first: entry, time and what each told."""
        made = self.case.said(Remounted)[: -ROUNDS - 1 : -1]
        return [
            (one.entry, telling.lately(one.entry.at), told_of_round(self.page, one.body))
            for one in made
        ]

    @property
    def may_record(self) -> bool:
        """Whether the person signed in records."""
        person = seats.person()
        return person is not None and RANK[person.role] >= RANK["technician"]


def off_of(view: RemountView) -> Off:
    """Return how far off the cast is by what was typed; raise Unread where that tells nothing."""
    if view.method == "tripod":
        return _by_marks(view)
    ap_deg, lat_deg = _numbers(view.typed, ANGLES)
    if view.method == "scored_lines":
        return off_by_lines(ap_deg, lat_deg)
    setting = view.setting
    wanted = Tilt(setting.ap_deg or 0.0, setting.lat_deg or 0.0) if setting else Tilt(0.0, 0.0)
    return off_by_reading(Tilt(ap_deg, lat_deg), wanted)


def _by_marks(view: RemountView) -> Off:
    assert view.reading is not None
    heights = _numbers(view.typed, view.heights)
    try:
        return off_by_marks(view.reading.body, heights, _turn(view.typed), view.fourth)
    except Refusal as refused:
        raise Unread({"h_c_mm": speech.say("remount.too_steep", **refused.params)}) from None


def _numbers(typed: Mapping[str, str], names: tuple[str, ...]) -> list[float]:
    values: list[float] = []
    words: Words = {}
    for name in names:
        try:
            values.append(_number(name, typed.get(name, "").strip()))
        except BadEntry as bad:
            words[name] = speech.say(
                f"remount.fault.{bad.code}", what=speech.say(f"remount.{name}"), **bad.params
            )
    if words:
        raise Unread(words)
    return values


def _number(name: str, text: str) -> float:
    if not text:
        raise BadEntry(name, "missing")
    value = number_from(name, text)
    low, high, unit = LIMITS[name]
    if not low <= value <= high:
        raise BadEntry(name, "out_of_range", value=text, low=low, high=high, unit=unit)
    return value


def _turn(typed: Mapping[str, str]) -> float:
    try:
        return number_from(TURN, typed.get(TURN, "").strip())
    except BadEntry:
        return 0.0


@blueprint.get("/case/<code>/remount")
@least("reader")
def remount(code: str) -> Response:
    """Show the record of a cast and take what is read now; `said` names the re-mount just recorded."""
    case = _opened(code)
    said = case.by_id.get(request.args.get("said", ""))
    person = seats.person()
    mine = said is not None and person is not None and said.person == person.initials
    fresh = said is not None and mine and clock.age_ms(said.at) < UNDO_MS
    return _page(case, request.args, {}, said=said if fresh else None)


@blueprint.get("/case/<code>/remount/off")
@least("technician")
def off(code: str) -> str:
    """Show how far off the typed readings are; nothing is recorded."""
    view = _view(_opened(code), request.args, {})
    return render_template("remount/off.html", view=view)


@blueprint.post("/case/<code>/remount/look")
@least("technician")
def look(code: str) -> Response:
    """Show the whole page with how far off the typed readings are, for a browser without scripts."""
    return _page(_opened(code), request.form, {})


@blueprint.post("/case/<code>/remount")
@least("technician")
def remounted(code: str) -> Response:
    """Record a re-mount; the figures are worked out here from what was typed."""
    case = _opened(code)
    view = _view(case, request.form, {})
    try:
        entry = record(
            _body(view), case=case.code, setting=view.page.setting,
            entry_id=request.form.get("entry_id") or None,
        )  # fmt: skip
    except Unread as unread:
        return _page(case, request.form, unread.words, 422)
    except (BadEntry, AlreadyRecorded) as refused:
        faults = faults_of(refused)
        return _page(case, request.form, {n: speech.say_fault(n, faults[n]) for n in faults}, 422)
    if htmx.asked_by_htmx():
        return _page(_opened(code), {}, {}, said=entry)
    return make_response(redirect(url_for("remount.remount", code=case.code, said=entry.id), 303))


def _body(view: RemountView) -> Remounted:
    _still_as_seen(view)
    off, form = off_of(view), request.form
    tolerance_deg = view.page.lab.policy.number("remount_tolerance_deg")
    by_marks = view.method == "tripod"
    return Remounted(
        method=view.method, ap_deg=round(off.ap_deg, 4), lat_deg=round(off.lat_deg, 4),
        total_deg=round(off.total_deg, 4), tolerance_deg=tolerance_deg,
        heights_mm=tuple(_numbers(form, view.heights)) if by_marks else (),
        tripod=view.reading.entry.id if by_marks and view.reading else None,
        surveyor=form.get("surveyor", "").strip(), second_check=form.get("second_check") or "none",
        settles=_settles(view, off, tolerance_deg), instrument=_angles_read_with(view),
    )  # fmt: skip


def _angles_read_with(view: RemountView) -> str:
    return request.form.get("instrument", "").strip() if view.method == "inclinometer" else ""


def _settles(view: RemountView, off: Off, tolerance_deg: float) -> tuple[str, ...]:
    again = _recorded_before(view.case)
    if again is not None:
        return again.settles
    return answered(view.case, off, tolerance_deg, of_this_setting=view.of_this_setting)


def _recorded_before(case: Case) -> Remounted | None:
    """Return what the first tap of the same form recorded."""
    form_id = request.form.get("entry_id", "")
    entry = case.by_id.get(stamps().stamped(form_id)) if form_id else None
    return entry.body if entry is not None and isinstance(entry.body, Remounted) else None


def _still_as_seen(view: RemountView) -> None:
    """Refuse readings of a page that showed other marks or another setting than stand now."""
    marks = view.reading.entry.id if view.reading else ""
    seen = (request.form.get("tripod", ""), request.form.get("setting", ""))
    if seen != (marks, view.page.setting or ""):
        raise Unread({"tripod": speech.say("remount.out_of_date")})


def _opened(code: str) -> Case:
    case = book.case_of(code)
    if not case.said(CaseOpened) or case.now is None:
        abort(404)
    return case


def _view(
    case: Case, typed: Mapping[str, str], words: Words, said: Entry | None = None
) -> RemountView:
    return RemountView(StepPage("tripod", case, book.lab(), None, {}, said), typed, words)


def _page(
    case: Case,
    typed: Mapping[str, str] | Form,
    words: Words,
    status: int = 200,
    said: Entry | None = None,
) -> Response:
    view = _view(case, typed, words, said)
    status = 409 if "tripod" in words else status
    answer = make_response(
        render_template("remount/remount.html", page=view.page, view=view), status
    )
    return htmx.with_event(answer, "recorded", {"id": said.id}) if said else answer
