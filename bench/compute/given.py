"""What the computations take: strict shapes, units in their names, limits that no bench reaches.

Fields that are not named here are refused, and so are numbers written as text.
"""

from __future__ import annotations

from typing import Annotated

import msgspec
from msgspec import Meta, Struct, field

from bench.core.kennedy import KennedyClass
from bench.core.surfaces import Surface
from bench.core.teeth import Arch

Angle = Annotated[float, Meta(ge=-90, le=90)]
Azimuth = Annotated[float, Meta(ge=-360, le=360)]
Length = Annotated[float, Meta(ge=1e-4, le=1000)]
Depth = Annotated[float, Meta(ge=0, le=1000)]
Place = Annotated[float, Meta(ge=-1000, le=1000)]
Name = Annotated[str, Meta(min_length=1, max_length=100)]
Teeth = Annotated[tuple[int, ...], Meta(max_length=32)]


class Given(Struct, frozen=True, forbid_unknown_fields=True):
    """A JSON object with nothing in it but its named fields."""


class KennedyGiven(Given, frozen=True):
    """The arch and its teeth, ISO 3950."""

    arch: Arch
    missing: Teeth
    present: Teeth = ()
    abutment: Teeth = ()
    not_replaced: Teeth = ()
    replace: Teeth = ()
    planned_extraction: Teeth = ()


class TiltGiven(Given, frozen=True):
    """A setting: front lowered and viewer's right lowered, in degrees."""

    ap_deg: Angle
    lat_deg: Angle


class AngleGiven(Given, frozen=True):
    """Two settings."""

    start: TiltGiven = field(name="from")
    end: TiltGiven = field(name="to")


class SiteGiven(Given, frozen=True):
    """A site read at the level cast."""

    name: Name
    phi_deg: Azimuth
    gauge_mm: Length
    drop_mm: Length


class WishGiven(SiteGiven, frozen=True):
    """A site with the least and the most depth wished of it."""

    want_mm: tuple[Depth, Depth | None]


class WallGiven(Given, frozen=True):
    """A guide plane at the level cast; `alpha_deg` > 0 where the wall leans under."""

    name: Name
    phi_deg: Azimuth
    alpha_deg: Annotated[float, Meta(ge=-80, le=80)]
    height_mm: Length


Walls = Annotated[tuple[WallGiven, ...], Meta(max_length=64)]


class WhatIfGiven(Given, frozen=True):
    """Sites, walls, and the tilt to try."""

    sites: Annotated[tuple[SiteGiven, ...], Meta(max_length=64)]
    walls: Walls
    tilt: TiltGiven


class FindTiltGiven(Given, frozen=True):
    """Wished sites and walls; the most that either edge may be lowered; the pull toward level."""

    sites: Annotated[tuple[WishGiven, ...], Meta(max_length=64)]
    walls: Walls
    limit_deg: float | msgspec.UnsetType = msgspec.UNSET
    tie_weight: Annotated[float, Meta(ge=0, le=1e6)] | msgspec.UnsetType = msgspec.UNSET


class DistancesGiven(Given, frozen=True):
    """The three distances between the marks."""

    d12: Length = field(name="12")
    d13: Length = field(name="13")
    d23: Length = field(name="23")


class TripodGiven(Given, frozen=True):
    """The triangle of marks, and the SD of one height reading."""

    distances_mm: DistancesGiven
    reading_sd_mm: Length


class RemountGiven(Given, frozen=True):
    """Marks in the frame of the cast and the height read now on each."""

    marks_mm: Annotated[tuple[tuple[Place, Place], ...], Meta(max_length=64)]
    heights_mm: Annotated[tuple[Place, ...], Meta(max_length=64)]


class TipGiven(Given, frozen=True):
    """A retentive tip."""

    tooth: int
    surface: Surface


Tips = Annotated[tuple[TipGiven, ...], Meta(max_length=64)]


class RetentionGiven(Given, frozen=True):
    """The tips of an arch."""

    arch: Arch
    tips: Tips


class LinesGiven(Given, frozen=True):
    """The class of an arch, the teeth with rests, and the tips."""

    arch: Arch
    kennedy_class: KennedyClass = field(name="class")
    rests: Teeth
    tips: Tips
