"""How one reader sees figures, teeth and choices: their language, their numbering, their unit."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from bench.core.surfaces import site_from
from bench.core.teeth import Numbering, arch_of, place_in_arch, position_of, written
from bench.words import Words

LengthUnit = Literal["mm", "inch"]
MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Reader:
    """One reader's choices; every figure of the core is put into words through it."""

    words: Words
    numbering: Numbering = "iso"
    unit: LengthUnit = "mm"

    def say(self, key: str, /, **params: object) -> str:
        """Return the words of a catalogue key."""
        return self.words.say(key, **params)

    def counted(self, key: str, count: int, **params: object) -> str:
        """Return the words for a count: those of `key_0` or `key_1` where the language has them."""
        own = f"{key}_{count}"
        return self.say(own if self.words.has(own) else key, count=count, **params)

    def choice(self, field: str, value: object) -> str:
        """Return the words of a choice, `choices.<field>.<value>`; the value itself where there are none."""
        key = f"choices.{field}.{value}"
        return self.say(key) if self.words.has(key) else str(value)

    def listed(self, items: Iterable[str]) -> str:
        """Return items in a row: `34, 35 and 36`; the word for nothing when there is none."""
        every = list(items)
        if not every:
            return self.say("choices.row.none")
        if len(every) == 1:
            return every[0]
        head = self.say("choices.row.between").join(every[:-1])
        return head + self.say("choices.row.last") + every[-1]

    def number(self, value: float, decimals: int) -> str:
        """Return a number with a fixed count of decimals, a minus sign and the point of the language."""
        figure = f"{value:.{decimals}f}".replace("-", "\u2212")
        return figure.replace(".", self.say("choices.row.point"))

    def tooth(self, tooth: int) -> str:
        """Return a tooth's number as the reader counts teeth."""
        return written(tooth, self.numbering)

    def teeth(self, teeth: Iterable[int]) -> str:
        """Return teeth in a row."""
        return self.listed(self.tooth(tooth) for tooth in teeth)

    def tooth_name(self, tooth: int) -> str:
        """Return what kind of tooth a number names: `first premolar`."""
        return self.say(f"shell.tooth.{position_of(tooth)}")

    def surface(self, surface: str) -> str:
        """Return a surface in words: `mesiobuccal`."""
        return self.say(f"shell.surface.{surface}")

    def site(self, text: str) -> str:
        """Return a compact site such as `34MB` as it is shown: `34 MB`."""
        return site_from(text).shown(self.numbering)

    def sites(self, texts: Iterable[str]) -> str:
        """Return sites in a row, those of one tooth together: `34 B/L and 35 B`."""
        grouped = groupby((site_from(text) for text in texts), key=lambda site: site.tooth)
        return self.listed(
            f"{self.tooth(tooth)} {'/'.join(site.surface for site in sites)}"
            for tooth, sites in grouped
        )

    def length(self, length_mm: float) -> str:
        """Return a length with its unit, to 0.01 mm or 0.001 in."""
        if self.unit == "inch":
            return self.say("choices.figure.inch", value=self.number(length_mm / MM_PER_INCH, 3))
        return self.say("choices.figure.mm", value=self.number(length_mm, 2))

    def angle(self, angle_deg: float) -> str:
        """Return an angle with its unit: one decimal, two where one would round it."""
        decimals = 1 if abs(angle_deg * 10 - round(angle_deg * 10)) < 1e-6 else 2
        return self.say("choices.figure.deg", value=self.number(angle_deg, decimals))

    def letters(self, letters: Iterable[str]) -> str:
        """Return the letters B and L in words: `buccal and lingual`."""
        return self.listed(self.surface(letter) for letter in sorted(letters))

    def setting(self, number: object) -> str:
        """Return a setting by its number; None is one that was taken back since."""
        if number is None:
            return self.say("choices.setting.gone")
        return self.say(
            "choices.setting.zero" if number == 0 else "choices.setting.name", number=number
        )

    def shown(self, name: str, value: object) -> str:
        """Return a value as its name wants it: teeth, sites, lengths, angles, choices or plain text.

        The names are those of the entries' fields and of the reasons' params.
        """
        if value is None:
            return self.setting(None) if name == "number" else ""
        show = _BY_NAME.get(name) or _BY_ENDING.get(name.rpartition("_")[2])
        if show:
            return show(self, value)
        return self.choice(name, value)

    def all_shown(self, values: Mapping[str, object]) -> dict[str, str]:
        """Return every value as its name wants it."""
        return {name: self.shown(name, value) for name, value in values.items()}


def gauge_in_words(gauge_mm: float, reader: Reader) -> str:
    """Return a gauge as the reader's unit names it: `0.25 mm` or `0.010 in`."""
    return reader.length(gauge_mm)


def _lengths(reader: Reader, value: object) -> str:
    if isinstance(value, (tuple, list)):
        return reader.listed(reader.length(float(one)) for one in value)
    return reader.length(float(str(value)))


def _angle(reader: Reader, value: object) -> str:
    return reader.angle(float(str(value)))


def _many(show: Callable[[Reader, Iterable[str]], str]) -> Callable[[Reader, object], str]:
    def shown(reader: Reader, value: object) -> str:
        return show(reader, [str(one) for one in value] if isinstance(value, tuple) else str(value))

    return shown


def _teeth(reader: Reader, value: object) -> str:
    if not isinstance(value, tuple):
        return reader.tooth(int(str(value)))
    return reader.teeth(sorted(value, key=lambda tooth: (arch_of(tooth), place_in_arch(tooth))))


def _setting(reader: Reader, value: object) -> str:
    return reader.setting(value)


def _sd_from(reader: Reader, value: object) -> str:
    source, spare = value if isinstance(value, tuple) else (str(value), "0")
    return reader.say(f"tripod.sd.{source}", spare=spare)


_BY_NAME: dict[str, Callable[[Reader, object], str]] = {
    **dict.fromkeys(("tooth", "teeth", "missing", "replaced", "extractions"), _teeth),
    **dict.fromkeys(("right", "left"), _many(Reader.letters)),
    "site": lambda reader, value: reader.site(str(value)),
    "surface": lambda reader, value: reader.surface(str(value)),
    "sites": _many(Reader.sites),
    "people": _many(lambda reader, people: reader.listed(dict.fromkeys(people))),
    "number": _setting,
    "sd_from": _sd_from,
}
_BY_ENDING: dict[str, Callable[[Reader, object], str]] = {"mm": _lengths, "deg": _angle}
