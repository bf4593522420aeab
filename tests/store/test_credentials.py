from __future__ import annotations

import threading
from collections.abc import Callable

import pytest
from argon2 import PasswordHasher

from bench.store.credentials import Credentials, Patience, weakness_of
from bench.store.open import Store
from bench.store.refusals import Locked, PinRefused, Throttled

NOW_MS = 1_700_000_000_000
QUICK = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
PATIENCE = Patience(free_tries=3, first_wait_s=2, longest_wait_s=5, tries_until_locked=6)


@pytest.fixture
def credentials(store: Store) -> Credentials:
    made = Credentials(store, PATIENCE, QUICK)
    made.set_pin("AB", "8351")
    return made


def fail(credentials: Credentials, times: int, start_ms: int = NOW_MS) -> int:
    """Type a wrong PIN so many times, waiting long enough each time; return the time after it."""
    for n in range(times):
        assert not credentials.verify("AB", "0007", start_ms + n * 60_000)
    return start_ms + times * 60_000


def test_the_right_pin_opens_and_a_wrong_one_does_not(credentials: Credentials) -> None:
    assert credentials.verify("AB", "8351", NOW_MS)
    assert not credentials.verify("AB", "8352", NOW_MS)


def test_only_an_argon2id_hash_is_kept(credentials: Credentials, store: Store) -> None:
    (kept,) = store.db.conn.execute("SELECT pin_hash FROM credentials").fetchone()

    assert kept.startswith("$argon2id$")
    assert "8351" not in kept


# Common practice, no source: the PINs that are tried first.
@pytest.mark.parametrize(
    ("pin", "reason"),
    [
        ("12", "length"), ("123456789", "length"), ("", "not_digits"), ("12a4", "not_digits"),
        ("١٢٣٥", "not_digits"), ("0000", "same_digit"), ("777777", "same_digit"), ("1234", "run"),
        ("87654", "run"), ("7890", "run"), ("1098", "run"), ("1212", "repeat"),
        ("135135", "repeat"), ("1987", "year"), ("2024", "year"),
    ],
)  # fmt: skip
def test_an_obvious_pin_is_refused_with_its_reason(
    credentials: Credentials, pin: str, reason: str
) -> None:
    with pytest.raises(PinRefused) as caught:
        credentials.set_pin("CD", pin)

    assert reason == caught.value.params["reason"]
    assert not credentials.has_pin("CD")


@pytest.mark.parametrize("pin", ["8351", "0472", "1235", "121213", "20241"])
def test_other_pins_may_be_used(pin: str) -> None:
    assert weakness_of(pin) is None


def test_after_some_wrong_pins_the_next_has_to_wait(credentials: Credentials) -> None:
    for _ in range(3):
        credentials.verify("AB", "0007", NOW_MS)

    with pytest.raises(Throttled) as caught:
        credentials.verify("AB", "8351", NOW_MS + 500)

    assert 2 == caught.value.seconds
    assert credentials.verify("AB", "8351", NOW_MS + 2000)


def test_the_wait_doubles_up_to_its_limit() -> None:
    assert [0, 0, 0, 2, 4, 5, 5] == [PATIENCE.wait_s(n) for n in range(7)]
    assert 5 == PATIENCE.wait_s(10_000)


def test_a_right_pin_forgets_the_wrong_ones(credentials: Credentials) -> None:
    credentials.verify("AB", "8351", fail(credentials, 5))

    fail(credentials, 5)

    assert not credentials.is_locked("AB")


def test_too_many_wrong_pins_lock_until_a_supervisor_unlocks(credentials: Credentials) -> None:
    later_ms = fail(credentials, 6)

    with pytest.raises(Locked) as caught:
        credentials.verify("AB", "8351", later_ms + 86_400_000)

    assert "AB" == caught.value.params["initials"]
    assert credentials.is_locked("AB")
    credentials.unlock("AB")
    assert credentials.verify("AB", "8351", later_ms)


def test_a_right_pin_at_the_last_try_is_welcome(credentials: Credentials) -> None:
    assert credentials.verify("AB", "8351", fail(credentials, 5))
    assert not credentials.is_locked("AB")


def test_a_new_pin_lifts_the_lock(credentials: Credentials) -> None:
    later_ms = fail(credentials, 6)

    credentials.set_pin("AB", "9046")

    assert credentials.verify("AB", "9046", later_ms)
    assert not credentials.verify("AB", "8351", later_ms)


def test_a_clock_set_back_keeps_nobody_out_for_long(credentials: Credentials) -> None:
    week_ms = 7 * 86_400_000
    fail(credentials, 3)

    with pytest.raises(Throttled):
        credentials.verify("AB", "8351", NOW_MS - week_ms)

    assert credentials.verify("AB", "8351", NOW_MS - week_ms + 2000)


def test_unknown_initials_cost_a_hash_too(
    credentials: Credentials, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked: list[str] = []
    real: Callable[[str, str], bool] = credentials._matches
    monkeypatch.setattr(
        credentials, "_matches", lambda kept, pin: (looked.append(kept), real(kept, pin))[1]
    )

    assert not credentials.verify("ZZ", "8351", NOW_MS)
    assert not credentials.verify("ZZ", "nobody has this PIN", NOW_MS)
    assert ["$argon2id"] * 2 == [kept[:9] for kept in looked]


def test_tries_side_by_side_all_count(credentials: Credentials) -> None:
    met: list[str] = []

    def guess() -> None:
        try:
            met.append(str(credentials.verify("AB", "0007", NOW_MS)))
        except (Throttled, Locked) as refused:
            met.append(refused.code)

    threads = [threading.Thread(target=guess) for _ in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert {"False": 3, "throttled": 9} == {answer: met.count(answer) for answer in set(met)}


def test_an_older_hash_is_renewed_at_the_next_right_pin(store: Store) -> None:
    Credentials(store, PATIENCE, QUICK).set_pin("AB", "8351")
    stronger = Credentials(
        store, PATIENCE, PasswordHasher(time_cost=2, memory_cost=8, parallelism=1)
    )

    assert stronger.verify("AB", "8351", NOW_MS)

    (kept,) = store.db.conn.execute("SELECT pin_hash FROM credentials").fetchone()
    assert "t=2" in kept
    assert stronger.verify("AB", "8351", NOW_MS)


def test_a_damaged_hash_opens_nothing(credentials: Credentials, store: Store) -> None:
    store.db.conn.execute("UPDATE credentials SET pin_hash = 'damaged'")

    assert not credentials.verify("AB", "8351", NOW_MS)
