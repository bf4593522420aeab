"""Which cases the board shows: filters from the address, one search box, oldest first."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from bench.core.release import STATES
from bench.core.steps import STEPS
from bench.core.summary import Summary
from bench.core.teeth import Numbering, from_universal, is_tooth
from bench.store.readmodels import ReadModels

MOST = 4000
PAGE_LINES = 40
_MOST_WORDS = 4
OPEN = ("recalled", "received", "surveying", "ready", "unopened", "unreadable")
ALL_STATES = (*STATES, "unopened", "unreadable")
LAYOUTS = ("steps", "list")
Found = dict[str, Summary]


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
    def every(self) -> tuple[Summary, ...]:
        """Every line asked for, the case opened first at the top."""
        if self.bad_tooth:
            return ()
        found = self._narrowed()
        for word in self._words_to_try:
            meant = self._said_of(word)
            found = {code: line for code, line in found.items() if code in meant}
        return tuple(sorted(found.values(), key=lambda line: (line.opened_at, line.code)))

    @property
    def page(self) -> tuple[Summary, ...]:
        """The lines of the page asked for."""
        start = (self.page_number - 1) * PAGE_LINES
        return self.every[start : start + PAGE_LINES]

    @property
    def pages(self) -> int:
        """How many pages there are, one at least."""
        return max(1, -(-len(self.every) // PAGE_LINES))

    @property
    def page_number(self) -> int:
        """The page shown: the last one where the address asks for one beyond."""
        return min(self.asked.page, self.pages)

    @cached_property
    def by_step(self) -> tuple[tuple[str, tuple[Summary, ...]], ...]:
        """The lines by the step each waits at, in the order of the bench; steps without a case left out."""
        groups = ((step, tuple(one for one in self.every if one.step == step)) for step in STEPS)
        return tuple((step, lines) for step, lines in groups if lines)

    @cached_property
    def standing_out(self) -> tuple[Summary, ...]:
        """The lines a supervisor must look at: recalled, or with statements that disagree."""
        return tuple(one for one in self.every if one.state == "recalled" or one.contradictions)

    def _narrowed(self) -> Found:
        asked = self.asked
        states: tuple[str | None, ...] = (asked.state,) if asked.state else OPEN
        if asked.state == "all" or (asked.text and not asked.state):
            states = (None,)
        tooth = tooth_from(asked.tooth, self.numbering)
        return _by_code(
            line
            for state in states
            for line in self.models.board(
                state=state, step=asked.step or None, person=asked.person or None, tooth=tooth,
                text=" ".join(self._plain_words), limit=MOST,
            )
        )  # fmt: skip

    @cached_property
    def _plain_words(self) -> tuple[str, ...]:
        """The words of the search that can only be a number or a code: the tables find them at once."""
        return tuple(word for word in self.asked.text.split() if not self._may_be_more(word))

    @cached_property
    def _words_to_try(self) -> tuple[str, ...]:
        return tuple(word for word in self.asked.text.split() if self._may_be_more(word))[
            :_MOST_WORDS
        ]

    def _may_be_more(self, word: str) -> bool:
        return word.upper() in self.people or tooth_from(word, self.numbering) is not None

    def _said_of(self, word: str) -> Found:
        """Return the lines that a word speaks of: by number or code, by tooth, by person."""
        found = _by_code(self.models.board(text=word, limit=MOST))
        if word.upper() in self.people:
            found |= _by_code(self.models.board(person=word.upper(), limit=MOST))
        tooth = tooth_from(word, self.numbering)
        return (
            found if tooth is None else found | _by_code(self.models.board(tooth=tooth, limit=MOST))
        )


def _by_code(lines: Iterable[Summary]) -> Found:
    return {line.code: line for line in lines}
