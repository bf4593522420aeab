"""The ids of forms as ids of entries: made when the page was shown, stamped when it was sent."""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock

from bench.core.bounds import BadEntry
from bench.core.ids import entry_id, is_entry_id, time_of_entry_id_ms
from bench.web import clock

FRESH_MS = 5_000
REMEMBERED = 20_000


class Stamps:
    """Which id a form's entry got, so that a second tap of the same form states nothing twice.

    Ids sort by their time, and what was said later must sort later: a form that lay open while others
    recorded gets an id of the moment it is sent, with the random bits of its own.
    """

    def __init__(self) -> None:
        self._given: OrderedDict[str, str] = OrderedDict()
        self._lock = Lock()

    def stamped(self, form_id: str) -> str:
        """Return the entry's id for a form's id; raise BadEntry when it is none."""
        if not is_entry_id(form_id):
            raise BadEntry("entry_id", "no_entry_id", value=form_id[:60])
        with self._lock:
            if form_id not in self._given:
                self._given[form_id] = _of_now(form_id)
                while len(self._given) > REMEMBERED:
                    self._given.popitem(last=False)
            return self._given[form_id]


def _of_now(form_id: str) -> str:
    now_ms = clock.now_ms()
    if 0 <= now_ms - time_of_entry_id_ms(form_id) <= FRESH_MS:
        return form_id
    plain = int(form_id.replace("-", ""), 16)
    random_bits = (plain >> 64 & 0xFFF) << 62 | plain & (1 << 62) - 1
    return entry_id(now_ms, random_bits)
