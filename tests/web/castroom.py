"""Invented cases recorded into a bench for the tests of the board and of the case pages."""

from __future__ import annotations

from collections.abc import Callable

from bench.core.entries import CaseOpened, Entry, Mounted, UndercutRead
from bench.core.ids import case_code

State = Callable[..., Entry]


def opened(
    state: State, number: str = "26-0101", *, at: int = 1, arch: str = "lower", **rest: object
) -> str:
    """Open a case and return its code."""
    code = case_code(at)
    state(CaseOpened(code, number, arch, "master"), case=code, **rest)  # type: ignore[arg-type]
    return code


def mounted(state: State, code: str, **rest: object) -> Entry:
    return state(Mounted(), case=code, **rest)


def disputed(state: State, code: str) -> tuple[Entry, Entry]:
    """Mount a cast and let two people read one undercut differently."""
    zero = mounted(state, code).id
    first = state(UndercutRead(34, "MB", 0.25, "both"), case=code, setting=zero)
    second = state(UndercutRead(34, "MB", 0.25, "none"), case=code, setting=zero, person="SUP")
    return first, second
