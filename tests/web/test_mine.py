"""The cases that a tablet keeps at hand for the person signed in."""

from __future__ import annotations

from bench.core.entries import CaseOpened, RestWished
from bench.core.ids import case_code
from tests.conftest import Tablet
from tests.web.surveyedcases import OnBench, State, mounted

OTHER = case_code(77)


def test_open_cases_of_a_person_are_named_the_one_touched_last_first(
    bench: OnBench, technician: Tablet, state: State
) -> None:
    mounted(bench)
    state(CaseOpened(OTHER, "26-0077", "lower", "master"), case=OTHER, person="SUP")
    state(RestWished(34, "mesial"), case=OTHER)

    assert {"codes": [OTHER, bench.code]} == technician.get("/offline/mine").json


def test_a_case_that_only_others_work_on_is_not_named(
    bench: OnBench, supervisor: Tablet, state: State
) -> None:
    mounted(bench)
    state(CaseOpened(OTHER, "26-0077", "lower", "master"), case=OTHER, person="SUP")

    assert {"codes": [OTHER]} == supervisor.get("/offline/mine").json


def test_a_stranger_is_told_no_case(bench: OnBench, stranger: Tablet) -> None:
    mounted(bench)

    assert 303 == stranger.get("/offline/mine").status_code
