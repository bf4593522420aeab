"""Teeth by their ISO 3950 numbers: arch, side, position, neighbours, and how each is written."""

from __future__ import annotations

from typing import Literal

from bench.core.refusal import Refusal

Arch = Literal["upper", "lower"]
Side = Literal["right", "left"]
Numbering = Literal["iso", "universal"]

ARCHES: tuple[Arch, ...] = ("upper", "lower")
SIDES: tuple[Side, ...] = ("right", "left")
_QUADRANTS: dict[Arch, tuple[int, int]] = {"upper": (1, 2), "lower": (4, 3)}
_ALL = frozenset(q * 10 + n for q in (1, 2, 3, 4) for n in range(1, 9))
FIRST_POSTERIOR = 4
THIRD_MOLAR = 8


class NoSuchTooth(Refusal):
    """A number that names no permanent tooth, or none of this arch."""

    code = "no_such_tooth"
    what = "{tooth} is no permanent tooth."
    why = "Teeth are numbered 11-18, 21-28, 31-38, 41-48 in ISO 3950 and 1-32 in Universal numbers."
    what_to_do = "Give a tooth by one of these numbers."


def is_tooth(number: int) -> bool:
    """Say whether an ISO 3950 number names a permanent tooth (11-18, 21-28, 31-38, 41-48)."""
    return number in _ALL


def require_tooth(number: int) -> int:
    """Return the number, or raise NoSuchTooth when it names no permanent tooth."""
    if number not in _ALL:
        raise NoSuchTooth(tooth=number)
    return number


def arch_of(tooth: int) -> Arch:
    """Return the arch of a tooth."""
    return "upper" if require_tooth(tooth) < 30 else "lower"


def side_of(tooth: int) -> Side:
    """Return the patient's side of a tooth."""
    return "right" if require_tooth(tooth) // 10 in (1, 4) else "left"


def position_of(tooth: int) -> int:
    """Return the place counted from the midline: 1 central incisor to 8 third molar."""
    return require_tooth(tooth) % 10


def teeth_of(arch: Arch) -> tuple[int, ...]:
    """Return the sixteen teeth of an arch, from the patient's right third molar to the left one."""
    right, left = _QUADRANTS[arch]
    return tuple(right * 10 + n for n in range(8, 0, -1)) + tuple(
        left * 10 + n for n in range(1, 9)
    )


def place_in_arch(tooth: int) -> int:
    """Return the index 0-15 of a tooth in `teeth_of` its arch."""
    position = position_of(tooth)
    return 8 - position if side_of(tooth) == "right" else 7 + position


def mirrored(tooth: int) -> int:
    """Return the tooth of the same name on the other side of the same arch."""
    swap = {1: 2, 2: 1, 3: 4, 4: 3}
    return swap[require_tooth(tooth) // 10] * 10 + tooth % 10


def neighbours(tooth: int) -> tuple[int | None, int | None]:
    """Return the places mesial and distal to a tooth; None behind a third molar."""
    position = position_of(tooth)
    mesial = mirrored(tooth) if position == 1 else tooth - 1
    return mesial, (None if position == THIRD_MOLAR else tooth + 1)


def is_posterior(tooth: int) -> bool:
    """Say whether a tooth is a premolar or a molar."""
    return position_of(tooth) >= FIRST_POSTERIOR


def to_universal(tooth: int) -> int:
    """Return the Universal number 1-32 of an ISO 3950 tooth.

    Source: ISO 3950 and the Universal system: q1 9-n, q2 8+n, q3 25-n, q4 24+n.
    """
    quadrant, n = divmod(require_tooth(tooth), 10)
    return {1: 9 - n, 2: 8 + n, 3: 25 - n, 4: 24 + n}[quadrant]


def from_universal(number: int) -> int:
    """Return the ISO 3950 tooth of a Universal number, or raise NoSuchTooth outside 1-32."""
    if not 1 <= number <= 32:
        raise NoSuchTooth(tooth=number)
    if number <= 8:
        return 10 + (9 - number)
    if number <= 16:
        return 20 + (number - 8)
    return 30 + (25 - number) if number <= 24 else 40 + (number - 24)


def written(tooth: int, numbering: Numbering = "iso") -> str:
    """Return a tooth as the reader wants it written: ISO 3950 or Universal."""
    return str(to_universal(tooth) if numbering == "universal" else require_tooth(tooth))
