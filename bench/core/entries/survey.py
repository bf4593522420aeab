"""What is said at the surveyor: settings, readings, lines, marks and chosen tips."""

from __future__ import annotations

from dataclasses import dataclass

from bench.core import bounds
from bench.core.bounds import BadEntry
from bench.core.entries import vocabulary as v
from bench.core.surfaces import PROXIMAL, SURFACES, Surface
from bench.core.tripod import TripodRefused, triangle_from


@dataclass(frozen=True, slots=True)
class Mounted:
    """The cast was mounted with its occlusal plane horizontal: the zero setting."""

    surveyor: str = ""
    table: str = ""
    remark: str = ""

    def __post_init__(self) -> None:
        bounds.text("surveyor", self.surveyor, most=16)
        bounds.text("table", self.table, most=16)
        bounds.text("remark", self.remark)


@dataclass(frozen=True, slots=True)
class SettingTaken:
    """The table was set to a new tilt; the entry's `setting` names the setting it left.

    `ap_deg` > 0 front edge lowered, `lat_deg` > 0 right of view lowered; both None on a table without a scale.
    """

    ap_deg: float | None
    lat_deg: float | None
    instrument: str = ""
    resolution_deg: float | None = None

    def __post_init__(self) -> None:
        if (self.ap_deg is None) != (self.lat_deg is None):
            missing = "ap_deg" if self.ap_deg is None else "lat_deg"
            raise BadEntry(missing, "both_angles_or_none")
        bounds.within("ap_deg", self.ap_deg, -v.LIMIT_DEG, v.LIMIT_DEG, "degrees")
        bounds.within("lat_deg", self.lat_deg, -v.LIMIT_DEG, v.LIMIT_DEG, "degrees")
        bounds.text("instrument", self.instrument, most=16)
        bounds.within("resolution_deg", self.resolution_deg, 0.01, 10.0, "degrees")
        if self.ap_deg is not None and self.resolution_deg is None:
            raise BadEntry("resolution_deg", "missing")


@dataclass(frozen=True, slots=True)
class SettingMadeFinal:
    """The present setting was locked and made final."""

    locked: bool = True

    def __post_init__(self) -> None:
        bounds.one_of("locked", self.locked, (True,))


@dataclass(frozen=True, slots=True)
class GuidePlaneRead:
    """The analysing rod was laid on a surface: where light shows, and how much."""

    tooth: int
    surface: Surface
    light: str
    gap_mm: float | None = None
    height_mm: float | None = None
    take_off_mm: float | None = None
    run_mm: float | None = None

    def __post_init__(self) -> None:
        bounds.tooth("tooth", self.tooth)
        bounds.one_of("surface", self.surface, SURFACES)
        bounds.one_of("light", self.light, v.LIGHT)
        for name in ("gap_mm", "take_off_mm"):
            bounds.within(name, getattr(self, name), 0.0, 5.0, "mm")
        for name in ("height_mm", "run_mm"):
            bounds.within(name, getattr(self, name), 0.1, 12.0, "mm")
        if (self.gap_mm is None) != (self.height_mm is None):
            missing = "gap_mm" if self.gap_mm is None else "height_mm"
            raise BadEntry(missing, "gap_and_height")
        if self.light == "none" and self.gap_mm:
            raise BadEntry("gap_mm", "gap_without_light")


@dataclass(frozen=True, slots=True)
class UndercutRead:
    """A gauge was brought to a surface: whether shank and lip touch, and how far below the survey line."""

    tooth: int
    surface: Surface
    gauge_mm: float
    contact: str
    drop_mm: float | None = None
    gauge: str = ""
    marked: bool = False

    def __post_init__(self) -> None:
        bounds.tooth("tooth", self.tooth)
        bounds.one_of("surface", self.surface, SURFACES)
        bounds.within("gauge_mm", self.gauge_mm, 0.05, 1.5, "mm")
        bounds.one_of("contact", self.contact, v.CONTACTS)
        bounds.within("drop_mm", self.drop_mm, 0.1, 12.0, "mm")
        bounds.text("gauge", self.gauge, most=16)


