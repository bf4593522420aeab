"""The forms of a step's page told apart: what was typed is shown again only where it was typed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from flask import Blueprint, request

from bench.core.case import Case
from bench.core.claims import Claim, stated_by
from bench.core.entries import FINDINGS, Confirmed, Entry
from bench.core.instruments import standing_of
from bench.core.lab import Instrument
from bench.store.log import iso
from bench.web import book, clock, seats, speech
from bench.web.steps import StepPage

blueprint = Blueprint("stepforms", __name__)


@dataclass(frozen=True)
class FormSeen:
    """One form of a page; `refused` when it is the one that was sent and not taken."""

    page: StepPage
    refused: bool

    def typed(self, field: str, otherwise: object = None) -> object:
        """Return what was typed into a field when the form was refused, or else the other value."""
        return self.page.typed(field, otherwise) if self.refused else otherwise

    def ticked(self, field: str, otherwise: tuple[str, ...] = ()) -> list[str]:
        """Return what was chosen in a repeated field when the form was refused, or else the others."""
        return self.page.ticked(field, otherwise) if self.refused else list(otherwise)

    def error(self, field: str) -> str | None:
        """Return the words of the fault of a field of this form, or None."""
        return self.page.error(field) if self.refused else None


@dataclass(frozen=True)
class FieldsSeen:
    """The fields of a page that has one form: what was typed and the words of what is at fault."""

    values: Mapping[str, str]
    words: Mapping[str, str]

    def typed(self, field: str, otherwise: object = None) -> object:
        """Return what was typed into a field, or else the other value."""
        return self.values.get(field, otherwise)

    def error(self, field: str) -> str | None:
        """Return the words of the fault of a field, or None."""
        return self.words.get(field)


@blueprint.app_template_global()
def form_of(page: StepPage, kind: str, part: str = "") -> FormSeen:
    """Return the form of a kind of entry; `part` tells two forms of one kind on a page apart."""
    same = (request.view_args or {}).get("kind") == kind
    typed = page.form.get("part", "") if page.form is not None else None
    return FormSeen(page, same and typed == part)


def standing_on(case: Case, claim: Claim) -> tuple[str, ...]:
    """Return what a new statement of a claim has to supersede at the setting the cast has now.

    Of a finding held here from an earlier setting that is what confirmed it: the finding itself stays true there.
    """
    here = case.now.id if case.now else None
    found = [entry for entry in case.standing if claim in dict(stated_by(entry))]
    return tuple(key for entry in found for key in _seen(case, entry, here))


def _seen(case: Case, entry: Entry, here: str | None) -> Iterable[str]:
    if not isinstance(entry.body, FINDINGS) or entry.setting == here:
        return (entry.id,)
    confirmed = (said for said in case.said(Confirmed) if said.body.finding == entry.id)
    return tuple(said.entry.id for said in confirmed if said.entry.setting == here)


@blueprint.app_template_global()
def choices_of(field: str, values: Iterable[str]) -> list[tuple[str, str]]:
    """Return the choices of a field as keys show them: value and words."""
    return [(value, speech.say(f"choices.{field}.{value}")) for value in values]


@blueprint.app_template_global()
def instrument_keys(known: Iterable[Instrument]) -> list[tuple[str, str, str]]:
    """Return instruments as keys show them: one whose check failed or is overdue says so."""
    return [(one.tag, one.tag, _warning(one)) for one in known]


def _warning(one: Instrument) -> str:
    state = standing_of(one, book.lab().policy, iso(clock.now_ms())).state
    return speech.say(f"steppages.instrument.{state}") if state in ("failed", "overdue") else ""


@blueprint.app_template_global()
def last_tool(known: Iterable[Instrument]) -> str:
    """Return which of some instruments the person signed in named last, '' for none."""
    person = seats.person()
    return book.log().last_named((one.tag for one in known), person.initials) if person else ""


@blueprint.app_template_global()
def light_keys(lights: Iterable[str]) -> list[tuple[str, str]]:
    """Return where light may show, as keys: short words under the question where it shows."""
    return [(one, speech.say(f"steppages.plane.light_{one}")) for one in lights]


@blueprint.app_template_global()
def contact_keys(contacts: Iterable[str]) -> list[tuple[str, str, str]]:
    """Return what shank and lip may do, as keys with what it means."""
    return [
        (
            one,
            speech.say(f"steppages.undercut.contact_{one}"),
            speech.say(f"steppages.undercut.means_{one}"),
        )
        for one in contacts
    ]
