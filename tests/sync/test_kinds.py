from __future__ import annotations

from bench.core.entries import KINDS, ONLY_AT_THE_BENCH
from bench.sync.kinds import kinds


def test_every_kind_a_tablet_may_state_is_told_with_its_fields():
    told = kinds()

    assert set(told) == {kind for kind, body in KINDS.items() if body not in ONLY_AT_THE_BENCH}
    assert {"tooth": "whole", "surface": "text", "gauge_mm": "number", "contact": "text"} == {
        name: told["undercut_read"][name] for name in ("tooth", "surface", "gauge_mm", "contact")
    }
    assert told["setting_taken"]["ap_deg"] == "number?"
    assert told["teeth_recorded"]["missing"] == "wholes"
    assert told["survey_lines_drawn"]["sites"] == "texts"
    assert told["interferences_looked"] == {"none_seen": "yes_no"}
    assert told["interference_noted"]["tooth"] == "whole?"


def test_only_the_types_of_the_protocol_are_used():
    plain = {"text", "number", "whole", "yes_no", "texts", "numbers", "wholes"}

    used = {kind for fields in kinds().values() for kind in fields.values()}

    assert {kind.removesuffix("?") for kind in used} <= plain
