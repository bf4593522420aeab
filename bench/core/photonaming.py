"""Which of the marks found in a photo are A, B and C: the naming under which they fit the record best."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from bench.core.arch import Vector
from bench.core.photocheck import checked
from bench.core.photoplane import Three, distances_mm, sense_from_above
from bench.core.tripod import Sense

MOST_MARKS = 8
Order = tuple[int, int, int]


def named(places_mm: Sequence[Vector], caliper_mm: Three, sense: Sense) -> Order | None:
    """Return which places are A, B and C; None for fewer than three.

    The surest come first. Only namings that turn the recorded way are thought of: a swap of two
    sides must not vanish in a swap of two names. Three that fit the record go before three surer
    ones that do not.
    """
    known = range(min(len(places_mm), MOST_MARKS))
    orders = [
        order for three in combinations(known, 3) for order in _turning(three, places_mm, sense)
    ]
    if not orders:
        return None
    found = {order: checked(caliper_mm, sense, _sides(order, places_mm), sense) for order in orders}
    fitting = [order for order in orders if found[order].fits] or orders[:3]
    return min(fitting, key=lambda order: found[order].uneven)


def _turning(three: Order, places: Sequence[Vector], sense: Sense) -> Iterator[Order]:
    a, b, c = three
    if sense_from_above([places[i] for i in three]) != sense:
        b, c = c, b
    yield from ((a, b, c), (b, c, a), (c, a, b))


def _sides(order: Order, places: Sequence[Vector]) -> Three:
    return distances_mm([places[i] for i in order])
