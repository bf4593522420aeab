"""Until when the record of a case is kept by the lab's policy."""

from __future__ import annotations

from datetime import MAXYEAR, date

from bench.web import book


def kept_until(touched_at: str) -> str:
    """Return the day until which a record last touched then is kept at least, by the policy."""
    last = date.fromisoformat(touched_at[:10])
    year = min(last.year + int(book.lab().policy.number("keep_years")), MAXYEAR)
    # The 29th of February ends with the 28th in a year that has none.
    day = min(last.day, 28) if last.month == 2 else last.day
    return last.replace(year=year, day=day).isoformat()
