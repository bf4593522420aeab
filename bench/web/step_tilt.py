"""The step of tilting: every tried tilt is a setting, the last one locked and final."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from flask import render_template, request

from bench.core.case import Setting
from bench.core.entries import SettingTaken
from bench.web import telling
from bench.web.stepforms import FormSeen, form_of
from bench.web.steps import StepPage, renders
from bench.web.trying import ANGLES, Trying, tried_of
from bench.words.tilts import tilt_in_words


@dataclass(frozen=True)
class Tilting:
    """What the page of tilting shows besides its frame."""

    page: StepPage

    @cached_property
    def form(self) -> FormSeen:
        """The form that takes a setting."""
        return form_of(self.page, "setting_taken")

    @cached_property
    def trying(self) -> Trying:
        """The tilts of this cast: the one in the steppers, the one found, the map."""
        return Trying(self.page.survey, tried_of({name: self.angle(name) for name in ANGLES}))

    @property
    def shows_map(self) -> bool:
        """Whether the map of tilts is shown rather than the cast."""
        return self.trying.known and request.args.get("view") != "cast"

    @property
    def settings(self) -> tuple[Setting, ...]:
        """Every setting, the newest first."""
        return tuple(reversed(self.page.case.settings))

    def tilt(self, setting: Setting) -> str:
        """Return a setting's tilt in words, with the patient's side."""
        return tilt_in_words(setting, telling.reader(), self.page.case.arch)

    @property
    def last(self) -> SettingTaken | None:
        """The newest setting that was read on a scale."""
        said = [
            one.body for one in self.page.case.said(SettingTaken) if one.body.ap_deg is not None
        ]
        return said[-1] if said else None

    def angle(self, name: str) -> str:
        """Return what a stepper shows: typed or tried, else the angle of the present setting."""
        now = self.page.case.now
        present = getattr(now, name) if now else None
        return str(self.form.typed(name, request.args.get(name) or f"{present or 0.0:.1f}"))

    def ways(self, less: str, more: str) -> dict[str, str]:
        """Return the words of a stepper of angles: on its keys, and beside its figure `{}`."""
        say = telling.reader().say
        keys = {"less": less, "more": more}
        sides = {"below": less, "above": more}
        return {
            **{key: say(f"steppages.tilt.lower.{edge}") for key, edge in keys.items()},
            **{
                key: say(f"steppages.tilt.figure.{edge}", angle="{}") for key, edge in sides.items()
            },
            "level": say("steppages.tilt.figure.level"),
        }

    @property
    def resolution(self) -> str:
        """Return the resolution typed, else of the last setting, else of the only instrument."""
        known = self.page.lab.in_service("inclinometer")
        only = known[0].resolution_deg if len(known) == 1 else None
        found = self.last.resolution_deg if self.last else only
        return str(self.form.typed("resolution_deg", "" if found is None else f"{found:g}"))

    @property
    def reason(self) -> str:
        """The reason typed so far."""
        return str(self.form.typed("reason", request.args.get("reason", "")))


@renders("tilt")
def tilt(page: StepPage) -> str:
    """Render the step of tilting."""
    return render_template("steps/tilt.html", page=page, view=Tilting(page))
