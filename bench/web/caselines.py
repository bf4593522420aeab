"""Which cases the board shows: filters from the address, one search box, oldest first."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from bench.core.release import STATES
from bench.core.steps import STEPS
from bench.core.summary import Summary
from bench.core.teeth import Numbering, from_universal, is_tooth
from bench.store.readmodels import ReadModels
from bench.store.seeking import Sought, Word, words_sought

MOST_COUNTED = 5000
PAGE_LINES = 40
GROUP_LINES = 6
ALL_STATES = (*STATES, "unopened", "unreadable")
LAYOUTS = ("steps", "list")


@dataclass(frozen=True, slots=True)
class Asked:
    """What the address asks for. `state` '' means every open case; `tooth` is as the reader typed it."""

    text: str = ""
    state: str = ""
    step: str = ""
    person: str = ""
    tooth: str = ""
    layout: str = ""
    page: int = 1

    @property
    def filtered(self) -> bool:
        """Whether anything narrows the board down."""
        return any((self.text, self.state, self.step, self.person, self.tooth))


def asked_from(args: Mapping[str, str]) -> Asked:
    """Read an address; what names nothing is left out."""
    page = args.get("page", "")
    return Asked(
        text=args.get("q", "").strip()[:60],
        state=_known(args.get("state", ""), (*ALL_STATES, "all")),
        step=_known(args.get("step", ""), STEPS),
        person=args.get("person", "").strip()[:8],
        tooth=args.get("tooth", "").strip()[:8],
        layout=_known(args.get("as", ""), LAYOUTS),
        page=max(1, int(page)) if re.fullmatch(r"[0-9]{1,5}", page, re.ASCII) else 1,
    )


def _known(value: str, allowed: Iterable[str]) -> str:
    return value if value in allowed else ""


def tooth_from(text: str, numbering: Numbering) -> int | None:
    """Return the ISO 3950 tooth that a reader typed in their numbering, or None when it is none."""
    if not re.fullmatch(r"[0-9]{1,2}", text, re.ASCII):
        return None
    number = int(text)
    if numbering == "universal":
        return from_universal(number) if 1 <= number <= 32 else None
    return number if is_tooth(number) else None


@dataclass(frozen=True, slots=True)
class Group:
    """The first lines of those that wait at a step, and how many wait there in all."""

    step: str
    lines: tuple[Summary, ...]
    count: int


@dataclass(frozen=True)
class Lines:
    """The lines an address asks for, found in the read models alone.

    `numbering` is the reader's; `people` are the initials the lab knows.
    """

    models: ReadModels
    asked: Asked
    numbering: Numbering
    people: frozenset[str]

    @property
    def bad_tooth(self) -> bool:
        """Whether the tooth asked for is none in the reader's numbering."""
        return bool(self.asked.tooth) and tooth_from(self.asked.tooth, self.numbering) is None

    @cached_property
    def count(self) -> int:
        """How many lines are asked for, counted no further than MOST_COUNTED where more is asked than a state."""
        return self._how_many(self._sought)

    @property
    def page(self) -> tuple[Summary, ...]:
        """The lines of the page asked for, the case opened first at the top."""
        return self._lines(self._sought, PAGE_LINES, (self.page_number - 1) * PAGE_LINES)

    @property
    def pages(self) -> int:
        """How many pages there are, one at least."""
        return max(1, -(-self.count // PAGE_LINES))

    @property
    def page_number(self) -> int:
        """The page shown: the last one where the address asks for one beyond."""
        return min(self.asked.page, self.pages)

    @cached_property
    def by_step(self) -> tuple[Group, ...]:
        """The first lines of each step and how many wait there, in the order of the bench; no empty steps."""
        wanted = self._sought
        steps = [step for step in STEPS if wanted.step in (None, step)]
        groups = (self._group(step, replace(wanted, step=step)) for step in steps)
        return tuple(group for group in groups if group.count)

    def _group(self, step: str, sought: Sought) -> Group:
        count = self._how_many(sought)
        return Group(step, self._lines(sought, GROUP_LINES) if count else (), count)

    @cached_property
    def standing_out(self) -> tuple[Summary, ...]:
        """The first lines a supervisor must look at: recalled, or with statements that disagree."""
        return self._lines(replace(self._sought, to_settle=True), GROUP_LINES)

    def _lines(self, sought: Sought, limit: int, offset: int = 0) -> tuple[Summary, ...]:
        if self.bad_tooth:
            return ()
        return self.models.lines(sought, "oldest", limit, offset)

    def _how_many(self, sought: Sought) -> int:
        return 0 if self.bad_tooth else self.models.how_many(sought, MOST_COUNTED)

    @cached_property
    def _sought(self) -> Sought:
        asked = self.asked
        return Sought(
            state=None if asked.state in ("", "all") else asked.state,
            open_only=not asked.state and not asked.text,
            step=asked.step or None,
            person=asked.person or None,
            tooth=tooth_from(asked.tooth, self.numbering),
            words=tuple(word for typed in asked.text.split() for word in self._words(typed)),
        )

    def _words(self, typed: str) -> tuple[Word, ...]:
        """Return a word of the search box: of a number or code, and perhaps a person or a tooth."""
        person = typed.upper() if typed.upper() in self.people else ""
        tooth = tooth_from(typed, self.numbering)
        if not person and tooth is None:
            return words_sought(typed)
        return (Word(typed.casefold(), person, tooth),)
