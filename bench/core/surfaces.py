"""Surfaces of a tooth and the sites they make: a site is one surface of one tooth."""

from __future__ import annotations

from typing import Literal, NamedTuple

from bench.core.refusal import Refusal
from bench.core.teeth import Arch, Numbering, Side, require_tooth, side_of, teeth_of, written

Surface = Literal["M", "D", "B", "L", "MB", "DB", "ML", "DL"]
Letter = Literal["B", "L"]

SURFACES: tuple[Surface, ...] = ("M", "D", "B", "L", "MB", "DB", "ML", "DL")
UNDERCUT_SURFACES: tuple[Surface, ...] = ("MB", "B", "DB", "ML", "L", "DL", "M", "D")
PROXIMAL: tuple[Surface, ...] = ("M", "D")
LETTERS: tuple[Letter, ...] = ("B", "L")


class NoSuchSite(Refusal):
    """Text that names no surface of a tooth."""

    code = "no_such_site"
    what = "'{site}' is no site."
    why = "A site is a tooth such as 34 and a surface: M, D, B, L, MB, DB, ML or DL."
    what_to_do = "Write it like 34MB."


class Site(NamedTuple):
    """One surface of one tooth, such as 34 MB. Written compactly as `34MB`."""

    tooth: int
    surface: Surface

    @property
    def text(self) -> str:
        """The compact ISO 3950 form used in the log."""
        return f"{self.tooth}{self.surface}"

    def shown(self, numbering: Numbering = "iso") -> str:
        """The form a reader sees: tooth, space, surface."""
        return f"{written(self.tooth, numbering)} {self.surface}"


def site_from(text: str) -> Site:
    """Read a compact site such as `34MB`; raise NoSuchSite or NoSuchTooth when it is none."""
    number, surface = text[:2], text[2:]
    if not (number.isascii() and number.isdigit() and surface in SURFACES):
        raise NoSuchSite(site=text)
    return Site(require_tooth(int(number)), SURFACES[SURFACES.index(surface)])


def letter_of(surface: Surface) -> Letter | None:
    """Return B for a buccal surface, L for a lingual one, None for a purely proximal one."""
    return "B" if "B" in surface else "L" if "L" in surface else None


def opposite_letter(letter: Letter) -> Letter:
    """Return the letter of the facing side of the same tooth."""
    return "L" if letter == "B" else "B"


def side_of_site(site: Site) -> Side:
    """Return the patient's side of a site."""
    return side_of(site.tooth)


def both_lines(arch: Arch) -> tuple[Site, ...]:
    """Return the buccal and lingual site of every tooth of an arch."""
    return tuple(Site(tooth, letter) for tooth in teeth_of(arch) for letter in LETTERS)
