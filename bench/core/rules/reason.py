"""A reason against release: what a rule found, on which entries it rests, and where it is put right."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

Param = str | int | float | None | tuple[str, ...] | tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that stands against release.

    `rule` and `problem` name the sentence and the remedy in the catalogue (`rules.R4.not_drawn`,
    `rules.R4.not_drawn_remedy`; the rule's source is `rules.R4.source`). `subject` tells like problems
    apart (a site, a tooth, an entry). In `params` the names `tooth`, `teeth`, `site`, `sites` hold
    ISO 3950 numbers and sites such as `34MB`, shown as the reader prefers. `step` is where it is settled.
    """

    rule: str
    problem: str
    step: str
    subject: str = ""
    params: Mapping[str, Param] = field(default_factory=dict)
    entries: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """A stable name: an overruling covers reasons by their keys."""
        return f"{self.rule}:{self.problem}:{self.subject}"
