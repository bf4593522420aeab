"""What is said after the readings: disturbances, re-mounts, overrulings, release, recall, withdrawal."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from bench.core import bounds
from bench.core.bounds import BadEntry
from bench.core.entries import vocabulary as v
from bench.core.tilt import Tilt, TiltTooSteep, total_deg


@dataclass(frozen=True, slots=True)
class Disturbed:
    """The table or arm moved, the lead broke or the cast fell: what follows the last tripod is suspect."""

    what: str
    remark: str = ""

    def __post_init__(self) -> None:
        bounds.one_of("what", self.what, v.DISTURBANCES)
        bounds.text("remark", self.remark)


@dataclass(frozen=True, slots=True)
class Remounted:
    """The cast was put back from its record and checked: what is still off, and against which tolerance.

    `heights_mm` are the readings on the tripod's marks in their order; empty for an inclinometer or scored lines.
    `settles` names the disturbances this re-mount answers; `instrument` is what angles were read with.
    """

    method: str
    ap_deg: float
    lat_deg: float
    total_deg: float
    tolerance_deg: float
    heights_mm: tuple[float, ...] = ()
    tripod: str | None = None
    surveyor: str = ""
    second_check: str = "none"
    settles: tuple[str, ...] = ()
    instrument: str = ""

    @property
    def passes(self) -> bool:
        """Whether what is still off lies inside the tolerance."""
        return self.total_deg <= self.tolerance_deg

    def __post_init__(self) -> None:
        bounds.one_of("method", self.method, v.METHODS)
        for name in ("ap_deg", "lat_deg"):
            bounds.within(name, getattr(self, name), -90.0, 90.0, "degrees")
        bounds.within("total_deg", self.total_deg, 0.0, 90.0, "degrees")
        bounds.within("tolerance_deg", self.tolerance_deg, 0.05, 10.0, "degrees")
        self._total_of_both_angles()
        bounds.text("surveyor", self.surveyor, most=16)
        bounds.text("instrument", self.instrument, most=16)
        bounds.one_of("second_check", self.second_check, v.SECOND_CHECKS)
        self._tripod_and_heights()
        for disturbed in self.settles:
            bounds.entry_id("settles", disturbed)

    def _total_of_both_angles(self) -> None:
        """Read on the level the total follows from the angles; off a tilt it depends on that tilt too.

        What two readings of an inclinometer differ by is at least cos 45° of the total they make on
        the level, no setting being steeper than 45° along an axis.
        """
        try:
            total = total_deg(Tilt(self.ap_deg, self.lat_deg))
        except TiltTooSteep:
            raise BadEntry("total_deg", "total_differs", value=self.total_deg) from None
        least = 0.7 * total if self.method == "inclinometer" else total
        most = inf if self.method == "inclinometer" else total
        room = 0.01 + 0.01 * total
        if not least - room <= self.total_deg <= most + room:
            raise BadEntry("total_deg", "total_differs", value=self.total_deg)

    def _tripod_and_heights(self) -> None:
        for height in self.heights_mm:
            bounds.within("heights_mm", height, -50.0, 50.0, "mm")
        if self.tripod is not None:
            bounds.entry_id("tripod", self.tripod)
        if self.method == "tripod" and (len(self.heights_mm) < 3 or self.tripod is None):
            raise BadEntry("heights_mm", "three_heights")


@dataclass(frozen=True, slots=True)
class RemountRead:
    """The cast was put back and read where no bench PC answered: only what was read; `core.off` works it out.

    `brings_back` names the setting of the record, `tripod` and `fourth` the marks that were read,
    `answers` the disturbances it was made after. Heights in mm, higher is more; angles in degrees.
    """

    method: str
    brings_back: str
    tolerance_deg: float
    tripod: str | None = None
    fourth: str | None = None
    h_a_mm: float | None = None
    h_b_mm: float | None = None
    h_c_mm: float | None = None
    h_d_mm: float | None = None
    a_turn_deg: float = 0.0
    ap_deg: float | None = None
    lat_deg: float | None = None
    surveyor: str = ""
    instrument: str = ""
    second_check: str = "none"
    answers: tuple[str, ...] = ()

    @property
    def heights_mm(self) -> tuple[float, ...]:
        """The heights read on A, B, C and, where there is a fourth mark, D; none by another way."""
        if self.method != "tripod":
            return ()
        read = (self.h_a_mm, self.h_b_mm, self.h_c_mm, self.h_d_mm)
        return tuple(height for height in read if height is not None)

    def __post_init__(self) -> None:
        bounds.one_of("method", self.method, v.METHODS)
        for name in ("brings_back", "tripod", "fourth"):
            if getattr(self, name) is not None:
                bounds.entry_id(name, getattr(self, name))
        bounds.within("tolerance_deg", self.tolerance_deg, 0.05, 10.0, "degrees")
        for name in ("h_a_mm", "h_b_mm", "h_c_mm", "h_d_mm"):
            bounds.within(name, getattr(self, name), -50.0, 50.0, "mm")
        bounds.within("a_turn_deg", self.a_turn_deg, -180.0, 180.0, "degrees")
        for name in ("ap_deg", "lat_deg"):
            bounds.within(name, getattr(self, name), -45.0, 45.0, "degrees")
        self._everything_read()
        bounds.text("surveyor", self.surveyor, most=16)
        bounds.text("instrument", self.instrument, most=16)
        bounds.one_of("second_check", self.second_check, v.SECOND_CHECKS)
        for disturbed in self.answers:
            bounds.entry_id("answers", disturbed)

    def _everything_read(self) -> None:
        """The way chosen says what has to be read; what belongs to another way is not used."""
        wanted = ["ap_deg", "lat_deg"]
        if self.method == "tripod":
            wanted = ["tripod", "h_a_mm", "h_b_mm", "h_c_mm", *(["h_d_mm"] if self.fourth else [])]
        for name in wanted:
            if getattr(self, name) is None:
                raise BadEntry(name, "missing")
        if self.heights_mm[3:] and self.fourth is None:
            raise BadEntry("fourth", "missing")


@dataclass(frozen=True, slots=True)
class Exempted:
    """A supervisor lets named guide planes stand for balanced retention; the entry's reason says why."""

    sites: tuple[str, ...]

    def __post_init__(self) -> None:
        bounds.sites("sites", self.sites)


