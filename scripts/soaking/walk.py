"""Two tablets, a bench and a bad network walked at random, clocks set on and back by up to a week."""

from __future__ import annotations

from collections import Counter
from random import Random
from typing import Any

from tests.sync.test_world import CODE, World

WEEK_MS = 7 * 86_400_000
MOST_ROUNDS = 20_000
PEOPLE, TEETH = ("TEC", "TEC", "NEW", "REA"), (34, 35, 44, 45)
# A share of each: statements are few beside what the network does with them, as at a bench.
STEPS = (
    ("somebody_states_at_a_tablet", 4), ("somebody_states_at_the_bench", 1), ("a_tablet_sends", 8),
    ("a_request_arrives", 8), ("an_answer_arrives", 8), ("something_is_lost", 2),
    ("somebody_new_joins_the_lab", 1), ("a_backup_is_taken", 0.01), ("an_older_backup_is_restored", 0.005),
)  # fmt: skip


class Walked(World):
    """A world whose tablets have clocks of their own, set wrong now and then."""

    def __init__(self) -> None:
        super().__init__()
        self.wrong_ms = [0, 0]

    def stated(self, n: int, tooth: int, person: str) -> None:
        """State something at a tablet by its own clock."""
        self.tablets[n].state(CODE, tooth, person, self.now() + self.wrong_ms[n])

    def heal(self) -> None:
        """Let everything arrive, then let both tablets send until nothing waits."""
        for request in self.asked:
            self.answer(request)
        self.somebody_new_joins_the_lab()
        for tablet in self.tablets:
            for _ in range(MOST_ROUNDS):
                tablet.hear(self.answer(tablet.request()))
                if not (tablet.waiting or tablet.sealed):
                    break
            assert (tablet.waiting, tablet.sealed) == ([], []), "something waits for ever"


def run(steps: int, seed: int) -> list[str]:
    """Walk so many steps, let the network heal, and return what differs between the replicas."""
    chance, world, tally = Random(seed), Walked(), Counter[str]()
    world.lab()
    names, shares = zip(*STEPS, strict=True)
    troubles: list[str] = []
    try:
        for name in chance.choices(names, shares, k=steps):
            tally[name] += 1
            _step(world, name, chance)
        world.teardown()
    except AssertionError as wrong:
        troubles.append(f"the replicas differ: {wrong}")
    stated = sum(len(tablet.stated) for tablet in world.tablets)
    print(
        f"{steps} steps, {stated} statements on two tablets, {len(troubles)} troubles", flush=True
    )
    return troubles


def _step(world: Walked, name: str, chance: Random) -> None:
    n = chance.randrange(2)
    if chance.random() < 0.01:
        world.wrong_ms[n] = chance.randrange(-WEEK_MS, WEEK_MS - 60_000)
    asked: dict[str, dict[str, Any]] = {
        "somebody_states_at_the_bench": {"tooth": chance.choice(TEETH)}, "a_tablet_sends": {"n": n},
        "a_request_arrives": {"pick": chance.randrange(100), "keep": chance.random() < 0.3},
        "an_answer_arrives": {"pick": chance.randrange(100), "keep": chance.random() < 0.3},
        "something_is_lost": {"pick": chance.randrange(100)},
    }  # fmt: skip
    if name == "somebody_states_at_a_tablet":
        world.stated(n, chance.choice(TEETH), chance.choice(PEOPLE))
    else:
        getattr(world, name)(**asked.get(name, {}))
