"""Which entries stand when they withdraw and supersede each other in any tangle."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping

from hypothesis import given
from hypothesis import strategies as st

from bench.core.entries import CastReceived, Draft, Entry, Withdrawn, sealed
from bench.core.ids import case_code, entry_id
from bench.core.standing import put_aside

Graph = dict[int, tuple[set[int], int | None]]


def key(number: int) -> str:
    return entry_id(1_767_600_000_000 + number, number)


def an_entry(number: int, supersedes: Iterable[int] = (), withdraws: int | None = None) -> Entry:
    body = CastReceived("sound") if withdraws is None else Withdrawn(key(withdraws))
    named = tuple(key(one) for one in sorted(supersedes))
    draft = Draft(body, "AM", case_code(1), None, named, "a reason")
    return sealed(draft, entry_id=key(number), device="d", at="", seq=number + 1, prev="")


def entries_of(graph: Graph) -> list[Entry]:
    return [an_entry(number, *targets) for number, targets in graph.items()]


def names(aside: Mapping[str, Entry]) -> dict[str, str]:
    return {fallen: by.id for fallen, by in aside.items()}


def graphs(most: int, acyclic: bool = False) -> st.SearchStrategy[Graph]:
    """Up to so many entries, each against any others; without rings only against earlier ones."""

    def targets(number: int, count: int) -> st.SearchStrategy[tuple[set[int], int | None]]:
        top = number - 1 if acyclic else count
        some = st.integers(0, top) if top >= 0 else st.nothing()
        one = st.none() | some if top >= 0 else st.none()
        return st.tuples(st.sets(some, max_size=3) if top >= 0 else st.just(set()), one)

    def graph(count: int) -> st.SearchStrategy[Graph]:
        return st.fixed_dictionaries({n: targets(n, count) for n in range(count)})

    return st.integers(0, most).flatmap(graph)


def test_an_entry_that_nothing_speaks_against_stands() -> None:
    assert put_aside([an_entry(1), an_entry(2)]) == {}


def test_a_withdrawal_puts_an_entry_aside() -> None:
    taken_back = an_entry(2, withdraws=1)

    assert {key(1): taken_back} == put_aside([an_entry(1), taken_back])


def test_taking_a_withdrawal_back_makes_the_entry_stand_again() -> None:
    entries = [an_entry(1), an_entry(2, withdraws=1), an_entry(3, withdraws=2)]

    assert {key(2): key(3)} == names(put_aside(entries))


def test_taking_a_correction_back_makes_the_first_entry_stand_again() -> None:
    entries = [an_entry(1), an_entry(2, {1}), an_entry(3, withdraws=2)]

    assert {key(2): key(3)} == names(put_aside(entries))


def test_of_two_corrections_of_one_entry_the_earlier_is_named() -> None:
    entries = [an_entry(1), an_entry(3, {1}), an_entry(2, {1})]

    assert {key(1): key(2)} == names(put_aside(entries))


def test_of_two_corrections_the_one_that_stands_is_named() -> None:
    entries = [an_entry(1), an_entry(2, {1}), an_entry(3, {1}), an_entry(4, withdraws=2)]

    assert {key(1): key(3), key(2): key(4)} == names(put_aside(entries))


def test_an_entry_cannot_put_itself_aside() -> None:
    assert put_aside([an_entry(1, {1})]) == {}


def test_a_correction_of_an_entry_that_has_not_arrived_changes_nothing() -> None:
    assert put_aside([an_entry(2, {1})]) == {}


def test_correcting_a_correction_does_not_make_the_first_entry_stand_again() -> None:
    entries = [an_entry(1), an_entry(2, {1}), an_entry(3, {2})]

    assert {key(1): key(2), key(2): key(3)} == names(put_aside(entries))


def test_a_correction_of_a_correction_that_is_taken_back_leaves_the_correction() -> None:
    entries = [an_entry(1), an_entry(2, {1}), an_entry(3, {2}), an_entry(4, withdraws=3)]

    assert {key(1): key(2), key(3): key(4)} == names(put_aside(entries))


def test_a_correction_taken_back_frees_the_first_entry_though_it_was_corrected_too() -> None:
    entries = [an_entry(1), an_entry(2, {1}), an_entry(3, {2}), an_entry(4, withdraws=2)]

    assert {key(2): key(3)} == names(put_aside(entries))


def test_withdrawals_that_speak_against_each_other_in_a_ring_all_stand() -> None:
    ring = [an_entry(1, withdraws=3), an_entry(2, withdraws=1), an_entry(3, withdraws=2)]

    assert put_aside([*ring, an_entry(4), an_entry(5, withdraws=4)]).keys() == {key(4)}


def test_corrections_that_name_each_other_in_a_ring_replace_each_other() -> None:
    ring = [an_entry(1, {2}), an_entry(2, {1})]

    assert {key(1): key(2), key(2): key(1)} == names(put_aside(ring))


def test_a_ring_of_corrections_is_broken_by_a_withdrawal() -> None:
    entries = [an_entry(1, {2}), an_entry(2, {1}), an_entry(3, withdraws=2)]

    assert put_aside(entries).keys() == {key(2)}


def test_a_long_chain_of_corrections_is_settled_at_once() -> None:
    chain = [an_entry(n, {n - 1} if n else ()) for n in range(5000)]

    fallen = put_aside(chain)

    assert {key(n) for n in range(4999)} == fallen.keys()


@given(graphs(9), st.randoms(use_true_random=False))
def test_the_order_and_number_of_copies_do_not_matter(graph: Graph, rnd: random.Random) -> None:
    entries = entries_of(graph)
    shuffled = [*entries, *rnd.sample(entries, len(entries) // 2)]
    rnd.shuffle(shuffled)

    assert names(put_aside(entries)) == names(put_aside(shuffled))


@given(graphs(9))
def test_whoever_puts_an_entry_aside_speaks_against_it(graph: Graph) -> None:
    entries = entries_of(graph)

    for fallen, by in put_aside(entries).items():
        assert fallen in {*by.supersedes, getattr(by.body, "entry", "")}


@given(graphs(12, acyclic=True))
def test_without_rings_an_entry_falls_when_withdrawn_or_superseded_by_one_not_withdrawn(
    graph: Graph,
) -> None:
    def withdrawn(number: int) -> bool:
        return any(one == number and stands(m) for m, (_, one) in graph.items())

    def stands(number: int) -> bool:
        superseding = [m for m, (some, _) in graph.items() if number in some]
        return not withdrawn(number) and all(withdrawn(m) for m in superseding)

    fallen = put_aside(entries_of(graph)).keys()

    assert {key(n) for n in graph if not stands(n)} == fallen
