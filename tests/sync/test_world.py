"""Tablets, a bench and a network that drops, repeats, delays and reorders: at the end all say the same."""

from __future__ import annotations

import json
import random
import shutil
import tempfile
from dataclasses import replace
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule

from bench.core.case import fold
from bench.core.entries import CaseOpened, DevicePaired, Draft, PersonAdded, RestWished
from bench.core.ids import case_code
from bench.store.backup import back_up, restore
from bench.store.integrity import check
from bench.store.log import Log
from bench.store.open import Store, open_store
from bench.sync.receive import Intake
from tests.sync.sealing import Device, sha256_hex
from tests.sync.tablets import Request, Tablet

CODE = case_code(4713)
START_MS = 1_773_043_200_000
KEYS = [Device(), Device()]
which = st.integers(0, 1)
teeth = st.sampled_from((34, 35, 44, 45))
people = st.sampled_from(("TEC", "TEC", "NEW", "REA"))


class World(RuleBasedStateMachine):
    """Each rule is one thing that happens; `teardown` lets the network heal and looks at what is left."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.ms, self.dice, self.restores = START_MS, random.Random(7), 0
        self.asked: list[Request] = []
        self.answered: list[tuple[int, dict]] = []
        self._open(open_store(self.folder / "bench"))

    def _open(self, store: Store) -> None:
        self.store = store
        self.log = Log(store, clock_ms=self.now)
        self.intake = Intake(self.log, self.now)

    def now(self) -> int:
        self.ms += 1
        return self.ms

    def say(self, *drafts: Draft) -> None:
        for draft in drafts:
            self.log.record(
                [draft], now_ms=self.now(), random_bits=lambda: self.dice.getrandbits(74)
            )

    @initialize()
    def lab(self) -> None:
        people = [("SUP", "supervisor"), ("TEC", "technician"), ("REA", "reader")]
        paired = [DevicePaired(key.device, "tablet", key.public_key) for key in KEYS]
        self.say(
            *(Draft(PersonAdded(initials, role), "SUP") for initials, role in people),
            *(Draft(body, "SUP") for body in paired),
            Draft(CaseOpened(CODE, "26-0001", "lower", "master"), "SUP", case=CODE),
        )
        self.tablets = [Tablet(key.device, self.store.epoch) for key in KEYS]
        self.backup = self.folder / "backup.zip"
        back_up(self.store, self.backup)

    @rule(n=which, tooth=teeth, person=people)
    def somebody_states_at_a_tablet(self, n: int, tooth: int, person: str) -> None:
        self.tablets[n].state(CODE, tooth, person, self.now())

    @rule(tooth=st.sampled_from((34, 35)))
    def somebody_states_at_the_bench(self, tooth: int) -> None:
        self.say(Draft(RestWished(tooth, "distal"), "TEC", case=CODE))

    @rule()
    def somebody_new_joins_the_lab(self) -> None:
        """What NEW states waits until then, and again after a backup from before."""
        if "NEW" not in self.log.lab().people:
            self.say(Draft(PersonAdded("NEW", "technician"), "SUP"))

    @rule(n=which)
    def a_tablet_sends(self, n: int) -> None:
        self.asked.append(self.tablets[n].request())

    @rule(pick=st.integers(0, 99), keep=st.booleans())
    def a_request_arrives(self, pick: int, keep: bool) -> None:
        if self.asked:
            request = self.asked[pick % len(self.asked)]
            if not keep:
                self.asked.remove(request)
            n = [key.device for key in KEYS].index(request.device)
            self.answered.append((n, self.answer(request)))

    @rule(pick=st.integers(0, 99), keep=st.booleans())
    def an_answer_arrives(self, pick: int, keep: bool) -> None:
        if self.answered:
            n, answer = self.answered[pick % len(self.answered)]
            if not keep:
                self.answered.remove((n, answer))
            self.tablets[n].hear(answer)

    @rule(pick=st.integers(0, 99))
    def something_is_lost(self, pick: int) -> None:
        lost = self.asked or self.answered
        if lost:
            lost.pop(pick % len(lost))

    @rule()
    def a_backup_is_taken(self) -> None:
        back_up(self.store, self.backup)

    @rule()
    def an_older_backup_is_restored(self) -> None:
        if self.restores < 2:
            self.restores += 1
            self.store.close()
            restore(self.backup, self.folder / f"again{self.restores}")
            self._open(open_store(self.folder / f"again{self.restores}"))

    def answer(self, request: Request) -> dict:
        """Answer as the bench does; signatures are another test's."""
        held = self.log.cursor_of(request.device)
        if request.epoch != self.store.epoch:
            cursor = {"seq": held.seq, "digest": held.digest}
            return {"code": "other_epoch", "epoch": self.store.epoch, "cursor": cursor}
        signer = self.log.lab().devices[request.device]
        batch = [text.encode() for text in request.texts]
        receipts = [
            {"id": one.id, "digest": one.digest, "verdict": one.verdict, "code": one.code}
            for one in self.intake.receive(signer, batch)
        ]
        held = self.log.cursor_of(request.device)
        cursor = {"seq": held.seq, "digest": held.digest}
        return {"epoch": self.store.epoch, "cursor": cursor, "receipts": receipts}

    def heal(self) -> None:
        for request in self.asked:
            self.answer(request)
        for n, answer in self.answered:
            self.tablets[n].hear(answer)
        self.somebody_new_joins_the_lab()
        for tablet in self.tablets:
            for _ in range(60):
                tablet.hear(self.answer(tablet.request()))
            assert (tablet.waiting, tablet.sealed) == ([], [])

    def teardown(self) -> None:
        try:
            if hasattr(self, "tablets"):
                self.heal()
                self.nothing_is_missing_and_nothing_twice()
                self.every_replica_says_the_same()
        finally:
            self.store.close()
            shutil.rmtree(self.folder, ignore_errors=True)

    def nothing_is_missing_and_nothing_twice(self) -> None:
        for tablet in self.tablets:
            held = [text.decode() for text in self.log.after(tablet.device, 0)]
            ids = [json.loads(text)["id"] for text in held]

            assert held == tablet.copies
            assert tablet.receipted <= {sha256_hex(text.encode()) for text in held}
            assert sorted([*ids, *tablet.attention]) == sorted(tablet.stated)
            assert all(json.loads(text)["person"] != "REA" for text in held)
        assert check(self.store).clean

    def every_replica_says_the_same(self) -> None:
        """Another bench that reads by cursors, device by device in any order, folds to the same."""
        other = open_store(self.folder / "other")
        try:
            copy = Log(other, clock_ms=self.now)
            devices = list(self.log.cursors())
            self.dice.shuffle(devices)
            for device in devices:
                while texts := self.log.after(device, copy.cursor_of(device).seq, 3):
                    copy.append(texts)

            assert copy.cursors() == self.log.cursors()
            assert told(copy.case(CODE)) == told(self.log.case(CODE))
            assert copy.lab() == self.log.lab()
            assert told(fold(CODE, reversed(copy.entries_of(CODE)))) == told(copy.case(CODE))
        finally:
            other.close()


def told(case) -> tuple:
    """Return what a case says, without the order in which its entries arrived."""
    return (
        sorted(entry.digest for entry in case.entries),
        sorted(entry.digest for entry in case.standing),
        {found.key: {entry.id for entry in found.entries} for found in case.contradictions},
        replace(case.opened, entry=case.opened.entry).entry.digest,
    )


TestWorld = World.TestCase
TestWorld.settings = settings(
    max_examples=10, stateful_step_count=40, deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
