"""Trying tilts: what each wished site and guide plane would come to, the tilt found, and the map."""

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

from bench.core.bounds import BadEntry
from bench.core.finder import FoundTilt, find_tilt
from bench.core.remark import Remark
from bench.core.survey import Survey
from bench.core.tilt import Tilt, TiltTooSteep, total_deg
from bench.core.whatif import PlaneThen, SiteThen, planes_then, settable, sites_then
from bench.core.wishes import Wishes, tilt_now, wishes_of
from bench.web import book, telling
from bench.web.forms import number_from
from bench.web.roles import least
from bench.web.stalefindings import current_findings
from bench.web.tiltmap import TiltPicture, tilt_picture
from bench.words.reader import Reader
from bench.words.remarks import lacking_in_words, remark_in_words
from bench.words.tilts import tilt_in_words

blueprint = Blueprint("trying", __name__)

ANGLES = ("ap_deg", "lat_deg")
DEFAULT_STEP_DEG = 0.5
_WAYS = frozenset(
    {"another_tooth", "another_surface", "shallower_gauge", "deeper_gauge", "wire_arm"}
    | {"more_than_one_change", "needs_turn", "out_of_reach"}
)
# The table beside the map tells these figure by figure.
_IN_TABLE = frozenset({"depth_becomes", "plane_becomes", "estimate"})


@dataclass(frozen=True)
class SiteRow:
    """One wished site of the table: in words."""

    site: str
    now: str
    then: str
    wanted: str
    meets: bool
    note: str


@dataclass(frozen=True)
class PlaneRow:
    """One guide plane of the table: in words."""

    site: str
    now: str
    then: str
    off: str


