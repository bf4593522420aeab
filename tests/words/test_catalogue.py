from __future__ import annotations

import ast
from pathlib import Path
from typing import get_args

import pytest

from bench.core.entries import KINDS
from bench.core.entries import vocabulary as v
from bench.core.kennedy import KennedyClass, ReasonCode
from bench.core.lines import LineCode
from bench.core.policy import RULES, items
from bench.core.release import STATES
from bench.core.retention import BalanceCode, Verdict
from bench.core.steps import STEPS, Progress
from bench.words import Words
from tests.words.problems import claims, problems

WORDS = Words("en")
KEYS = WORDS.keys()
ENTRIES = Path(v.__file__).parent


def vocabulary_fields():
    """Return (field, list) for every closed list that a field of an entry takes its value from."""
    for room in ENTRIES.glob("*.py"):
        for call in ast.walk(ast.parse(room.read_text("utf-8"))):
            if isinstance(call, ast.Call) and ast.unparse(call.func) == "bounds.one_of":
                yield ast.literal_eval(call.args[0]), ast.unparse(call.args[2])


def test_every_problem_of_every_rule_has_a_sentence_and_a_remedy():
    found = problems()

    assert len(found) > 60
    keys = {f"rules.{rule}.{problem}" for rule, problem in found}
    assert set() == {key for key in keys if not WORDS.has(key)}
    assert set() == {key for key in keys if not WORDS.has(f"{key}_remedy")}


def test_no_words_are_kept_for_a_problem_that_no_rule_finds():
    about = {"name", "source"}
    said = {tuple(key.split(".")[1:]) for key in KEYS if key.startswith("rules.")}
    kept = {pair for pair in said if len(pair) == 2 and pair[1] not in about}

    assert problems() == {pair for pair in kept if not pair[1].endswith("_remedy")}


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_of_the_policy_has_a_name_and_a_source(rule):
    assert WORDS.has(f"rules.{rule}.name")
    assert WORDS.has(f"rules.{rule}.source")


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_entry_has_a_sentence_and_a_noun(kind):
    assert WORDS.has(f"entries.{kind}.said")
    assert WORDS.has(f"entries.{kind}.noun")


def test_a_clause_belongs_to_a_field_of_its_kind():
    clauses = [
        key.split(".")[1:]
        for key in KEYS
        if key.startswith("entries.") and key.split(".")[-1].startswith("with")
    ]
    wrong = [
        (kind, clause)
        for kind, clause in clauses
        if clause.removeprefix("with_").removeprefix("without_")
        not in KINDS[kind].__dataclass_fields__
    ]

    assert len(clauses) > 30
    assert wrong == []


def test_every_value_of_every_list_has_words():
    used = {(field, name) for field, name in vocabulary_fields() if name.startswith("v.")}
    missing = [
        f"choices.{field}.{value}"
        for field, name in used
        for value in getattr(v, name.removeprefix("v."))
        if not WORDS.has(f"choices.{field}.{value}")
    ]

    lists = {name for name, value in vars(v).items() if name.isupper() and isinstance(value, tuple)}
    assert lists == {name.removeprefix("v.") for _, name in used}
    assert missing == []


def test_every_item_of_the_policy_has_words():
    assert [] == [
        item for item in items() if item not in RULES and not WORDS.has(f"choices.policy.{item}")
    ]


def test_every_code_of_the_core_has_words():
    keys = [
        *(f"kennedy.reason.{code}" for code in get_args(ReasonCode)),
        *(f"kennedy.class.{code}" for code in get_args(KennedyClass)),
        *(f"kennedy.means.{code}" for code in get_args(KennedyClass)),
        *(f"retention.fulcrum.{code}" for code in get_args(LineCode)),
        *(f"retention.balance.{code}" for code in get_args(BalanceCode)),
        *(f"retention.pushes.{code}" for code in get_args(Verdict)),
        *(f"steps.{key}.{part}" for key in STEPS for part in ("title", "what")),
        *(f"steps.progress.{code}" for code in get_args(Progress)),
        *(f"steps.{part}.{state}" for part in ("state", "state_means") for state in STATES),
        *(f"entries.claim.{claim}" for claim in claims()),
    ]

    assert [] == [key for key in keys if not WORDS.has(key)]


def test_nothing_in_the_catalogue_calls_a_design_good_or_safe():
    rooms = ("rules.", "retention.", "kennedy.", "steps.", "entries.", "choices.")
    praise = {"good", "safe", "ideal", "optimal", "perfect", "correct."}
    said = {
        key: set(WORDS._sentences[key].lower().split()) for key in KEYS if key.startswith(rooms)
    }

    assert {} == {key: words & praise for key, words in said.items() if words & praise}
