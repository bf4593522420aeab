"""At which setting a finding was made, in the reader's words, for every template."""

from __future__ import annotations

from flask import Blueprint

from bench.core.entries import Entry
from bench.web import telling
from bench.web.steps import StepPage

blueprint = Blueprint("madeat", __name__)


@blueprint.app_template_global()
def made_at(page: StepPage, entry: Entry) -> str:
    """Return the setting an entry belongs to, such as `setting 2`; one taken back since is named so."""
    setting = page.case.setting_of(entry.setting)
    return telling.reader().setting(setting.number if setting else None)
