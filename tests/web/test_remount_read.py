"""A re-mount that a tablet read: what its form names, and how it stands among the rounds."""

from __future__ import annotations

from math import dist

import pytest

from bench.core.entries import Disturbed, RemountRead
from tests.facts.tripod_figures import REMOUNT_HEIGHTS_MM, REMOUNT_MARKS_MM, REMOUNT_OFF_DEG
from tests.web.latercases import form_to, locked, marks


@pytest.fixture
def tripod(bench):
    """The marks of the worked figures, at the setting the cast has."""
    a, b, c = REMOUNT_MARKS_MM
    made = marks(d_ab_mm=dist(a, b), d_ac_mm=dist(a, c), d_bc_mm=dist(b, c), sense="clockwise")
    return bench.state(made, setting=locked(bench).id)


def test_a_tablet_names_all_that_the_figures_rest_on(bench, tripod):
    fell = bench.state(Disturbed("table_moved"), setting=tripod.setting)
    form = form_to(bench.at("remount"), "/remount")

    assert (form.value("brings_back"), form.value("tripod")) == (tripod.setting, tripod.id)
    assert (form.value("answers"), form.value("tolerance_deg")) == (fell.id, "1")


def test_a_re_mount_read_on_a_tablet_is_among_the_rounds_with_its_figures(bench, tripod):
    body = RemountRead("tripod", tripod.setting, 1.0, tripod.id, None, *REMOUNT_HEIGHTS_MM)
    bench.state(body, setting=tripod.setting)

    assert f"{REMOUNT_OFF_DEG[2]:.2f}" in bench.at("remount").text


def test_without_scripts_the_form_for_tablets_is_recorded_by_the_bench_all_the_same(bench, tripod):
    read = dict(zip(("h_a_mm", "h_b_mm", "h_c_mm"), map(str, REMOUNT_HEIGHTS_MM), strict=True))
    around = {"setting": tripod.setting, "brings_back": tripod.setting, "tripod": tripod.id}
    form = {**around, **read, "method": "tripod", "tolerance_deg": "1"}
    answer = bench.client.send(f"/case/{bench.code}/record/remount_read", form)

    assert answer.status_code == 303
    assert [one.body.heights_mm for one in bench.entries("remount_read")] == [REMOUNT_HEIGHTS_MM]
