"""Which findings stand on the present setting, and which have gone stale, in the reader's words."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Blueprint, url_for

from bench.core.accept import may_be_confirmed
from bench.core.case import Case
from bench.core.entries import FINDINGS, Entry
from bench.web import telling
from bench.web.steps import StepPage

blueprint = Blueprint("stalefindings", __name__)


@dataclass(frozen=True, slots=True)
class StaleFinding:
    """A finding of an earlier setting: what it says, where it was made, where it is read again."""

    entry: Entry
    words: str
    made_at: str
    href: str


def current_findings(case: Case) -> tuple[str, ...]:
    """Return the ids of the findings made or confirmed at the setting the cast has now."""
    here = case.now.id if case.now else None
    return tuple(key for key, held in case.held_at.items() if here in held)


@blueprint.app_template_global()
def stale_findings(page: StepPage, step: str = "") -> list[StaleFinding]:
    """Return the findings that count and are stale, of one step or of all, in the order of the rules."""
    judged = [one.reason for one in page.verdict.judged if one.reason.rule == "S2"]
    return [_stale(page, one.subject, one.step) for one in judged if step in ("", one.step)]


@blueprint.app_template_global()
def confirmable(page: StepPage, entry_id: str) -> bool:
    """Say whether a stale finding may be confirmed, or has to be made anew at this setting."""
    return may_be_confirmed(page.case.by_id[entry_id], page.case, page.lab)


def _stale(page: StepPage, entry_id: str, step: str) -> StaleFinding:
    case, reader = page.case, telling.reader()
    entry = case.by_id[entry_id]
    made_at = case.setting_of(entry.setting)
    body = entry.body
    place = {name: getattr(body, name, None) for name in ("tooth", "surface")}
    return StaleFinding(
        entry, short(case, entry), reader.setting(made_at.number if made_at else None),
        url_for("steps.step_page", code=case.code, step=step, **place),
    )  # fmt: skip


def short(case: Case, entry: Entry) -> str:
    """Return a finding in a few words: what it is and what it found."""
    assert isinstance(entry.body, FINDINGS)
    reader, body = telling.reader(), entry.body
    shown = {
        name: reader.shown(name, getattr(body, name)) for name in _FIELDS if hasattr(body, name)
    }
    if shown.get("surface"):
        shown["site"] = reader.site(f"{getattr(body, 'tooth', '')}{getattr(body, 'surface', '')}")
    if "sites" in shown:
        shown["sites"] = reader.sites(getattr(body, "sites", ()))
    if "contact" in shown:
        shown["contact"] = reader.say(f"steppages.undercut.contact_{getattr(body, 'contact', '')}")
    return reader.say(f"steppages.finding.{entry.kind}", **shown)


_FIELDS = (
    "tooth", "surface", "sites", "light", "gauge_mm", "contact", "place", "nature", "material",
)  # fmt: skip
