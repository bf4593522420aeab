"""The chart of teeth while it is being tapped together, before it is recorded as one statement."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from bench.core.bounds import BadEntry
from bench.core.entries import TeethRecorded
from bench.core.teeth import Arch, arch_of, is_tooth, teeth_of
from bench.web.forms import Form

Fate = Literal["r", "m", "e", "x"]
FATES: tuple[Fate, ...] = get_args(Fate)
# r missing, to be replaced; m missing, not replaced; e to be extracted, then replaced; x to be extracted only.
_WORD = re.compile(r"([1-4][1-8])([rmex])", re.ASCII)


@dataclass(frozen=True)
class Chart:
    """What becomes of each tooth that is not simply there; written as `36r.48m` in an address."""

    fates: Mapping[int, Fate]

    @property
    def text(self) -> str:
        """The chart as an address carries it."""
        return ".".join(f"{tooth}{fate}" for tooth, fate in sorted(self.fates.items()))

    def tapped(self, tooth: int, brush: Fate) -> Chart:
        """Return the chart with a tooth given the brush's fate, or made plain when it has it already."""
        fates = {**self.fates, tooth: brush}
        if self.fates.get(tooth) == brush:
            del fates[tooth]
        return Chart(fates)

    @property
    def recorded(self) -> TeethRecorded:
        """The statement that the chart makes."""
        return TeethRecorded(
            missing=self.having("r", "m"),
            replaced=self.having("r", "e"),
            extractions=self.having("e", "x"),
        )

    def having(self, *fates: Fate) -> tuple[int, ...]:
        """Return the teeth of some fates in order of their numbers."""
        return tuple(tooth for tooth, fate in sorted(self.fates.items()) if fate in fates)


def chart_of(teeth: TeethRecorded) -> Chart:
    """Return the chart of recorded teeth."""
    replaced = set(teeth.replaced)
    missing: dict[int, Fate] = {t: "r" if t in replaced else "m" for t in teeth.missing}
    going: dict[int, Fate] = {t: "e" if t in replaced else "x" for t in teeth.extractions}
    return Chart({**missing, **going})


def chart_from(text: str, arch: Arch) -> Chart:
    """Return the chart an address carries; what is no tooth of the arch is left out."""
    fates: dict[int, Fate] = {}
    for number, fate in _WORD.findall(text[:200]):
        if arch_of(int(number)) == arch:
            fates[int(number)] = FATES[FATES.index(fate)]
    return Chart(fates)


def chart_in(form: Form, arch: Arch) -> Chart:
    """Return the chart a refused form held."""

    def teeth(name: str) -> tuple[int, ...]:
        numbers = (int(text) for text in form.getlist(name) if text.isascii() and text.isdigit())
        return tuple(dict.fromkeys(t for t in numbers if is_tooth(t) and t in teeth_of(arch)))

    try:
        return chart_of(TeethRecorded(teeth("missing"), teeth("replaced"), teeth("extractions")))
    except BadEntry:
        return Chart(dict.fromkeys(teeth("missing"), "m"))
