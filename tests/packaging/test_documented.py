"""Whatever a person can name is explained: commands, options, routes, settings, kinds, rules, policy."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import click
import pytest
from flask import Flask

from bench.cli import main
from bench.core.entries import KINDS
from bench.core.policy import RULES, items
from bench.settings import NAMES, PREFIX

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def told() -> str:
    """README and DEVELOPERS in one."""
    files = [ROOT / name for name in ("README.md", "DEVELOPERS.md")]
    return "\n".join(file.read_text(encoding="utf-8") for file in files)


def untold(names: Iterable[str], told: str) -> list[str]:
    """Return the names that stand nowhere as a word of their own."""
    found = (
        name for name in names if not re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-])", told)
    )
    return sorted(set(found))


def commands(group: click.Command, path: str = "tiltbook") -> Iterator[tuple[str, click.Command]]:
    """Yield every command by what is typed to start it."""
    for name, command in getattr(group, "commands", {}).items():
        yield f"{path} {name}", command
        yield from commands(command, f"{path} {name}")


def test_every_command_is_explained(told: str) -> None:
    assert untold((path for path, _ in commands(main)), told) == []


def test_every_option_is_explained(told: str) -> None:
    options = {
        option
        for _, command in commands(main)
        for parameter in command.params
        if isinstance(parameter, click.Option)
        for option in (*parameter.opts, *parameter.secondary_opts)
    }

    assert untold(options, told) == []


def test_every_route_is_explained(told: str, empty_app: Flask) -> None:
    rules = (
        re.sub(r"<(?:[^<>]*:)?(\w+)>", r"<\1>", str(rule))
        for rule in empty_app.url_map.iter_rules()
    )
    explained = re.sub(r"<(?:[^<>]*:)?(\w+)>", r"<\1>", told)

    assert sorted({rule for rule in rules if f"`{rule}`" not in explained}) == []


def test_every_setting_is_explained(told: str) -> None:
    assert untold((PREFIX + name.upper() for name in NAMES), told) == []


def test_every_kind_of_entry_is_explained(told: str) -> None:
    assert untold(KINDS, told) == []


def test_every_rule_is_explained(told: str) -> None:
    assert untold(RULES, told) == []


def test_every_item_of_the_policy_is_explained(told: str) -> None:
    assert untold(items(), told) == []


def test_a_name_within_another_does_not_count() -> None:
    assert ["data"] == untold(["data"], "--data metadata database")
