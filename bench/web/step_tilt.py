"""The step of tilting: every tried tilt is a setting, the last one locked and final."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from flask import render_template, request

from bench.core.bounds import BadEntry
from bench.core.case import Setting
from bench.core.entries import SettingTaken
from bench.core.tilt import Tilt, TiltTooSteep, total_deg
from bench.web import telling
from bench.web.forms import number_from
from bench.web.stalefindings import current_findings
from bench.web.stepforms import FormSeen, form_of
from bench.web.steps import StepPage, renders
from bench.words.tilts import tilt_in_words


@dataclass(frozen=True)
class Tried:
    """The tilt in the steppers: in words, its angle in all, and whether the lab asks a reason for it."""

    words: str
    total: str
    total_shows: bool
    warns: bool
    asks_reason: bool


@dataclass(frozen=True)
class Tilting:
    """What the page of tilting shows besides its frame."""

    page: StepPage

    @cached_property
    def form(self) -> FormSeen:
        """The form that takes a setting."""
        return form_of(self.page, "setting_taken")

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

    @cached_property
    def tried(self) -> Tried | None:
        """The tilt in the steppers, None while they hold no tilt."""
        try:
            tilt = Tilt(*(number_from(name, self.angle(name)) for name in ("ap_deg", "lat_deg")))
            total = total_deg(tilt)
        except (BadEntry, TiltTooSteep):
            return None
        policy, reader = self.page.lab.policy, telling.reader()
        return Tried(
            tilt_in_words(tilt, reader, self.page.case.arch), reader.angle(round(total, 1)),
            bool(tilt.ap_deg and tilt.lat_deg),
            total > policy.number("tilt_warns_deg"), total > policy.number("tilt_asks_reason_deg"),
        )  # fmt: skip

    @property
    def reason(self) -> str:
        """The reason typed so far."""
        return str(self.form.typed("reason", request.args.get("reason", "")))

    @property
    def becomes_stale(self) -> str:
        """How many findings a new setting makes stale, in words; nothing when none."""
        count = len(current_findings(self.page.case))
        return telling.reader().counted("steppages.tilt.becomes_stale", count) if count else ""


@renders("tilt")
def tilt(page: StepPage) -> str:
    """Render the step of tilting."""
    return render_template("steps/tilt.html", page=page, view=Tilting(page))
