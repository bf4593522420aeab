"""What is said of the laboratory: its people, policy and instruments."""

from __future__ import annotations

from dataclasses import dataclass

from bench.core import bounds
from bench.core.bounds import BadEntry
from bench.core.entries import vocabulary as v


@dataclass(frozen=True, slots=True)
class PersonAdded:
    """A person joins the lab. Initials name a person for good: they are never given out again."""

    initials: str
    role: v.Role

    def __post_init__(self) -> None:
        bounds.pattern("initials", self.initials, r"[A-Z]{2,4}[0-9]?", "bad_initials")
        bounds.one_of("role", self.role, v.ROLES)


@dataclass(frozen=True, slots=True)
class PersonChanged:
    """A person's role changes, or they leave or come back."""

    initials: str
    role: v.Role
    active: bool

    def __post_init__(self) -> None:
        bounds.pattern("initials", self.initials, r"[A-Z]{2,4}[0-9]?", "bad_initials")
        bounds.one_of("role", self.role, v.ROLES)


@dataclass(frozen=True, slots=True)
class PolicySet:
    """A supervisor changes one item of the lab's policy. The value is text; core.policy reads it."""

    item: str
    value: str

    def __post_init__(self) -> None:
        bounds.text("item", self.item, least=1, most=60)
        bounds.text("value", self.value, most=300)


@dataclass(frozen=True, slots=True)
class InstrumentAdded:
    """An instrument joins the lab under a tag of its own, such as `G25-1`."""

    tag: str
    sort: str
    size_mm: float | None = None
    resolution_deg: float | None = None
    has_scale: bool = False
    remark: str = ""

    def __post_init__(self) -> None:
        bounds.pattern("tag", self.tag, r"[A-Z0-9][A-Z0-9-]{0,15}", "bad_tag")
        bounds.one_of("sort", self.sort, v.INSTRUMENTS)
        bounds.within("size_mm", self.size_mm, 0.05, 3.0, "mm")
        bounds.within("resolution_deg", self.resolution_deg, 0.01, 10.0, "degrees")
        bounds.text("remark", self.remark)


@dataclass(frozen=True, slots=True)
class InstrumentChecked:
    """An instrument was checked against a reference."""

    tag: str
    passed: bool
    reading: float | None = None
    reference: float | None = None
    unit: str = "mm"
    remark: str = ""

    def __post_init__(self) -> None:
        bounds.text("tag", self.tag, least=1, most=16)
        bounds.one_of("unit", self.unit, ("mm", "deg"))
        bounds.within("reading", self.reading, -360, 1000, self.unit)
        bounds.within("reference", self.reference, -360, 1000, self.unit)
        bounds.text("remark", self.remark)


@dataclass(frozen=True, slots=True)
class InstrumentRetired:
    """An instrument goes out of service."""

    tag: str

    def __post_init__(self) -> None:
        bounds.text("tag", self.tag, least=1, most=16)


@dataclass(frozen=True, slots=True)
class InstrumentReturned:
    """An instrument comes back into service, such as after a repair."""

    tag: str
    remark: str = ""

    def __post_init__(self) -> None:
        bounds.text("tag", self.tag, least=1, most=16)
        bounds.text("remark", self.remark)


@dataclass(frozen=True, slots=True)
class TableDescribed:
    """Which screw or lock of a tilting table lowers which edge of the cast, in the lab's own words.

    The newest description of a table counts.
    """

    tag: str
    lowers_front: str = ""
    lowers_back: str = ""
    lowers_right: str = ""
    lowers_left: str = ""

    def __post_init__(self) -> None:
        bounds.text("tag", self.tag, least=1, most=16)
        for edge in ("front", "back", "right", "left"):
            bounds.text(f"lowers_{edge}", getattr(self, f"lowers_{edge}"), most=80)


@dataclass(frozen=True, slots=True)
class UncertaintyStated:
    """How uncertain a check of an instrument is: what its reading and reference may be off by together.

    The expanded uncertainty with k = 2, in mm or in degrees, as its check was read. Source: JCGM
    100:2008, section 6.
    """

    check: str
    uncertainty_mm: float | None = None
    uncertainty_deg: float | None = None

    def __post_init__(self) -> None:
        bounds.entry_id("check", self.check)
        bounds.within("uncertainty_mm", self.uncertainty_mm, 0.0, 10.0, "mm")
        bounds.within("uncertainty_deg", self.uncertainty_deg, 0.0, 10.0, "degrees")
        if (self.uncertainty_mm is None) == (self.uncertainty_deg is None):
            raise BadEntry("uncertainty_mm", "one_of_both")


@dataclass(frozen=True, slots=True)
class SignalAcknowledged:
    """A supervisor has seen a signal of the audit; the entry's reason says what was made of it."""

    key: str

    def __post_init__(self) -> None:
        bounds.text("key", self.key, least=1, most=200)


@dataclass(frozen=True, slots=True)
class FiguresLookedAt:
    """A supervisor looked at the audit's figures person by person: of one person, or '' for of all."""

    whose: str = ""

    def __post_init__(self) -> None:
        bounds.pattern("whose", self.whose, r"(?:[A-Z]{2,4}[0-9]?)?", "bad_initials")


@dataclass(frozen=True, slots=True)
class DevicePaired:
    """A device joins the lab under a name made from its key, with the public half of that key.

    `public_key` is base64 of the SubjectPublicKeyInfo of a P-256 key, its point not compressed: a
    fixed start, then the two coordinates of 32 bytes each. Source: RFC 5480, section 2.
    """

    device: str
    name: str
    public_key: str

    def __post_init__(self) -> None:
        bounds.pattern("device", self.device, v.DEVICE, "bad_device")
        bounds.text("name", self.name, least=1, most=60)
        bounds.p256_key("public_key", self.public_key)


@dataclass(frozen=True, slots=True)
class DeviceRevoked:
    """A device was lost or put out of use: nothing is taken from it any more."""

    device: str

    def __post_init__(self) -> None:
        bounds.pattern("device", self.device, v.DEVICE, "bad_device")
