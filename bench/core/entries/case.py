"""What is said of a case before the table is touched: teeth, prescription, cast, wish list, photos."""

from __future__ import annotations

from dataclasses import dataclass

from bench.core import bounds
from bench.core.bounds import BadEntry
from bench.core.entries import vocabulary as v
from bench.core.ids import BadCode, code_from_typed
from bench.core.surfaces import PROXIMAL, SURFACES, Surface
from bench.core.teeth import ARCHES, Arch, arch_of


@dataclass(frozen=True, slots=True)
class CaseOpened:
    """A case begins: its code (on the label), the lab's case number, the arch and the kind of cast."""

    code: str
    number: str
    arch: Arch
    cast_kind: str

    def __post_init__(self) -> None:
        self._code_as_printed()
        bounds.text("number", self.number, least=1, most=40)
        bounds.one_of("arch", self.arch, ARCHES)
        bounds.one_of("cast_kind", self.cast_kind, v.CAST_KINDS)

    def _code_as_printed(self) -> None:
        try:
            fits = code_from_typed(self.code) == self.code
        except BadCode:
            fits = False
        if not fits:
            raise BadEntry("code", "bad_code", value=self.code)


@dataclass(frozen=True, slots=True)
class TeethRecorded:
    """Which teeth are missing, which are planned to be extracted, and which of both are to be replaced."""

    missing: tuple[int, ...]
    replaced: tuple[int, ...] = ()
    extractions: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        for name in ("missing", "replaced", "extractions"):
            bounds.teeth(name, getattr(self, name))
        self._one_arch()
        gone = {*self.missing, *self.extractions}
        for tooth in self.extractions:
            if tooth in self.missing:
                raise BadEntry("extractions", "already_missing", value=tooth)
        for tooth in self.replaced:
            if tooth not in gone:
                raise BadEntry("replaced", "not_missing", value=tooth)

    def _one_arch(self) -> None:
        if len({arch_of(tooth) for tooth in (*self.missing, *self.extractions)}) > 1:
            raise BadEntry("missing", "two_arches")


@dataclass(frozen=True, slots=True)
class PrescriptionRecorded:
    """The written prescription: its reference and the day it bears."""

    reference: str
    dated: str

    def __post_init__(self) -> None:
        bounds.text("reference", self.reference, least=1, most=60)
        bounds.day("dated", self.dated)


@dataclass(frozen=True, slots=True)
class DisinfectionRecorded:
    """What is known of the cast's disinfection; an unknown cast is treated as contaminated."""

    status: str

    def __post_init__(self) -> None:
        bounds.one_of("status", self.status, v.DISINFECTION)


@dataclass(frozen=True, slots=True)
class CastReceived:
    """The cast was looked over on arrival."""

    soundness: str
    remark: str = ""

    def __post_init__(self) -> None:
        bounds.one_of("soundness", self.soundness, v.SOUNDNESS)
        bounds.text("remark", self.remark)


@dataclass(frozen=True, slots=True)
class ClaspWished:
    """The dentist wishes a clasp: tooth, surface of its retentive tip, kind, material, wanted undercut."""

    tooth: int
    surface: Surface
    clasp: str
    material: str
    wanted_mm: float
    arm_mm: float | None = None

    def __post_init__(self) -> None:
        bounds.tooth("tooth", self.tooth)
        bounds.one_of("surface", self.surface, tuple(s for s in SURFACES if s not in PROXIMAL))
        bounds.one_of("clasp", self.clasp, v.CLASPS)
        bounds.one_of("material", self.material, v.MATERIALS)
        bounds.within("wanted_mm", self.wanted_mm, 0.05, 1.5, "mm")
        bounds.within("arm_mm", self.arm_mm, 2.0, 40.0, "mm")


@dataclass(frozen=True, slots=True)
class RestWished:
    """The dentist wishes a rest on a tooth."""

    tooth: int
    seat: str

    def __post_init__(self) -> None:
        bounds.tooth("tooth", self.tooth)
        bounds.one_of("seat", self.seat, v.SEATS)


@dataclass(frozen=True, slots=True)
class GuidePlaneWished:
    """The dentist wishes a guide plane on a surface."""

    tooth: int
    surface: Surface

    def __post_init__(self) -> None:
        bounds.tooth("tooth", self.tooth)
        bounds.one_of("surface", self.surface, SURFACES)


@dataclass(frozen=True, slots=True)
class IndirectRetainerWished:
    """The dentist wishes an indirect retainer on a tooth."""

    tooth: int

    def __post_init__(self) -> None:
        bounds.tooth("tooth", self.tooth)


@dataclass(frozen=True, slots=True)
class PhotoKept:
    """A photo was kept under the digest of its bytes; `about` names the entry it shows.

    `focal_px` is the focal length in pixels of this picture, where the camera stated one that the bytes
    no longer do.
    """

    sha256: str
    media_type: str
    width_px: int
    height_px: int
    shows: str
    about: str | None = None
    focal_px: float | None = None

    def __post_init__(self) -> None:
        bounds.pattern("sha256", self.sha256, r"[0-9a-f]{64}", "bad_digest")
        bounds.one_of("media_type", self.media_type, ("image/jpeg", "image/png", "image/webp"))
        bounds.within("width_px", self.width_px, 1, 100_000, "px")
        bounds.within("height_px", self.height_px, 1, 100_000, "px")
        bounds.one_of("shows", self.shows, v.SHOWS)
        if self.about is not None:
            bounds.entry_id("about", self.about)
        bounds.within("focal_px", self.focal_px, 1.0, 1_000_000, "px")
