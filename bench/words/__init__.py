"""The one catalogue of every word a reader sees, a folder per language and a file per room."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from bench.words.plurals import filled

FIRST = "en"


class Words:
    """The words of one language, looked up by dotted key: room, then the nested tables.

    A key that the language lacks is said in the first language, so that a reader always reads something.
    """

    def __init__(self, language: str = FIRST) -> None:
        self.language = language
        self._sentences = _sentences(language)

    def say(self, key: str, /, **params: object) -> str:
        """Return the words of a key filled from `params`; raise KeyError naming a missing key.

        `{count:case|cases}` becomes the word that the count asks for.
        """
        sentence = self._sentences[key]
        if "|" in sentence:
            return filled(sentence, self.language, params)
        return sentence.format(**params)

    def has(self, key: str) -> bool:
        """Say whether there are words for a key."""
        return key in self._sentences

    def keys(self) -> tuple[str, ...]:
        """Return every key in alphabetical order."""
        return tuple(sorted(self._sentences))

    def own(self) -> Mapping[str, str]:
        """Return what this language itself says, by key, gaps in braces, nothing lent by the first one."""
        return _own(self.language)


def languages() -> tuple[str, ...]:
    """Return the languages that have a folder in the catalogue."""
    rooms = (entry for entry in files(__name__).iterdir() if entry.is_dir())
    return tuple(sorted(entry.name for entry in rooms if not entry.name.startswith("_")))


def language_for(tags: Iterable[str]) -> str:
    """Return the language of the catalogue that the first fitting tag names, else the first language.

    Tags are BCP 47, the most wanted first; `de-CH` is served by `de` (lookup of RFC 4647, 3.4).
    """
    known = languages()
    parts = (tag.lower().replace("_", "-").split("-")[0] for tag in tags)
    return next((part for part in parts if part in known), FIRST)


@cache
def _sentences(language: str) -> Mapping[str, str]:
    own = _own(language)
    return own if language == FIRST else MappingProxyType({**_own(FIRST), **own})


@cache
def _own(language: str) -> Mapping[str, str]:
    if language not in languages():
        raise KeyError(f"no words in language {language!r}")
    found: dict[str, str] = {}
    for room in files(__name__).joinpath(language).iterdir():
        if room.name.endswith(".toml"):
            tables = tomllib.loads(room.read_text("utf-8"))
            found.update(_flattened(room.name.removesuffix(".toml"), tables))
    return MappingProxyType(found)


def _flattened(prefix: str, table: Mapping[str, object]) -> Iterator[tuple[str, str]]:
    for name, value in table.items():
        key = f"{prefix}.{name}"
        if isinstance(value, dict):
            yield from _flattened(key, value)
        else:
            yield key, str(value)
