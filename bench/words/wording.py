"""Everything the core finds, put into the words of the catalogue for one reader."""

from __future__ import annotations

from bench.words.reader import LengthUnit, Reader, gauge_in_words
from bench.words.tilts import tilt_in_words, to_lower_in_words
from bench.words.trail import (
    ContradictionWords,
    claim_in_words,
    contradiction_in_words,
    entry_in_words,
    fate_in_words,
)
from bench.words.verdicts import (
    KennedyWords,
    ReasonWords,
    balance_in_words,
    fulcrum_in_words,
    kennedy_in_words,
    overruling_in_words,
    reason_in_words,
    resultant_in_words,
    rule_name,
    step_in_words,
)

__all__ = [
    "ContradictionWords",
    "KennedyWords",
    "LengthUnit",
    "Reader",
    "ReasonWords",
    "balance_in_words",
    "claim_in_words",
    "contradiction_in_words",
    "entry_in_words",
    "fate_in_words",
    "fulcrum_in_words",
    "gauge_in_words",
    "kennedy_in_words",
    "overruling_in_words",
    "reason_in_words",
    "resultant_in_words",
    "rule_name",
    "step_in_words",
    "tilt_in_words",
    "to_lower_in_words",
]
