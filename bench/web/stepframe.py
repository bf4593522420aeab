"""What surrounds every step: the setting's banner, the rail, what stands against release, the strip."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from typing import Any, NamedTuple

from flask import Blueprint, request, url_for

from bench.core.case import Setting
from bench.core.entries import CaseOpened, Entry
from bench.core.release import Judged, state_of
from bench.core.steps import STEPS, Step, StepKey, next_step
from bench.core.summary import kennedy_text
from bench.core.teeth import Arch
from bench.web import clock, speech, telling
from bench.web.archmap import MapPicture
from bench.web.castmap import picture_of
from bench.web.keeping import kept_until
from bench.web.steps import StepPage
from bench.words.reader import Reader
from bench.words.tilts import tilt_in_words
from bench.words.trail import entry_in_words
from bench.words.verdicts import overruling_in_words, reason_in_words

blueprint = Blueprint("stepframe", __name__)
_SEVERITY = {"blocks": "blocks", "warns": "warns", "overruled": "settled"}


class Banner(NamedTuple):
    """The setting the cast has now, in words, and how many findings stand on it."""

    name: str
    tilt: str
    state: str
    standing: str


class Onward(NamedTuple):
    """The step to go to next; `ready` when this one asks for nothing more."""

    title: str
    href: str
    ready: bool


@dataclass(frozen=True)
class Frame:
    """Everything a step's page shows around the step itself."""

    page: StepPage

    @cached_property
    def reader(self) -> Reader:
        """The reader's words, numbering and unit."""
        return telling.reader()

    @property
    def opened(self) -> bool:
        """Whether the case is opened, so that its arch is known."""
        return bool(self.page.case.said(CaseOpened))

    @property
    def arch(self) -> Arch | None:
        """The arch of the cast, None while the case is not opened."""
        return self.page.case.arch if self.opened else None

    @property
    def about(self) -> str:
        """Case number, arch and Kennedy class."""
        if not self.opened:
            return speech.say("steppages.frame.not_opened")
        body = self.page.case.opened.body
        kennedy = self.kennedy
        arch = self.reader.choice("arch", body.arch)
        return speech.say("steppages.frame.about", number=body.number, arch=arch, kennedy=kennedy)

    @property
    def kennedy(self) -> str:
        """The Kennedy class, short: `Kennedy II mod 1`."""
        found = self.page.survey.kennedy.kennedy_class
        if found in ("none", "edentulous"):
            return speech.say(f"kennedy.class.{found}")
        return speech.say("steppages.frame.kennedy", text=kennedy_text(self.page.survey))

    @property
    def notices(self) -> list[tuple[str, str]]:
        """What whoever works at the case has to know before anything else, each with where it is settled.

        A release whose ground has changed, entries whose person is not confirmed, a hold for the law,
        a record kept past its time.
        """
        case, found = self.page.case, list[tuple[str, str]]()
        hold_href = url_for("supervising.hold_page", code=self.page.code)
        if self.opened and state_of(case, self.page.verdict) == "recalled":
            found.append((speech.say("steppages.frame.recalled"), self.address("release")))
        if case.unconfirmed:
            who = self.reader.listed(sorted({entry.person for entry in case.unconfirmed}))
            words = self.reader.counted(
                "steppages.frame.unconfirmed", len(case.unconfirmed), people=who
            )
            found.append((words, self.address("release")))
        if case.hold is not None:
            day = telling.day(case.hold.entry.at)
            found.append((speech.say("desk.hold.notice", day=day), hold_href))
        until = kept_until(max((entry.at for entry in case.entries), default=telling.now()))
        if case.entries and until < telling.day(telling.now()) and case.hold is None:
            found.append((speech.say("steppages.frame.kept_over", day=until), hold_href))
        return found

    @cached_property
    def banner(self) -> Banner | None:
        """The banner of the present setting, None while the cast is not mounted."""
        now = self.page.case.now
        if now is None:
            return None
        state = "final" if now.final else "open"
        return Banner(
            self.named(now), tilt_in_words(now, self.reader),
            speech.say(f"steppages.frame.{state}"), self.standing_words(now.id),
        )  # fmt: skip

    def named(self, setting: Setting) -> str:
        """Return a setting by its number, and whether it is a zero setting."""
        key = "zero" if setting.zero else "setting"
        return speech.say(f"steppages.frame.{key}", number=setting.number)

    def standing_on(self, setting_id: str) -> int:
        """Return how many findings were made or confirmed at a setting."""
        return sum(setting_id in held for held in self.page.case.held_at.values())

    def standing_words(self, setting_id: str) -> str:
        """Return how many findings stand on a setting, in words."""
        return self.reader.counted("steppages.frame.standing", self.standing_on(setting_id))

    @cached_property
    def rail(self) -> list[dict[str, object]]:
        """The ten steps as `pieces/rail.html` shows them."""
        found = {step.key: step for step in self.page.steps}
        return [self._rung(key, found.get(key)) for key in STEPS]

    def _rung(self, key: StepKey, step: Step | None) -> dict[str, object]:
        state = step.progress if step else "todo"
        opened = step is not None or key == "receive"
        return {
            "key": key, "title": speech.say(f"rail.{key}.title"), "state": state,
            "word": self._word(step), "brief": self._brief(step),
            "href": self.address(key) if opened else None,
        }  # fmt: skip

    def _word(self, step: Step | None) -> str:
        if step is not None and not step.wanted:
            return speech.say("steppages.rail.none_wanted")
        if step is not None and step.key == "release" and step.progress == "stale":
            return speech.say("steppages.rail.recalled")
        if step is None or step.progress in ("done", "todo"):
            return speech.say(f"shell.state.{step.progress if step else 'todo'}")
        key = f"steppages.rail.{step.progress}"
        return speech.say(key, done=step.done, wanted=step.wanted)

    def _brief(self, step: Step | None) -> str:
        """The word of a stale step where the rail is narrow, for the eye alone."""
        if step is None or step.progress != "stale" or step.key == "release" or not step.wanted:
            return ""
        return speech.say("steppages.rail.stale_brief", done=step.done, wanted=step.wanted)

    @cached_property
    def against(self) -> list[dict[str, object]]:
        """What stands against release and is settled at this step."""
        if not self.opened:
            return []
        judged = self.page.verdict.by_step.get(self.page.step, ())
        return [self._finding(one) for one in judged]

    @property
    def against_words(self) -> str:
        """How many reasons of this step stop the release."""
        count = sum(one["severity"] == "blocks" for one in self.against)
        return self.reader.counted("steppages.frame.against", count)

    def _finding(self, one: Judged) -> dict[str, object]:
        said = reason_in_words(one, self.reader)
        return {
            "code": one.reason.rule, "sentence": said.sentence, "severity": _SEVERITY[one.force],
            "remedy": overruling_in_words(one, self.reader) or said.remedy, "link": None,
        }  # fmt: skip

    @cached_property
    def onward(self) -> Onward | None:
        """The first step after this one that is not done, or else the first that is not done at all."""
        steps = self.page.steps
        at = STEPS.index(self.page.step)
        wanted = next((s.key for s in steps[at + 1 :] if s.progress != "done"), next_step(steps))
        if not steps or wanted == self.page.step:
            return None
        title = speech.say("steppages.frame.next", step=speech.say(f"rail.{wanted}.title"))
        return Onward(title, self.address(wanted), steps[at].progress == "done")

    @property
    def disturbing(self) -> bool:
        """Whether the form for a disturbance is asked for, or was refused."""
        if self.page.form is not None:
            return (request.view_args or {}).get("kind") == "disturbed"
        return "disturbed" in request.args

    @property
    def disturbed(self) -> list[str]:
        """The disturbances that no re-mount has settled, in words."""
        if not self.opened:
            return []
        return [self.told(said.entry) for said in self.page.case.disturbances]

    @property
    def withdrawing(self) -> str | None:
        """The id of the entry whose withdrawal was refused for want of a reason."""
        refused = self.page.form is not None and request.endpoint == "recording.withdraw"
        return (request.view_args or {}).get("entry_id") if refused else None

    def told(self, entry: Entry) -> str:
        """Return an entry of the case as a sentence."""
        return entry_in_words(entry, self.page.case, self.reader)

    @property
    def last(self) -> str:
        """When the last entry was made, and by whom."""
        entries = self.page.case.entries
        if not entries:
            return speech.say("steppages.strip.nothing")
        newest = max(entries, key=lambda entry: entry.at)
        return speech.say("steppages.strip.last", at=self.at(newest), person=newest.person)

    def at(self, entry: Entry) -> str:
        """Return when an entry was made by the bench PC's clock; the day too when it is not today."""
        made = datetime.fromisoformat(entry.at).astimezone()
        today = datetime.fromtimestamp(clock.now_ms() / 1000, UTC).astimezone().date()
        return made.strftime("%H:%M" if made.date() == today else "%Y-%m-%d %H:%M")

    @cached_property
    def picture(self) -> MapPicture | None:
        """The arch map of the step."""
        return picture_of(self.page, self.reader) if self.opened else None

    @property
    def disturb_href(self) -> str:
        """The address that asks for the form of a disturbance, here and at this place."""
        return self.address(tooth=self.page.tooth, surface=self.page.surface, disturbed=1)

    @property
    def here(self) -> str:
        """The address of this step at its place."""
        return self.address(tooth=self.page.tooth, surface=self.page.surface)

    def address(self, step: str | None = None, **asked: Any) -> str:
        """Return the address of a step of this case, of this one unless another is named."""
        return url_for("steps.step_page", code=self.page.code, step=step or self.page.step, **asked)


@blueprint.app_template_global()
def frame_of(page: StepPage) -> Frame:
    """Return what surrounds a step."""
    return Frame(page)
