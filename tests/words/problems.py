"""The problems that the rules can find, read from their source."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

from bench.core.claims import LOOKED
from bench.core.entries import FINDINGS, kind_of
from bench.core.entries import vocabulary as v
from bench.core.lines import LineCode
from bench.core.retention import BalanceCode
from bench.core.rules import balance, records, settings

LINES = {"most_distal_rests", "diagonal", "mesial_rests_of_the_space"}
CORE = Path(settings.__file__).parents[1]


def problems() -> set[tuple[str, str]]:
    """Return every (rule, problem) that the rules can find; LookupError for one that cannot be told."""
    found = set()
    for room in (settings, records, balance):
        tree = ast.parse(Path(room.__file__).read_text("utf-8"))
        for rule in tree.body:
            if isinstance(rule, ast.FunctionDef):
                found |= set(_found_by(rule, tree))
    return found


def claims() -> set[str]:
    """Return the name of every claim on which entries can contradict each other."""
    nodes = [
        node
        for room in ("claims.py", "contradiction.py")
        for node in ast.walk(ast.parse((CORE / room).read_text("utf-8")))
    ]
    makers = {"_whole", "_of_site", "_of_tooth"}
    calls = [node for node in nodes if isinstance(node, ast.Call)]
    named = {call.args[0].value for call in calls if ast.unparse(call.func) in makers}
    pairs = [node.elts[0] for node in nodes if isinstance(node, ast.Tuple) and len(node.elts) == 2]
    settings_left = [call.args[0] for call in calls if ast.unparse(call.func) == "Contradiction"]
    tuples = [one for one in (*pairs, *settings_left) if isinstance(one, ast.Tuple)]
    told = {one.elts[0].value for one in tuples if isinstance(one.elts[0], ast.Constant)}
    return named | told | {str(LOOKED[0])}


def _found_by(rule: ast.FunctionDef, tree: ast.Module) -> Iterator[tuple[str, str]]:
    for call in ast.walk(rule):
        if isinstance(call, ast.Call) and ast.unparse(call.func) == "Reason":
            name, problem = call.args[:2]
            for one in _values(problem, rule, tree):
                yield ast.literal_eval(name), one


def _values(problem: ast.expr, rule: ast.FunctionDef, tree: ast.Module) -> set[str]:
    if isinstance(problem, ast.Constant):
        return {problem.value}
    if isinstance(problem, ast.IfExp):
        both = (problem.body, problem.orelse)
        return set().union(*(_values(one, rule, tree) for one in both))
    said = ast.unparse(problem)
    if said.startswith("_gauge_problem("):
        return _returned(tree, "_gauge_problem", "_check_problem")
    if isinstance(problem, ast.Name):
        return set().union(*(_values(one, rule, tree) for one in _assigned(rule, said)))
    return {
        "f'stale_{entry.kind}'": {f"stale_{kind_of(kind)}" for kind in FINDINGS},
        "f'disagree_{kind}'": {f"disagree_{claim}" for claim in claims()},
        "f'not_{name}'": {f"not_{name}" for name in records._DECLARED},
        "said.body.what": set(v.DISTURBANCES),
        "balance.reason": set(get_args(BalanceCode)) - {"shared_letter"},
        "survey.fulcrum.reason": set(get_args(LineCode)) - LINES,
    }[said]


def _assigned(rule: ast.FunctionDef, name: str) -> list[ast.expr]:
    """Return every expression that a rule gives to a name; LookupError when there is none."""
    found = [node for node in ast.walk(rule) if isinstance(node, ast.Assign)]
    values = [node.value for node in found if ast.unparse(node.targets[0]) == name]
    if not values:
        raise LookupError(f"{rule.name} takes {name} from elsewhere")
    return values


def _returned(tree: ast.Module, *names: str) -> set[str]:
    """Return the texts that the named functions give back."""
    functions = [f for f in tree.body if isinstance(f, ast.FunctionDef) and f.name in names]
    assert len(functions) == len(names)
    backs = [b for f in functions for b in ast.walk(f) if isinstance(b, ast.Return) and b.value]
    values = [one for back in backs for one in _outcomes(back.value)]
    return {one.value for one in values if isinstance(getattr(one, "value", None), str)}


def _outcomes(value: ast.expr) -> list[ast.expr]:
    return [value.body, value.orelse] if isinstance(value, ast.IfExp) else [value]
