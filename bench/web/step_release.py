"""The step of release: what blocks and what warns, overruling, the release itself, and a recall."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from flask import current_app, render_template, url_for

from bench.core.case import Said
from bench.core.entries import Entry, Released
from bench.core.release import Judged, State, grounds, state_of
from bench.core.steps import STEPS
from bench.core.surfaces import Site, site_from
from bench.web import seats, telling
from bench.web.roles import RANK
from bench.web.steps import StepPage, renders
from bench.words.wording import (
    entry_in_words,
    fate_in_words,
    overruling_in_words,
    reason_in_words,
    rule_name,
)

SHEET = "sheet.sheet"
MOST_SHOWN = 6


@dataclass(frozen=True)
class ReasonLine:
    """One judged reason in words, with the way to where it is settled and what it rests on."""

    judged: Judged
    sentence: str
    remedy: str
    name: str
    source: str
    href: str
    place: str
    rests_on: tuple[str, ...]
    more: int

    @property
    def rule(self) -> str:
        """The rule's code."""
        return self.judged.reason.rule

    @property
    def key(self) -> str:
        """The reason's stable name: what an overruling covers."""
        return self.judged.reason.key

    @property
    def overruled_by(self) -> str:
        """Who overruled it and why; nothing where nobody did."""
        return overruling_in_words(self.judged, telling.reader())

    @property
    def overruling_id(self) -> str:
        """The entry of the overruling."""
        return self.judged.overruling.entry.id if self.judged.overruling else ""


@dataclass(frozen=True)
class ReleaseView:
    """What the page of release shows besides its frame."""

    page: StepPage

    @cached_property
    def state(self) -> State:
        """The state of the case."""
        return state_of(self.page.case, self.page.verdict)

    @cached_property
    def blocking(self) -> tuple[ReasonLine, ...]:
        """What keeps the cast from design."""
        return self._lines(self.page.verdict.blocking)

    @cached_property
    def warning(self) -> tuple[ReasonLine, ...]:
        """What only warns."""
        return self._lines(self.page.verdict.of("warns"))

    @cached_property
    def overruled(self) -> tuple[ReasonLine, ...]:
        """What a supervisor overruled at the present setting."""
        return self._lines(self.page.verdict.of("overruled"))

    @property
    def grounds(self) -> tuple[str, ...]:
        """What a release made now rests on."""
        return grounds(self.page.case)

    @property
    def release(self) -> Said[Released] | None:
        """The newest release that stands and was not taken back to the bench."""
        return self.page.case.release

    @property
    def again(self) -> bool:
        """Whether the cast was released before and taken back to the bench."""
        return bool(self.page.case.said(Released))

    @property
    def released_at(self) -> str:
        """Day and hour of that release."""
        at = self.release.entry.at if self.release else ""
        return f"{telling.day(at)} {telling.minute(at)}" if at else ""

    @property
    def gone(self) -> tuple[str, ...]:
        """What the release rested on and what became of it."""
        before = self.release.body.grounds if self.release else ()
        now, case, reader = set(self.grounds), self.page.case, telling.reader()
        fallen = [case.by_id[key] for key in before if key not in now and key in case.by_id]
        return tuple(
            f"{entry_in_words(one, case, reader)} {fate_in_words(one, case, reader)}"
            for one in fallen
        )

    @property
    def come(self) -> tuple[str, ...]:
        """What was recorded since and stands."""
        before = set(self.release.body.grounds) if self.release else set()
        return self._told(key for key in self.grounds if key not in before)

    @property
    def supervisor(self) -> bool:
        """Whether a supervisor is signed in."""
        return self._at_least("supervisor")

    @property
    def may_release(self) -> bool:
        """Whether the person signed in releases: technician or supervisor, when nothing blocks."""
        return self._at_least("technician") and self.page.verdict.may_release

    @property
    def sheet_href(self) -> str | None:
        """The address of the survey sheet."""
        known = SHEET in current_app.view_functions
        return url_for(SHEET, code=self.page.code) if known else None

    def _at_least(self, role: str) -> bool:
        person = seats.person()
        return person is not None and RANK[person.role] >= RANK[role]

    @property
    def mine_to_confirm(self) -> tuple[Entry, ...]:
        """What a tablet recorded in the name of whoever is signed in, without the PIN."""
        person = seats.person()
        here = self.page.case.unconfirmed
        return tuple(one for one in here if person is not None and one.person == person.initials)

    @property
    def mine_in_words(self) -> tuple[str, ...]:
        """The same as sentences."""
        return self._told(one.id for one in self.mine_to_confirm)

    def _lines(self, judged: Iterable[Judged]) -> tuple[ReasonLine, ...]:
        return tuple(self._line(one) for one in judged)

    def _line(self, judged: Judged) -> ReasonLine:
        reader, reason = telling.reader(), judged.reason
        said = reason_in_words(judged, reader)
        href, place = self._way(judged)
        told = self._told(reason.entries)
        return ReasonLine(
            judged, said.sentence, said.remedy, rule_name(reason.rule, reader), said.source, href, place,
            told[:MOST_SHOWN], max(0, len(told) - MOST_SHOWN),
        )  # fmt: skip

    def _told(self, keys: Iterable[str]) -> tuple[str, ...]:
        case, reader = self.page.case, telling.reader()
        return tuple(
            entry_in_words(case.by_id[key], case, reader) for key in keys if key in case.by_id
        )

    def _way(self, judged: Judged) -> tuple[str, str]:
        """Return where a reason is settled: its step at its site, or the trail for what disagrees."""
        reader, step = telling.reader(), judged.reason.step
        if step not in STEPS:
            return url_for("trail.trail", code=self.page.code), reader.say("releasepage.to_trail")
        title = reader.say(f"rail.{step}.title")
        site = _site_of(judged.reason.subject)
        if site is None:
            return url_for("steps.step_page", code=self.page.code, step=step), title
        address = url_for(
            "steps.step_page",
            code=self.page.code,
            step=step,
            tooth=site.tooth,
            surface=site.surface,
        )
        return address, reader.say(
            "releasepage.at_site", step=title, site=site.shown(reader.numbering)
        )


def _site_of(subject: str) -> Site | None:
    try:
        return site_from(subject)
    except ValueError:
        return None


@renders("release")
def release(page: StepPage) -> str:
    """Render the page of release."""
    return render_template("steps/release.html", page=page, view=ReleaseView(page))