@dataclass(frozen=True, slots=True)
class InterferenceNoted:
    """Something stands in the way of a bar, plate or flange at this setting."""

    place: str
    nature: str
    tooth: int | None = None
    remark: str = ""

    def __post_init__(self) -> None:
        bounds.one_of("place", self.place, v.PLACES)
        bounds.one_of("nature", self.nature, v.NATURES)
        if self.tooth is not None:
            bounds.tooth("tooth", self.tooth)
        if self.nature == "leaning_tooth" and self.tooth is None:
            raise BadEntry("tooth", "missing")
        bounds.text("remark", self.remark, least=1 if self.nature == "other" else 0)


@dataclass(frozen=True, slots=True)
class InterferencesLooked:
    """Interferences were looked for and none was seen."""

    none_seen: bool = True

    def __post_init__(self) -> None:
        bounds.one_of("none_seen", self.none_seen, (True,))


@dataclass(frozen=True, slots=True)
class SurveyLinesDrawn:
    """Survey lines were drawn on sites such as `34B`, the lead's tip at gingival level or not."""

    sites: tuple[str, ...]
    lead_at_gingival: bool
    sleeve: str = ""

    def __post_init__(self) -> None:
        bounds.sites("sites", self.sites)
        bounds.text("sleeve", self.sleeve, most=16)
        for site in self.sites:
            bounds.one_of("sites", site[2:], ("B", "L"))


@dataclass(frozen=True, slots=True)
class TripodMarked:
    """Three marks A, B, C touched by one tip at one height; the caliper's distances between them in mm.

    `sense` is the turning sense of A, B, C seen from above: distances alone do not tell a triangle from its mirror.
    """

    d_ab_mm: float
    d_ac_mm: float
    d_bc_mm: float
    sense: str
    one_tip_height: bool
    arm_locked: bool
    table_locked: bool
    ringed: bool
    tip_height_mm: float | None = None
    remark: str = ""
    caliper: str = ""

    def __post_init__(self) -> None:
        for name in ("d_ab_mm", "d_ac_mm", "d_bc_mm"):
            bounds.within(name, getattr(self, name), 3.0, 120.0, "mm")
        bounds.text("caliper", self.caliper, most=16)
        self._a_triangle()
        bounds.one_of("sense", self.sense, v.SENSES)
        bounds.within("tip_height_mm", self.tip_height_mm, 0.0, 200.0, "mm")
        bounds.text("remark", self.remark)

    def _a_triangle(self) -> None:
        try:
            triangle_from(self.d_ab_mm, self.d_ac_mm, self.d_bc_mm)
        except TripodRefused as refused:
            raise BadEntry("d_bc_mm", refused.code, **refused.params) from refused


@dataclass(frozen=True, slots=True)
class FourthMarkMade:
    """A fourth mark D at the height of a tripod's three, so that each re-mount checks itself.

    The caliper's distances from A, B and C in mm; `tripod` names the entry of the three. That they
    fit the triangle is checked against the case.
    """

    tripod: str
    d_ad_mm: float
    d_bd_mm: float
    d_cd_mm: float
    caliper: str = ""

    def __post_init__(self) -> None:
        bounds.entry_id("tripod", self.tripod)
        bounds.text("caliper", self.caliper, most=16)
        for name in ("d_ad_mm", "d_bd_mm", "d_cd_mm"):
            bounds.within(name, getattr(self, name), 3.0, 120.0, "mm")


@dataclass(frozen=True, slots=True)
class TipChosen:
    """A retentive tip is placed on a surface: what the arm is made of, its length, what reciprocates it."""

    tooth: int
    surface: Surface
    material: str
    reciprocation: str
    arm_mm: float | None = None

    def __post_init__(self) -> None:
        bounds.tooth("tooth", self.tooth)
        bounds.one_of("surface", self.surface, tuple(s for s in SURFACES if s not in PROXIMAL))
        bounds.one_of("material", self.material, v.MATERIALS)
        bounds.one_of("reciprocation", self.reciprocation, v.RECIPROCATION)
        bounds.within("arm_mm", self.arm_mm, 2.0, 40.0, "mm")


@dataclass(frozen=True, slots=True)
class Confirmed:
    """An earlier finding was looked at again and holds at the setting this entry names."""

    finding: str

    def __post_init__(self) -> None:
        bounds.entry_id("finding", self.finding)