@dataclass(frozen=True, slots=True)
class Overruled:
    """A supervisor overrules a rule for the reasons it gave, named by their keys; the entry's reason says why."""

    rule: str
    covers: tuple[str, ...]

    def __post_init__(self) -> None:
        bounds.pattern("rule", self.rule, r"[A-Z][0-9]{1,2}", "bad_rule")
        if not self.covers:
            raise BadEntry("covers", "missing")
        for key in self.covers:
            bounds.text("covers", key, least=1, most=300)


@dataclass(frozen=True, slots=True)
class Released:
    """The cast goes to design, on the ground of the named entries."""

    grounds: tuple[str, ...]

    def __post_init__(self) -> None:
        for ground in self.grounds:
            bounds.entry_id("grounds", ground)


@dataclass(frozen=True, slots=True)
class RecallTaken:
    """A supervisor takes a recalled case back to the bench."""

    release: str

    def __post_init__(self) -> None:
        bounds.entry_id("release", self.release)


@dataclass(frozen=True, slots=True)
class PersonUnconfirmed:
    """A tablet notes that who stated these entries was chosen there and had not shown the PIN lately."""

    entries: tuple[str, ...]

    def __post_init__(self) -> None:
        _entry_ids(self.entries)


@dataclass(frozen=True, slots=True)
class PersonConfirmed:
    """Whoever the entries name says at the bench PC, with the PIN, that they stated them."""

    entries: tuple[str, ...]

    def __post_init__(self) -> None:
        _entry_ids(self.entries)


def _entry_ids(entries: tuple[str, ...]) -> None:
    if not entries:
        raise BadEntry("entries", "missing")
    for one in entries:
        bounds.entry_id("entries", one)


@dataclass(frozen=True, slots=True)
class HoldSet:
    """A supervisor puts a case on hold for the law: its records stay whatever the policy says.

    The entry's reason says why; `reference` may name the letter that asked for it.
    """

    reference: str = ""

    def __post_init__(self) -> None:
        bounds.text("reference", self.reference, most=60)


@dataclass(frozen=True, slots=True)
class HoldLifted:
    """A supervisor lifts a hold; the entry's reason says why."""

    hold: str

    def __post_init__(self) -> None:
        bounds.entry_id("hold", self.hold)


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """One entry is taken back; it stays readable."""

    entry: str

    def __post_init__(self) -> None:
        bounds.entry_id("entry", self.entry)
