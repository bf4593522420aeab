"""Who sits at which tablet, and for how long."""

from __future__ import annotations

import pytest

from bench.web.seats import Seats

IDLE_MS = 600_000
START_MS = 1_773_043_200_000


@pytest.fixture
def seats() -> Seats:
    taken = Seats()
    taken.take("AM", "seat", START_MS, IDLE_MS)
    return taken


def test_a_seat_that_is_used_is_kept(seats):
    for minutes in (9, 18, 27):
        now_ms = START_MS + minutes * 60_000
        assert seats.whose("seat", now_ms, IDLE_MS, used=True) == "AM"


def test_a_seat_left_idle_is_free(seats):
    assert seats.whose("seat", START_MS + IDLE_MS + 1, IDLE_MS, used=True) is None
    assert seats.whose("seat", START_MS, IDLE_MS, used=True) is None


def test_the_second_of_two_requests_at_once_may_have_looked_at_the_clock_first(seats):
    seats.whose("seat", START_MS + 5, IDLE_MS, used=True)

    assert seats.whose("seat", START_MS + 2, IDLE_MS, used=True) == "AM"


def test_a_clock_set_far_back_frees_the_seat(seats):
    assert seats.whose("seat", START_MS - IDLE_MS - 1, IDLE_MS, used=True) is None
