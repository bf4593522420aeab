"""The one catalogue of every word a reader sees, a folder per language and a file per room."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType


class Words:
    """The words of one language, looked up by dotted key: room, then the nested tables."""

    def __init__(self, language: str = "en") -> None:
        self.language = language
        self._sentences = _sentences(language)

    def say(self, key: str, /, **params: object) -> str:
        """Return the words of a key filled from `params`; raise KeyError naming a missing key."""
        return self._sentences[key].format(**params)

    def has(self, key: str) -> bool:
        """Say whether this language has words for a key."""
        return key in self._sentences

    def keys(self) -> tuple[str, ...]:
        """Return every key of this language in alphabetical order."""
        return tuple(sorted(self._sentences))


def languages() -> tuple[str, ...]:
    """Return the languages that have a folder in the catalogue."""
    rooms = (entry for entry in files(__name__).iterdir() if entry.is_dir())
    return tuple(sorted(entry.name for entry in rooms if not entry.name.startswith("_")))


@cache
def _sentences(language: str) -> Mapping[str, str]:
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
