"""What the lab holds itself to: its policy, and what this tool says and never says."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass

from flask import Blueprint, Response, make_response, redirect, render_template, request, url_for

from bench import __version__
from bench.core.bounds import BadEntry
from bench.core.entries import Entry, PolicySet
from bench.core.policy import (
    COLOURS,
    FORCES,
    NUMBERS,
    ONE_OF,
    RULES,
    SWITCHES,
    TEXTS,
    Policy,
    items,
)
from bench.web import book, speech
from bench.web.forms import number_from
from bench.web.record import record
from bench.web.recording import faults_of
from bench.web.roles import least

blueprint = Blueprint("desk", __name__)
Errors = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class PolicyItem:
    """One item of the policy as its page shows it; `changed_by` and `changed_at` are '' for a default."""

    name: str
    sort: str
    value: str
    default: str
    low: str
    high: str
    unit: str
    changed_by: str
    changed_at: str
    reason: str

    @property
    def choices(self) -> list[str]:
        """The values of a number of which only some can be."""
        return [f"{value:g}" for value in ONE_OF.get(self.name, ())]


@blueprint.get("/policy")
@least("reader")
def policy() -> Response:
    """Show what the lab holds its casts to, with the owner and date of each change."""
    return _policy_page()


@blueprint.post("/policy/<item>")
@least("supervisor")
def set_policy(item: str) -> Response:
    """Change one item of the policy, with a reason."""
    try:
        value = _as_written(item, request.form.get("value", "").strip())
        reason = request.form.get("reason", "").strip()
        record(PolicySet(item, value), reason=reason, entry_id=request.form.get("entry_id"))
    except BadEntry as bad:
        return _policy_page(of=item, errors=_words(bad), status=422)
    return make_response(redirect(url_for("desk.policy", said=item, _anchor=item), 303))


@blueprint.get("/about")
@least("stranger")
def about() -> str:
    """Say what the tool says and never says, and the cautions of the bench."""
    years = f"{book.lab().policy.number('keep_years'):g}"
    cautions = ("contamination", "dust", "tips", "estimates", "remount")
    return render_template("desk/about.html", version=__version__, years=years, cautions=cautions)


def policy_items(policy: Policy, entries: tuple[Entry, ...]) -> list[PolicyItem]:
    """Return every item of the policy with who changed it last, in the order of `core.policy.items`."""
    last = {
        entry.body.item: entry for entry in _by_id(entries) if isinstance(entry.body, PolicySet)
    }
    default = Policy()
    return [_item(name, policy, default, last.get(name)) for name in items()]


def _by_id(entries: tuple[Entry, ...]) -> list[Entry]:
    return sorted(entries, key=lambda entry: entry.id)


def _item(name: str, policy: Policy, default: Policy, last: Entry | None) -> PolicyItem:
    number = NUMBERS.get(name)
    return PolicyItem(
        name=name, sort=_sort_of(name), value=value_text(policy, name),
        default=value_text(default, name), low=f"{number.low:g}" if number else "",
        high=f"{number.high:g}" if number else "", unit=number.unit if number else "",
        changed_by=last.person if last else "", changed_at=last.at[:10] if last else "",
        reason=last.reason if last else "",
    )  # fmt: skip


def _sort_of(name: str) -> str:
    sorts: dict[str, Container[str]] = {
        "rule": RULES,
        "choice": ONE_OF,
        "colour": COLOURS,
        "number": NUMBERS,
        "switch": SWITCHES,
        "text": TEXTS,
    }
    return next(sort for sort, names in sorts.items() if name in names)


def value_text(policy: Policy, name: str) -> str:
    """Return the value of an item of the policy as its form writes it."""
    if name in RULES:
        return policy.forces[name]
    if name in NUMBERS:
        return f"{policy.numbers[name]:g}"
    if name in SWITCHES:
        return "on" if policy.switches[name] else "off"
    return policy.texts[name]


def _as_written(item: str, text: str) -> str:
    return f"{number_from('value', text):g}" if item in NUMBERS else text


def _words(refused: BadEntry) -> dict[str, str]:
    return {field: speech.say_fault(field, fault) for field, fault in faults_of(refused).items()}


def _policy_page(of: str = "", errors: Errors | None = None, status: int = 200) -> Response:
    shown = policy_items(book.lab().policy, book.log().lab_entries())
    page = render_template(
        "desk/policy.html", items=shown, forces=FORCES, of=of, errors=errors or {},
        said=request.args.get("said") if request.args.get("said") in items() else None,
    )  # fmt: skip
    return make_response(page, status)
