"""Every kind a tablet may state of a case opens again in the form of its own step, or is known to have none."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

import pytest

from bench.core.entries import InstrumentAdded, UndercutRead
from bench.web.ownforms import OWN_FORMS
from bench.web.stating import schema
from tests.web.latercases import locked, marks
from tests.web.surveyedcases import mounted, opened

# These are stated by a key beside what they are about, by a script over a photo, beside another
# statement, or by the tablet itself; a reading of a drill is blind to the one before.
WITHOUT = {
    "confirmed", "withdrawn", "photo_marks_confirmed", "photo_drawn", "person_unconfirmed",
    "uncertainty_stated", "drill_reading",
}  # fmt: skip


def page_of(bench: Any, kind: str, body: dict[str, Any]) -> str:
    """The page that the script asks for: static/js/ownform.js makes the same address."""
    own = OWN_FORMS[kind]
    asked = dict(own.fixed)
    for name, field in own.asks.items():
        value = body.get(field)
        many = value if isinstance(value, (list, tuple)) else [value]
        text = ".".join(str(one) for one in many if one is not None)
        if text:
            asked[name] = text
    return bench.client.get(f"{own.path.format(case=bench.code, **body)}?{urlencode(asked)}").text


def form_in(text: str, kind: str) -> str:
    """All forms of a kind on a page."""
    found = re.findall(rf'<form(?=[^>]*data-statement="{kind}").*?</form>', text, re.DOTALL)
    return html.unescape("".join(found))


def test_every_kind_has_a_form_of_its_own_or_is_known_to_have_none():
    assert set(OWN_FORMS) | WITHOUT == set(schema())
    assert not set(OWN_FORMS) & WITHOUT


def before_mounting(bench: Any) -> None:
    opened(bench)


def at_a_setting(bench: Any) -> None:
    zero = mounted(bench)
    bench.state(UndercutRead(35, "MB", 0.5, "both", 1.4), setting=zero.id)


def marked(bench: Any) -> None:
    setting = locked(bench)
    bench.state(marks(), setting=setting.id)


def equipped(bench: Any) -> None:
    bench.say(InstrumentAdded("T1", "table"), person="SUP")


SHOWN: list[tuple[str, Callable[[Any], None], dict[str, Any], tuple[str, ...]]] = [
    ("cast_received", before_mounting, {}, ('name="remark"', 'name="soundness"')),
    ("disinfection_recorded", before_mounting, {}, ('name="status"',)),
    ("prescription_recorded", before_mounting, {}, ('name="reference"', 'name="dated"')),
    ("teeth_recorded", before_mounting, {"missing": (36, 38), "replaced": (36,)},
     ('name="missing" value="36"', 'name="missing" value="38"', 'name="replaced" value="36"')),
    ("clasp_wished", at_a_setting, {"tooth": 34, "surface": "MB"},
     ('value="34"', 'value="MB"', 'name="wanted_mm"', 'name="arm_mm"')),
    ("rest_wished", at_a_setting, {"tooth": 34}, ('value="34"', 'name="seat"')),
    ("guide_plane_wished", at_a_setting, {"tooth": 34, "surface": "D"}, ('value="34"', 'value="D"')),
    ("indirect_retainer_wished", at_a_setting, {"tooth": 43}, ('value="43"',)),
    ("mounted", at_a_setting, {}, ('name="surveyor"', 'name="table"', 'name="remark"')),
    ("setting_taken", at_a_setting, {}, ('name="ap_deg"', 'name="lat_deg"', 'name="instrument"')),
    ("setting_made_final", at_a_setting, {}, ('name="locked"',)),
    ("guide_plane_read", at_a_setting, {"tooth": 35, "surface": "D"},
     ('value="35"', 'name="light"', 'name="gap_mm"', 'name="height_mm"')),
    ("undercut_read", at_a_setting, {"tooth": 44, "surface": "DB", "gauge_mm": 0.25},
     ('value="44"', 'value="DB"', 'value="0.25"', 'name="drop_mm"', 'name="contact"')),
    ("interference_noted", at_a_setting, {"place": "palate", "tooth": 35},
     ('name="place"', 'name="nature"', 'name="tooth"')),
    ("interferences_looked", at_a_setting, {}, ('name="none_seen"',)),
    ("survey_lines_drawn", at_a_setting, {"sites": ("34B", "34L")},
     ('name="sites" value="34B"', 'name="sites" value="34L"', 'name="lead_at_gingival"')),
    ("tripod_marked", marked, {}, ('name="d_ab_mm"', 'name="sense"', 'name="ringed"')),
    ("fourth_mark_made", marked, {}, ('name="d_ad_mm"', 'name="d_cd_mm"')),
    ("tip_chosen", at_a_setting, {"tooth": 35, "surface": "MB"},
     ('value="35"', 'name="material"', 'name="reciprocation"', 'name="arm_mm"')),
    ("disturbed", at_a_setting, {}, ('name="what"', 'name="remark"')),
    ("remount_read", marked, {"method": "tripod"}, ('name="h_a_mm"', 'name="second_check"')),
    ("instrument_checked", equipped, {"tag": "T1"}, ('name="tag" value="T1"', 'name="reading"')),
    ("table_described", equipped, {"tag": "T1"}, ('name="tag" value="T1"', 'name="lowers_front"')),
    ("photo_kept", marked, {"shows": "site"}, ('name="shows" value="site"', 'name="photo"')),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "before", "body", "wanted"), SHOWN, ids=[one[0] for one in SHOWN])
def test_the_page_shows_the_form_with_the_place_of_what_was_refused(
    bench: Any,
    kind: str,
    before: Callable[[Any], None],
    body: dict[str, Any],
    wanted: tuple[str, ...],
) -> None:
    before(bench)
    form = form_in(page_of(bench, kind, body), kind)

    assert [] == [one for one in wanted if one not in form]


def test_a_case_that_nobody_opened_is_opened_under_its_label(bench: Any) -> None:
    form = form_in(page_of(bench, "case_opened", {"code": bench.code}), "case_opened")

    assert f'name="code" value="{bench.code}"' in form
    assert {"case_opened", *(one[0] for one in SHOWN)} == set(OWN_FORMS)


def test_the_page_of_the_outbox_carries_the_forms_for_its_script(stranger: Any) -> None:
    text = stranger.get("/outbox").text
    told = json.loads(html.unescape(re.search(r'data-own-forms="([^"]*)"', text)[1]))

    assert told["undercut_read"] == {
        "path": "/case/{case}/undercuts", "fixed": {},
        "asks": {"tooth": "tooth", "surface": "surface", "gauge_mm": "gauge_mm"},
    }  # fmt: skip
