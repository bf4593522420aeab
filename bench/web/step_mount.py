"""The step of mounting: the occlusal plane horizontal, which makes a zero setting."""

from __future__ import annotations

from dataclasses import dataclass

from flask import render_template, url_for

from bench.core.case import Said, Setting
from bench.core.entries import Mounted
from bench.web import telling
from bench.web.stalefindings import current_findings
from bench.web.steps import StepPage, renders


@dataclass(frozen=True)
class Mounting:
    """What the page of mounting shows besides its frame."""

    page: StepPage

    @property
    def last(self) -> Said[Mounted] | None:
        """The newest mounting, None while there is none."""
        return self.page.case.latest(Mounted)

    @property
    def setting(self) -> Setting | None:
        """The zero setting that the newest mounting made."""
        return self.page.case.setting_of(self.last.entry.id) if self.last else None

    @property
    def at_zero(self) -> bool:
        """Whether the cast lies at a zero setting now."""
        return self.page.case.now is not None and self.page.case.now.zero

    @property
    def becomes_stale(self) -> str:
        """How many findings a new mounting makes stale, in words; nothing when none."""
        count = len(current_findings(self.page.case))
        return telling.reader().counted("steppages.tilt.becomes_stale", count) if count else ""

    @property
    def undercuts(self) -> str:
        """The address where undercuts at zero are noted."""
        return url_for("steps.step_page", code=self.page.code, step="undercuts")


@renders("mount")
def mount(page: StepPage) -> str:
    """Render the step of mounting."""
    return render_template("steps/mount.html", page=page, view=Mounting(page))
