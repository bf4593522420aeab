"""Fill an empty logbook with an invented laboratory: its people, instruments, policy and cases."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from random import Random

from bench.core.drills import check_drill
from bench.core.entries import Draft, Entry, sealed
from bench.core.ids import CODES, RANDOM_BITS, case_code, entry_id
from bench.core.joining import check_lab
from bench.core.lab import Lab, fold_lab
from bench.core.wire import seal
from bench.demo.drilling import said_of_drills
from bench.demo.people import FIRST, ROLES, TECHNICIANS, said_of_the_lab
from bench.demo.photos import Album
from bench.demo.plans import PLANS
from bench.demo.stories import STORIES, Story
from bench.demo.walk import DAY_MS, HOUR_MS, Moment, Walk
from bench.store.credentials import Credentials, weakness_of
from bench.store.log import Log, iso
from bench.store.open import Store
from bench.store.photos import PhotoShelf

PHOTOS = "photos"
OTHER_TABLET = "tablet-west"
MOST_DAYS = 42
_SLACK_DAYS = 5
_LARGEST_BATCH = 400
_ONE_BY_ONE_UP_TO = 60


class NotEmpty(ValueError):
    """The logbook holds something already: demo data never goes into a real one."""


@dataclass(frozen=True, slots=True)
class DemoPerson:
    """One invented person with the PIN to sign in with."""

    initials: str
    role: str
    pin: str


@dataclass(frozen=True, slots=True)
class DemoCase:
    """One invented case and the name of its story."""

    code: str
    number: str
    story: str


@dataclass(frozen=True, slots=True)
class Filled:
    """What was put into the logbook."""

    people: tuple[DemoPerson, ...]
    cases: tuple[DemoCase, ...]
    entries: int
    photos: int


def fill(store: Store, cases: int = 24, seed: int = 1, now_ms: int | None = None) -> Filled:
    """Fill an empty logbook with an invented lab and cases of the weeks before `now_ms`.

    The same seed and time make the same entries, but for the bench's own name in them. Raises
    NotEmpty when anything is recorded already.
    """
    at_ms = time.time_ns() // 1_000_000 if now_ms is None else now_ms
    log = Log(store, lambda: at_ms)
    if log.cursors():
        raise NotEmpty("This logbook is not empty. Choose an empty folder for the demo.")
    random = Random(seed)
    lab_moments, lab = _lab(at_ms, random)
    album = Album(PhotoShelf(store.folder / PHOTOS))
    walks = [_walked(n, lab, random, album, at_ms) for n in range(cases)]
    _record(log, [*lab_moments, *_moments(walks, grouped=cases > _ONE_BY_ONE_UP_TO)], random)
    strange = _append(log, [entry for walk in walks for entry in walk.strange])
    told = tuple(DemoCase(w.code, w.number, _story(n).name) for n, w in enumerate(walks))
    recorded = len(lab_moments) + sum(len(walk.moments) for walk in walks) + strange
    return Filled(_people(store, random), told, recorded, len(album.kept))


def _lab(at_ms: int, random: Random) -> tuple[list[list[Moment]], Lab]:
    moments: list[list[Moment]] = []
    entries: list[Entry] = []
    for number, (days, body, reason) in enumerate(said_of_the_lab()):
        said_ms = at_ms - days * DAY_MS + number * 1000
        key = entry_id(said_ms, random.getrandbits(RANDOM_BITS))
        draft = Draft(body, FIRST, reason=reason, entry_id=key)
        check_lab(draft, fold_lab(entries))
        entries.append(sealed(draft, entry_id=key, device="", at=iso(said_ms), seq=0, prev=""))
        moments.append([Moment(said_ms, draft)])
    lab = fold_lab(entries)
    return [*moments, *_drills(at_ms, random, entries, lab)], lab


def _drills(
    at_ms: int, random: Random, entries: Sequence[Entry], lab: Lab
) -> Iterator[list[Moment]]:
    """Yield what is said of drills, each statement checked as its page checks it."""
    so_far = list(entries)
    for said_ms, key, body, person in said_of_drills(at_ms, random, lab):
        draft = Draft(body, person, entry_id=key)
        check_lab(draft, lab)
        check_drill(draft, so_far, lab)
        so_far.append(sealed(draft, entry_id=key, device="", at=iso(said_ms), seq=0, prev=""))
        yield [Moment(said_ms, draft)]


def _story(number: int) -> Story:
    return STORIES[number % len(STORIES)]


def _walked(number: int, lab: Lab, random: Random, album: Album, at_ms: int) -> Walk:
    story = _story(number)
    plan = story.planned(PLANS[(number + number // len(STORIES)) % len(PLANS)])
    begun_ms = _begun_ms(story, random, at_ms)
    walk = Walk(
        number=f"{iso(begun_ms)[2:4]}-{number + 1:04d}",
        code=case_code(random.randrange(CODES)),
        plan=plan,
        lab=lab,
        random=random,
        album=album,
        now_ms=begun_ms,
        person=TECHNICIANS[number % len(TECHNICIANS)],
    )
    for sitting in story.sittings:
        sitting(walk)
    return walk


def _begun_ms(story: Story, random: Random, at_ms: int) -> int:
    """Return a morning long enough ago for the story to end before now."""
    least = story.days if story.days < 2 else story.days + _SLACK_DAYS
    days = random.randint(least, max(least, min(MOST_DAYS, 2 * least)))
    midnight_ms = (at_ms // DAY_MS - days) * DAY_MS
    return midnight_ms + 7 * HOUR_MS + random.randrange(3 * HOUR_MS)


def _moments(walks: Sequence[Walk], *, grouped: bool) -> Iterator[list[Moment]]:
    """Yield what is recorded at one go: each statement alone, or a sitting's worth of one kind."""
    for walk in walks:
        if not grouped:
            yield from ([moment] for moment in walk.moments)
            continue
        for _, same in groupby(walk.moments, key=lambda moment: moment.at_ms // HOUR_MS):
            yield list(same)


def _record(log: Log, groups: list[list[Moment]], random: Random) -> None:
    for group in sorted(groups, key=lambda one: one[-1].at_ms):
        log.record(
            [moment.draft for moment in group],
            now_ms=group[-1].at_ms,
            random_bits=lambda: random.getrandbits(RANDOM_BITS),
        )


def _append(log: Log, entries: list[Entry]) -> int:
    """Send in what another tablet stated, in one chain of its own."""
    prev, batch = "", []
    for seq, entry in enumerate(sorted(entries, key=lambda one: one.id), start=1):
        made, stored = seal(replace(entry, device=OTHER_TABLET, seq=seq, prev=prev))
        prev = made.digest
        batch.append(stored)
    for start in range(0, len(batch), _LARGEST_BATCH):
        log.append(batch[start : start + _LARGEST_BATCH])
    return len(batch)


def _people(store: Store, random: Random) -> tuple[DemoPerson, ...]:
    credentials = Credentials(store)
    people = tuple(DemoPerson(name, role, _pin(random)) for name, role in ROLES.items())
    for person in people:
        credentials.set_pin(person.initials, person.pin)
    return people


def _pin(random: Random) -> str:
    while True:
        pin = f"{random.randrange(10_000):04d}"
        if weakness_of(pin) is None:
            return pin
