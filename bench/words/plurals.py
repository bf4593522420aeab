"""The word that a number asks for: `{count} {count:case|cases}` in a sentence of the catalogue."""

from __future__ import annotations

from string import Formatter

# Unicode CLDR 48, Language Plural Rules: the rule "one" of both is i = 1 and v = 0, a written 1 alone.
# A language joins with the numbers, as written, that ask for each of its words but the last.
ASKING: dict[str, tuple[frozenset[str], ...]] = {
    "en": (frozenset({"1"}),),
    "de": (frozenset({"1"}),),
}


def filled(sentence: str, language: str, params: dict[str, object]) -> str:
    """Return a sentence with its gaps filled and the words chosen that its numbers ask for."""
    return _Choosing(language).format(sentence, **params)


class _Choosing(Formatter):
    def __init__(self, language: str) -> None:
        self._asking = ASKING[language]

    def format_field(self, value: object, format_spec: str) -> str:
        if "|" not in format_spec:
            return str(super().format_field(value, format_spec))
        words = format_spec.split("|")
        asked = (place for place, numbers in enumerate(self._asking) if str(value) in numbers)
        return words[next(asked, len(self._asking))]
