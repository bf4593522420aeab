"""The lab's policy: which rule blocks or only warns, and the numbers the rules use. Its changes are entries."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Literal

from bench.core.bounds import BadEntry
from bench.core.colours import LEAST_APART, apart, rgb_of, written
from bench.core.entries import Entry, PolicySet

Force = Literal["blocks", "warns"]
FORCES: tuple[Force, ...] = ("blocks", "warns")

RULES: dict[str, Force] = {
    "S1": "blocks", "S2": "blocks", "S3": "warns", "S4": "warns", "S5": "blocks", "S6": "blocks",
    "R1": "blocks", "R2": "blocks", "R3": "blocks", "R4": "blocks", "R5": "blocks", "R6": "warns",
    "R7": "blocks", "R8": "warns", "R9": "blocks",
    "B1": "blocks", "B3": "warns", "B4": "warns", "B5": "warns", "B6": "warns",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Number:
    """One number of the policy: its default, its range, its unit."""

    default: float
    low: float
    high: float
    unit: str


NUMBERS: dict[str, Number] = {
    "tilt_warns_deg": Number(10.0, 1.0, 30.0, "deg"),
    "tilt_asks_reason_deg": Number(15.0, 1.0, 45.0, "deg"),
    "reading_sd_mm": Number(0.2, 0.01, 1.0, "mm"),
    "tripod_sd_limit_deg": Number(0.5, 0.05, 5.0, "deg"),
    "tripod_least_altitude_mm": Number(5.0, 1.0, 40.0, "mm"),
    "remount_tolerance_deg": Number(1.0, 0.1, 5.0, "deg"),
    "remount_repeat_above_deg": Number(2.0, 0.1, 10.0, "deg"),
    # 0.41 along each axis keeps 95 of 100 re-mounts within 1 degree of the record (Rayleigh).
    "remount_spread_deg": Number(0.4, 0.05, 5.0, "deg"),
    "gauge_check_days": Number(90, 1, 3650, "days"),
    "table_check_days": Number(365, 1, 3650, "days"),
    "surveyor_check_days": Number(365, 1, 3650, "days"),
    "sleeve_check_days": Number(180, 1, 3650, "days"),
    "inclinometer_check_days": Number(365, 1, 3650, "days"),
    "caliper_check_days": Number(365, 1, 3650, "days"),
    "depth_co_cr_mm": Number(0.25, 0.05, 1.5, "mm"),
    "depth_wrought_wire_mm": Number(0.5, 0.05, 1.5, "mm"),
    "depth_gold_mm": Number(0.38, 0.05, 1.5, "mm"),
    "depth_titanium_mm": Number(0.5, 0.05, 1.5, "mm"),
    "depth_polymer_mm": Number(0.5, 0.05, 1.5, "mm"),
    "least_arm_co_cr_mm": Number(15.0, 2.0, 40.0, "mm"),
    "least_arm_wrought_wire_mm": Number(7.0, 2.0, 40.0, "mm"),
    "near_fulcrum_mm": Number(5.0, 0.0, 40.0, "mm"),
    "wanted_tolerance_mm": Number(0.05, 0.0, 0.3, "mm"),
    "guessed_drop_mm": Number(2.0, 0.5, 8.0, "mm"),
    "idle_lock_s": Number(600, 30, 86400, "s"),
    "keep_years": Number(10, 1, 100, "years"),
    "label_mm": Number(20.0, 20.0, 30.0, "mm"),
}
# Numbers of which only some can be: the sides of the square that labels are drawn with.
ONE_OF: dict[str, tuple[float, ...]] = {"label_mm": (20.0, 25.0, 30.0)}

SWITCHES: dict[str, bool] = {
    "whole_arch_lines": False,
    "compare_arms": False,
    "person_figures": True,
}
TEXTS: dict[str, str] = {
    "case_number_pattern": r"[0-9]{2}-[0-9]{4}[A-Z]?",
    "gauges_mm": "0.25 0.50 0.75",
    "mark_colour": "#c22f2a",
    "ring_colour": "#1d5fb4",
}
# The pencil that makes tripod marks and the one that rings them; each names the other.
COLOURS = {"mark_colour": "ring_colour", "ring_colour": "mark_colour"}


@dataclass(frozen=True)
class Policy:
    """What the lab holds its casts to. `forces` per rule, `numbers` in the unit their names carry."""

    forces: dict[str, Force] = field(default_factory=lambda: dict(RULES))
    numbers: dict[str, float] = field(
        default_factory=lambda: {name: number.default for name, number in NUMBERS.items()}
    )
    switches: dict[str, bool] = field(default_factory=lambda: dict(SWITCHES))
    texts: dict[str, str] = field(default_factory=lambda: dict(TEXTS))

    def blocks(self, rule: str) -> bool:
        """Say whether a rule keeps a case from design."""
        return self.forces[rule] == "blocks"

    def number(self, name: str) -> float:
        """Return a number of the policy in the unit its name carries."""
        return self.numbers[name]

    @property
    def gauges_mm(self) -> tuple[float, ...]:
        """The gauges the lab uses, in mm."""
        return tuple(float(size) for size in self.texts["gauges_mm"].split())

    def fits_number_pattern(self, case_number: str) -> bool:
        """Say whether a case number has the shape the lab uses."""
        return re.fullmatch(self.texts["case_number_pattern"], case_number) is not None


def items() -> tuple[str, ...]:
    """Return the names of everything a policy holds."""
    return (*RULES, *NUMBERS, *SWITCHES, *TEXTS)


def changed(policy: Policy, item: str, value: str) -> Policy:
    """Return the policy with one item changed; raise BadEntry when item or value is none."""
    if item in RULES:
        return replace(policy, forces={**policy.forces, item: _force(value)})
    if item in NUMBERS:
        return replace(policy, numbers={**policy.numbers, item: _number(item, value)})
    if item in SWITCHES:
        return replace(policy, switches={**policy.switches, item: _switch(value)})
    if item in TEXTS:
        return replace(policy, texts={**policy.texts, item: _text(policy, item, value)})
    raise BadEntry("item", "no_such_item", value=item)


def _force(value: str) -> Force:
    for force in FORCES:
        if value == force:
            return force
    raise BadEntry("value", "not_a_choice", value=value, choices=", ".join(FORCES))


def _number(item: str, value: str) -> float:
    bounds = NUMBERS[item]
    try:
        number = float(value)
    except ValueError:
        raise BadEntry("value", "not_a_number", value=value) from None
    if not bounds.low <= number <= bounds.high:
        raise BadEntry(
            "value", "out_of_range", value=value, low=bounds.low, high=bounds.high, unit=bounds.unit
        )
    if number not in ONE_OF.get(item, (number,)):
        choices = ", ".join(f"{one:g}" for one in ONE_OF[item])
        raise BadEntry("value", "not_a_choice", value=value, choices=choices)
    return number


def _switch(value: str) -> bool:
    if value not in ("on", "off"):
        raise BadEntry("value", "not_a_choice", value=value, choices="on, off")
    return value == "on"


def _text(policy: Policy, item: str, value: str) -> str:
    if item in COLOURS:
        return _colour(value, policy.texts[COLOURS[item]])
    return _gauges(value) if item == "gauges_mm" else _shape(value)


def _colour(value: str, other: str) -> str:
    """Rings are told from marks by colour alone, so the two pencils must differ clearly."""
    rgb = rgb_of(value)
    if apart(rgb, rgb_of(other)) < LEAST_APART:
        raise BadEntry("value", "colours_alike", value=value, other=other)
    return written(rgb)


def _gauges(value: str) -> str:
    sizes = [_gauge(part) for part in value.replace(",", " ").split()]
    if not 1 <= len(sizes) <= 6:
        raise BadEntry("value", "one_to_six_gauges", value=value)
    return " ".join(f"{size:.2f}" for size in sorted(set(sizes)))


def _gauge(part: str) -> float:
    try:
        size = float(part)
    except ValueError:
        raise BadEntry("value", "not_a_number", value=part) from None
    if not 0.05 <= size <= 1.5:
        raise BadEntry("value", "out_of_range", value=part, low=0.05, high=1.5, unit="mm")
    return size


def _shape(value: str) -> str:
    try:
        re.compile(value)
    except (re.error, OverflowError, RecursionError):
        raise BadEntry("value", "no_pattern", value=value) from None
    if not value or _may_run_away(value):
        raise BadEntry("value", "no_pattern", value=value)
    return value


def _may_run_away(shape: str) -> bool:
    """A repeat of a group can take for ever on hostile text, so a pattern may only repeat single characters."""
    return re.search(r"\)\s*[*+{?]", shape) is not None or len(shape) > 80


def policy_from(entries: Iterable[Entry]) -> Policy:
    """Return the policy that entries make, in order of their ids; what this version cannot read is left out."""
    policy = Policy()
    for entry in sorted(entries, key=lambda entry: entry.id):
        if isinstance(entry.body, PolicySet):
            try:
                policy = changed(policy, entry.body.item, entry.body.value)
            except BadEntry:
                continue
    return policy
