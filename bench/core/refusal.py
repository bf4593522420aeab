"""A refusal: an error that says what was refused, why, and what to do about it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

Param = str | int | float | None | tuple[int, ...]


class Refusal(ValueError):
    """Bad input, refused with a stable `code`, its `params`, and what / why / what to do.

    A subclass states `code` and three sentences with named places for its params; the sentences
    are for logs and for the command line, pages put `code` and `params` into words themselves.
    """

    code: ClassVar[str] = "refused"
    what: ClassVar[str] = "The input was refused."
    why: ClassVar[str] = ""
    what_to_do: ClassVar[str] = ""

    def __init__(self, **params: Param) -> None:
        self.params: Mapping[str, Param] = params
        sentences = (self.what, self.why, self.what_to_do)
        super().__init__(" ".join(text.format(**params) for text in sentences if text))
