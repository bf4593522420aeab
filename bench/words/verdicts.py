"""What the rules find, in words: reasons, Kennedy class, fulcrum line, balance, pushes and steps."""

from __future__ import annotations

from typing import NamedTuple

from bench.core.kennedy import KennedyResult
from bench.core.lines import FulcrumLine
from bench.core.release import Judged
from bench.core.retention import Balance, Resultant
from bench.core.rules.reason import Reason
from bench.core.steps import Step
from bench.words.reader import Reader


class ReasonWords(NamedTuple):
    """A reason in words: what stands against release, what settles it, and where the rule comes from."""

    sentence: str
    remedy: str
    source: str


class KennedyWords(NamedTuple):
    """The Kennedy class in words, and a sentence for each reason."""

    title: str
    reasons: tuple[str, ...]


def reason_in_words(found: Judged | Reason, reader: Reader) -> ReasonWords:
    """Return a reason's sentence, remedy and source; a problem without words is named by its code."""
    reason = found.reason if isinstance(found, Judged) else found
    params = reader.all_shown(reason.params)
    key = f"rules.{reason.rule}.{reason.problem}"
    if not reader.words.has(key):
        return ReasonWords(
            reader.say("rules.unknown", rule=reason.rule, problem=reason.problem), "", ""
        )
    source = reader.say(f"rules.{reason.rule}.source")
    return ReasonWords(reader.say(key, **params), reader.say(f"{key}_remedy", **params), source)


def rule_name(rule: str, reader: Reader) -> str:
    """Return the name of a rule: `Survey lines`."""
    key = f"rules.{rule}.name"
    return reader.say(key) if reader.words.has(key) else rule


def overruling_in_words(judged: Judged, reader: Reader) -> str:
    """Return who overruled a reason and why; nothing when nobody did."""
    if judged.overruling is None:
        return ""
    entry = judged.overruling.entry
    return reader.say("rules.overruled", person=entry.person, reason=entry.reason)


def kennedy_in_words(result: KennedyResult, reader: Reader) -> KennedyWords:
    """Return the class with its modifications, and why it was found."""
    title = reader.say(f"kennedy.class.{result.kennedy_class}")
    if result.modifications:
        title = reader.say("kennedy.with_modifications", title=title, count=result.modifications)
    return KennedyWords(title, tuple(_kennedy_reason(*reason, reader) for reason in result.reasons))


def _kennedy_reason(code: str, params: object, reader: Reader) -> str:
    values = dict(params) if isinstance(params, dict) else {}
    count = values.pop("count", None)
    shown = reader.all_shown(values)
    key = f"kennedy.reason.{code}"
    return reader.say(key, **shown) if count is None else reader.counted(key, count, **shown)


def fulcrum_in_words(fulcrum: FulcrumLine, reader: Reader) -> str:
    """Return where the fulcrum line runs, or why there is none."""
    line = fulcrum.line
    key = f"retention.fulcrum.{fulcrum.reason}"
    if line is None:
        return reader.say(key)
    return reader.say(key, right=reader.tooth(line.right_tooth), left=reader.tooth(line.left_tooth))


def balance_in_words(balance: Balance, reader: Reader) -> str:
    """Return whether retention is balanced, and why."""
    letters = {"right": balance.right_letters, "left": balance.left_letters}
    params = {side: reader.letters(found) for side, found in letters.items()}
    empty = "left" if balance.right_letters else "right"
    side = reader.choice("side", empty)
    return reader.say(f"retention.balance.{balance.reason}", side=side, **params)


def resultant_in_words(resultant: Resultant, reader: Reader) -> str:
    """Return what the pushes across the arch leave: nothing, a share, or all of it."""
    left = round(100 * (resultant.transverse_ratio or 0.0))
    return reader.say(f"retention.pushes.{resultant.verdict}", percent=left)


def step_in_words(step: Step, reader: Reader) -> str:
    """Return a step's name with how far it has come: `Undercuts: 3 of 4 recorded`."""
    progress = reader.say(f"steps.progress.{step.progress}")
    name = reader.say(f"steps.{step.key}.title")
    return reader.say(
        "steps.line", name=name, progress=progress, done=step.done, wanted=step.wanted
    )
