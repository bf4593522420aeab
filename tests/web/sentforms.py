"""Forms read from a page and sent as a browser without scripts sends them."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from werkzeug.test import TestResponse

Field = tuple[str, str]


@dataclass
class SentForm:
    """One form of a page: where it goes, what it holds as shown, its buttons and its links' page."""

    action: str
    fields: list[Field] = field(default_factory=list)
    offered: list[Field] = field(default_factory=list)
    buttons: list[Field] = field(default_factory=list)

    def send(self, client: Any, **given: Any) -> TestResponse:
        """Fill fields in and send the form; a list gives a field several values."""
        kept = [(name, value) for name, value in self.fields if name not in given]
        data: dict[str, list[Any]] = {}
        for name, value in kept:
            data.setdefault(name, []).append(value)
        for name, value in given.items():
            data[name] = list(value) if isinstance(value, (list, tuple)) else [value]
        return client.post(self.action, data=data)

    def value(self, name: str) -> str | None:
        return next((value for key, value in self.fields if key == name), None)

    def values(self, name: str) -> list[str]:
        return [value for key, value in self.fields if key == name]

    def choices(self, name: str) -> list[str]:
        return [value for key, value in (*self.offered, *self.buttons) if key == name]


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[SentForm] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self._open: SentForm | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        at = {name: value or "" for name, value in attrs}
        self.ids += [at["id"]] if "id" in at else []
        self.links += [at["href"]] if tag == "a" and "href" in at else []
        if tag == "form":
            self._open = SentForm(at.get("action", ""))
            self.forms.append(self._open)
        elif self._open is not None and at.get("name"):
            self._field(tag, at, self._open)

    def _field(self, tag: str, at: dict[str, str], form: SentForm) -> None:
        pair = (at["name"], at.get("value", "on" if at.get("type") == "checkbox" else ""))
        if tag == "button":
            form.buttons.append(pair)
        elif at.get("type") in ("radio", "checkbox"):
            form.offered.append(pair)
            form.fields += [pair] if "checked" in at else []
        elif tag in ("input", "textarea"):
            form.fields.append(pair)

    def handle_endtag(self, tag: str) -> None:
        self._open = None if tag == "form" else self._open


@dataclass(frozen=True)
class ShownPage:
    """A page as a browser has it."""

    status: int
    text: str
    forms: tuple[SentForm, ...]
    links: tuple[str, ...]
    ids: tuple[str, ...]

    def form(self, kind: str, part: str = "") -> SentForm:
        """Return the form that states a kind of entry; LookupError when the page has none."""
        for form in self.forms:
            if form.action.endswith(f"/record/{kind}") and (form.value("part") or "") == part:
                return form
        raise LookupError(f"no form for {kind} {part}")

    def has(self, kind: str, part: str = "") -> bool:
        try:
            self.form(kind, part)
        except LookupError:
            return False
        return True


def shown(answer: TestResponse) -> ShownPage:
    """Read an answer as a page."""
    reader = _Reader()
    reader.feed(answer.text)
    return ShownPage(
        answer.status_code, answer.text, tuple(reader.forms), tuple(reader.links), tuple(reader.ids)
    )