@dataclass(frozen=True)
class Trying:
    """The tilts of one cast: the one tried (None: no tilt is typed), the one found, the map."""

    survey: Survey
    tried: Tilt | None

    @property
    def reader(self) -> Reader:
        """The reader's words and units."""
        return telling.reader()

    @cached_property
    def wishes(self) -> Wishes:
        """What is wished of a tilt, with its readings."""
        return wishes_of(self.survey)

    @cached_property
    def found(self) -> FoundTilt:
        """The tilt found for the wishes."""
        return find_tilt(self.wishes.sites, self.wishes.planes, self.wishes.bench)

    @property
    def known(self) -> bool:
        """Whether anything can be foretold: the table has a scale, and something was read."""
        return tilt_now(self.survey) is not None and bool(self.wishes.sites or self.wishes.planes)

    @property
    def why_no_map(self) -> str:
        """Why there is no map of tilts, in words; nothing where there is one."""
        if self.known:
            return ""
        scaled = tilt_now(self.survey) is not None
        return self.reader.say("tiltmap.no_readings" if scaled else "tiltmap.no_scale")

    @cached_property
    def sites(self) -> tuple[SiteThen, ...]:
        """What the wished sites come to."""
        return sites_then(self.wishes, self.tried) if self.tried and self.known else ()

    @property
    def rows(self) -> list[SiteRow]:
        """What the wished sites come to, in words."""
        return [self._site(one) for one in self.sites]

    @property
    def plane_rows(self) -> list[PlaneRow]:
        """What the guide planes come to, in words."""
        if self.tried is None or not self.known:
            return []
        return [self._plane(one) for one in planes_then(self.wishes, self.tried)]

    def _site(self, one: SiteThen) -> SiteRow:
        say, length = self.reader.say, self.reader.length
        notes = [
            say(f"tiltmap.{name}")
            for name, holds in (("guess", one.drop_guessed), ("as_least", one.as_least))
            if holds
        ]
        return SiteRow(
            self.reader.site(one.site), length(one.now_mm).split()[0], length(one.then_mm),
            say("tiltmap.wanted", least=length(one.least_mm).split()[0]), one.meets, "; ".join(notes),
        )  # fmt: skip

    def _plane(self, one: PlaneThen) -> PlaneRow:
        say, angle = self.reader.say, self.reader.angle
        off = "off_unread" if one.take_off_mm is None else "off"
        if one.take_off_mm is not None and one.take_off_mm < 0.005:
            off = "off_none"
        return PlaneRow(
            self.reader.site(one.site), angle(round(one.now_deg, 1)), angle(round(one.then_deg, 1)),
            say(f"tiltmap.{off}", off=self.reader.length(one.take_off_mm or 0.0)),
        )  # fmt: skip

    @property
    def met(self) -> str:
        """How many wishes the tilt tried meets, in words."""
        met, count = sum(one.meets for one in self.sites), len(self.sites)
        key = "met_none" if not count else "met_all" if met == count else "met"
        return self.reader.say(f"tiltmap.{key}", met=met, count=count)

    @property
    def tried_words(self) -> str:
        """The tilt tried, in words."""
        return self._tilt(self.tried) if self.tried else ""

    def _tilt(self, tilt: Tilt) -> str:
        return tilt_in_words(tilt, self.reader, self.survey.case.arch)

    @cached_property
    def suggested(self) -> Tilt:
        """The tilt found, as the table's scale can be set to it."""
        now = self.survey.case.now
        step_deg = now.resolution_deg if now and now.resolution_deg else DEFAULT_STEP_DEG
        return settable(self.wishes, self.found, min(DEFAULT_STEP_DEG, step_deg))

    @property
    def found_words(self) -> str:
        """The tilt found, and what it gives, in words."""
        key = "found_all" if self.found.feasible else "found_none"
        limit = self.reader.angle(self.wishes.bench.limit_deg)
        return self.reader.say(f"tiltmap.{key}", tilt=self._tilt(self.suggested), limit=limit)

    @property
    def why(self) -> list[str]:
        """Why this tilt, sentence by sentence, without what the table tells."""
        return [
            remark_in_words(one, self.reader)
            for one in self.found.explanation
            if one.code not in _WAYS | _IN_TABLE
        ]

    @property
    def excluded(self) -> list[str]:
        """Which sites exclude each other, in words; nothing where none do."""
        return self._told("sites_exclude")

    @property
    def ways_free(self) -> list[str]:
        """What would free them, in words."""
        return self._told(*_WAYS)

    def _told(self, *codes: str) -> list[str]:
        told = [one for one in self.found.explanation if one.code in codes]
        return [remark_in_words(one, self.reader) for one in told]

    @property
    def lacking(self) -> list[tuple[str, str]]:
        """Which readings are lacking, each in words with the address where it is read."""
        return [
            (lacking_in_words(one, self.reader), self._where(one)) for one in self.wishes.lacking
        ]

    def _where(self, remark: Remark) -> str:
        site = str(remark.params["site"])
        step = "guide_planes" if remark.code.startswith("plane") else "undercuts"
        return url_for(
            "steps.step_page",
            code=self.survey.case.code,
            step=step,
            tooth=site[:2],
            surface=site[2:],
        )

    @property
    def becomes_stale(self) -> str:
        """How many findings a new setting makes stale, in words; nothing when none."""
        count = len(current_findings(self.survey.case))
        return self.reader.counted("steppages.tilt.becomes_stale", count) if count else ""

    @property
    def in_all(self) -> str:
        """The angle of the tilt tried in all; nothing where one axis tells it."""
        tilt = self.tried
        if tilt is None or not (tilt.ap_deg and tilt.lat_deg):
            return ""
        total = self.reader.angle(round(total_deg(tilt), 1))
        return self.reader.say("steppages.tilt.in_all", total=total)

    @property
    def steep(self) -> str:
        """What the lab thinks of so steep a tilt: `very_steep` asks a reason, `steep` warns, else nothing."""
        if self.tried is None:
            return ""
        total, number = total_deg(self.tried), self.survey.policy.number
        if total > number("tilt_asks_reason_deg"):
            return "very_steep"
        return "steep" if total > number("tilt_warns_deg") else ""

    @property
    def picture(self) -> TiltPicture:
        """The map of tilts; only where something is known."""
        case, now = self.survey.case, self.survey.case.now
        assert now is not None
        state = f"{self.tried_words}. {self.met}" if self.tried else ""
        return tilt_picture(
            self.wishes.strips, self.found, case.settings, now, self.tried or now.tilt or Tilt(0, 0),
            self.wishes.bench.limit_deg, case.arch, self.reader, state,
        )  # fmt: skip


def tried_of(values: Mapping[str, str]) -> Tilt | None:
    """Return the tilt that was typed or tried; None where that is no tilt."""
    try:
        tilt = Tilt(*(number_from(name, values.get(name, "").strip()) for name in ANGLES))
        total_deg(tilt)
    except (BadEntry, TiltTooSteep):
        return None
    return tilt


@blueprint.get("/case/<code>/tilt/tried")
@least("reader")
def tried(code: str) -> str:
    """Show what the tilt in the address would do; nothing is recorded."""
    survey = Survey(book.case_of(code), book.lab())
    if survey.case.now is None:
        abort(404)
    trying = Trying(survey, tried_of(request.args))
    reason = request.args.get("reason", "")
    return render_template("steps/tilt_tried.html", trying=trying, reason=reason, live=True)


@blueprint.post("/case/<code>/tilt/look")
@least("reader")
def look(code: str) -> Response:
    """Show the whole page with what was typed, for a browser without scripts."""
    typed = request.form
    address = url_for(
        "steps.step_page", code=book.case_of(code).code, step="tilt", ap_deg=typed.get("ap_deg"),
        lat_deg=typed.get("lat_deg"), reason=typed.get("reason"),
    )  # fmt: skip
    return make_response(redirect(address, 303))
