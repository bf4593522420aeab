"""Entries of every kind, made at random within their bounds: what properties are tested on."""

from __future__ import annotations

import base64
import datetime
from collections.abc import Sequence
from dataclasses import replace

from hypothesis import strategies as st

from bench.core.entries import (
    AT_A_SETTING,
    BODIES,
    OF_THE_LAB,
    Body,
    CaseOpened,
    CastReceived,
    ClaspWished,
    Confirmed,
    DevicePaired,
    DeviceRevoked,
    DisinfectionRecorded,
    Disturbed,
    Draft,
    DrillClosed,
    DrillPlanned,
    DrillReading,
    Entry,
    Exempted,
    FiguresLookedAt,
    FourthMarkMade,
    GuidePlaneRead,
    GuidePlaneWished,
    HoldLifted,
    HoldSet,
    IndirectRetainerWished,
    InstrumentAdded,
    InstrumentChecked,
    InstrumentRetired,
    InstrumentReturned,
    InterferenceNoted,
    InterferencesLooked,
    Mounted,
    Overruled,
    PersonAdded,
    PersonChanged,
    PersonConfirmed,
    PersonUnconfirmed,
    PhotoDrawn,
    PhotoKept,
    PhotoMarksConfirmed,
    PolicySet,
    PrescriptionRecorded,
    RecallTaken,
    Released,
    Remounted,
    RemountRead,
    RestWished,
    SettingMadeFinal,
    SettingTaken,
    SignalAcknowledged,
    SurveyLinesDrawn,
    TableDescribed,
    TeethRecorded,
    TipChosen,
    TripodMarked,
    UncertaintyStated,
    UndercutRead,
    Withdrawn,
    sealed,
)
from bench.core.entries import vocabulary as v
from bench.core.ids import CODES, case_code, entry_id
from bench.core.surfaces import PROXIMAL, SURFACES
from bench.core.teeth import ARCHES, teeth_of
from bench.core.tilt import Tilt, total_deg
from bench.core.wire import seal

FIRST_MS = 1_700_000_000_000
LAST_MS = 1_900_000_000_000

times_ms = st.integers(FIRST_MS, LAST_MS)
random_bits = st.integers(0, 2**74 - 1)
ids = st.builds(entry_id, times_ms, random_bits)
codes = st.builds(case_code, st.integers(0, CODES - 1))
teeth = st.sampled_from([tooth for arch in ARCHES for tooth in teeth_of(arch)])
surfaces = st.sampled_from(SURFACES)
free_surfaces = st.sampled_from([surface for surface in SURFACES if surface not in PROXIMAL])
initials = st.from_regex(r"[A-Z]{2,4}[0-9]?", fullmatch=True)
tags = st.from_regex(r"[A-Z0-9][A-Z0-9-]{0,15}", fullmatch=True)
devices = st.from_regex(v.DEVICE, fullmatch=True)
_P256 = bytes.fromhex("3059301306072a8648ce3d020106082a8648ce3d03010703420004")
public_keys = st.binary(min_size=64, max_size=64).map(
    lambda point: base64.b64encode(_P256 + point).decode()
)
days = st.dates(datetime.date(2000, 1, 1), datetime.date(2099, 12, 31)).map(str)
_letters = st.characters(exclude_categories=("Cs", "Cc"), include_characters="\n\t")


def words(most: int = 60, *, least: int = 0) -> st.SearchStrategy[str]:
    """Return text as a person may type it, in any script, not blank where `least` is more than 0."""
    text = st.text(_letters, min_size=least, max_size=most)
    return text.filter(lambda said: len(said.strip()) >= least)


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    """Return numbers of at most four decimals, as the log keeps them."""
    return st.integers(round(low * 10_000), round(high * 10_000)).map(lambda n: n / 10_000)


def maybe(strategy: st.SearchStrategy[object]) -> st.SearchStrategy[object]:
    """Return what a strategy makes, or None."""
    return st.none() | strategy


def _some(strategy: st.SearchStrategy[object], least: int = 0) -> st.SearchStrategy[object]:
    return st.lists(strategy, min_size=least, max_size=6, unique=True).map(tuple)


@st.composite
def _teeth_recorded(draw: st.DrawFn) -> TeethRecorded:
    arch = teeth_of(draw(st.sampled_from(ARCHES)))
    gone = draw(st.lists(st.sampled_from(arch), max_size=10, unique=True))
    cut = draw(st.integers(0, len(gone)))
    replaced = draw(st.permutations(gone))[: draw(st.integers(0, len(gone)))]
    return TeethRecorded(tuple(gone[:cut]), tuple(replaced), tuple(gone[cut:]))


digests = st.from_regex(r"[0-9a-f]{64}", fullmatch=True)


@st.composite
def _photo_marks(draw: st.DrawFn) -> PhotoMarksConfirmed:
    """A label seen from nearly above and three marks beside it, in a picture of 4000 by 3000 pixels."""
    near = numbers(-20, 20)
    square = ((700, 700), (1100, 700), (1100, 1100), (700, 1100))
    marks = ((1600, 800), (2400, 900), (1900, 1900))
    corners_px, marks_px = (
        tuple(round(figure + draw(near), 4) for place in places for figure in place)
        for places in (square, marks)
    )
    came = tuple(draw(st.sampled_from(v.CAME)) for _ in range(3))
    focal_px = draw(maybe(numbers(2500, 5000)))
    photos = draw(st.integers(0, 20)) if focal_px else 0
    return PhotoMarksConfirmed(
        draw(digests), draw(ids), draw(numbers(15, 40)), corners_px, marks_px, came,
        draw(st.sampled_from(v.LABEL_CAME)), focal_px, draw(numbers(-10, 10)),
        draw(numbers(10, 500)) if photos else None, photos,
    )  # fmt: skip


@st.composite
def _shapes(draw: st.DrawFn) -> str:
    low, high = st.integers(0, 4000), st.integers(5000, 10_000)
    figures = [draw(one) / 10_000 for one in (low, low, high, high)]
    said = draw(words(60))
    sort = draw(st.sampled_from(("arrow", "circle")))
    return " ".join([sort, *(f"{figure:.4f}" for figure in figures), *([said] if said else [])])


@st.composite
def _setting_taken(draw: st.DrawFn) -> SettingTaken:
    angles = numbers(-v.LIMIT_DEG, v.LIMIT_DEG)
    if draw(st.booleans()):
        return SettingTaken(draw(angles), draw(angles), draw(words(16)), draw(numbers(0.01, 10)))
    return SettingTaken(None, None, draw(words(16)), draw(maybe(numbers(0.01, 10))))


@st.composite
def _drill_planned(draw: st.DrawFn) -> DrillPlanned:
    reads = draw(st.sampled_from(v.READS))
    casts = tuple(draw(st.lists(words(40, least=1), min_size=1, max_size=4, unique=True)))
    people = tuple(draw(st.lists(initials, min_size=1, max_size=4, unique=True)))
    sites = tuple(draw(_sites) for _ in casts) if reads == "undercut" else ()
    sides = draw(numbers(20, 60)) if reads == "tripod_heights" else 0
    return DrillPlanned(
        reads, casts, people, draw(st.integers(1, 10)), draw(st.integers(0, 2**32 - 1)), sites,
        draw(numbers(0.05, 1.5)) if reads == "undercut" else None,
        (sides, sides, sides) * len(casts) if sides else (),
    )  # fmt: skip


@st.composite
def _uncertainty(draw: st.DrawFn) -> UncertaintyStated:
    value = draw(numbers(0, 10))
    return UncertaintyStated(draw(ids), *((value, None) if draw(st.booleans()) else (None, value)))


@st.composite
def _guide_plane(draw: st.DrawFn) -> GuidePlaneRead:
    light = draw(st.sampled_from(v.LIGHT))
    measured = light != "none" and draw(st.booleans())
    return GuidePlaneRead(
        draw(teeth), draw(surfaces), light,
        draw(numbers(0, 5)) if measured else None, draw(numbers(0.1, 12)) if measured else None,
        draw(maybe(numbers(0, 5))), draw(maybe(numbers(0.1, 12))),
    )  # fmt: skip


@st.composite
def _interference(draw: st.DrawFn) -> InterferenceNoted:
    nature = draw(st.sampled_from(v.NATURES))
    tooth = draw(teeth if nature == "leaning_tooth" else maybe(teeth))
    remark = draw(words(least=1 if nature == "other" else 0))
    return InterferenceNoted(draw(st.sampled_from(v.PLACES)), nature, tooth, remark)


@st.composite
def _tripod(draw: st.DrawFn) -> TripodMarked:
    ab, ac = draw(numbers(20, 60)), draw(numbers(20, 60))
    longest = (ab * ab + ac * ac) ** 0.5
    bc = round(longest * draw(numbers(0.8, 1)), 4)
    return TripodMarked(
        ab, ac, bc, draw(st.sampled_from(v.SENSES)), *(draw(st.booleans()) for _ in range(4)),
        draw(maybe(numbers(0, 200))), draw(words()), draw(words(16)),
    )  # fmt: skip


def _can_be(angles: tuple[float, float]) -> bool:
    return abs(angles[0]) + abs(angles[1]) <= 90


_two_angles = st.tuples(numbers(-90, 90), numbers(-90, 90)).filter(_can_be)


@st.composite
def _remounted(draw: st.DrawFn) -> Remounted:
    method = draw(st.sampled_from(v.METHODS))
    tripod = method == "tripod"
    ap_deg, lat_deg = draw(_two_angles)
    total = round(total_deg(Tilt(ap_deg, lat_deg)), draw(st.integers(2, 4)))
    return Remounted(
        method, ap_deg, lat_deg, total, draw(numbers(0.05, 10)),
        tuple(draw(st.lists(numbers(-50, 50), min_size=3 if tripod else 0, max_size=5))),
        draw(ids if tripod else maybe(ids)), draw(words(16)),
        draw(st.sampled_from(v.SECOND_CHECKS)), draw(_some(ids)), draw(words(16)),
    )  # fmt: skip


@st.composite
def _remount_read(draw: st.DrawFn) -> RemountRead:
    method, fourth = draw(st.sampled_from(v.METHODS)), draw(maybe(ids))
    by_marks = method == "tripod"
    heights = [draw(numbers(-50, 50)) for _ in range(3)] if by_marks else [None] * 3
    angles = [None if by_marks else draw(numbers(-45, 45)) for _ in range(2)]
    return RemountRead(
        method, draw(ids), draw(numbers(0.05, 10)), draw(ids if by_marks else maybe(ids)), fourth,
        *heights, draw(numbers(-50, 50)) if by_marks and fourth else None, draw(numbers(-180, 180)),
        *angles, draw(words(16)), draw(words(16)), draw(st.sampled_from(v.SECOND_CHECKS)), draw(_some(ids)),
    )  # fmt: skip


_sites = st.builds(lambda tooth, surface: f"{tooth}{surface}", teeth, surfaces)
_line_sites = st.builds(lambda tooth, letter: f"{tooth}{letter}", teeth, st.sampled_from("BL"))

BODY_OF: dict[type, st.SearchStrategy[Body]] = {
    PersonAdded: st.builds(PersonAdded, initials, st.sampled_from(v.ROLES)),
    PersonChanged: st.builds(PersonChanged, initials, st.sampled_from(v.ROLES), st.booleans()),
    PolicySet: st.builds(PolicySet, words(least=1), words(300)),
    InstrumentAdded: st.builds(
        InstrumentAdded, tags, st.sampled_from(v.INSTRUMENTS), maybe(numbers(0.05, 3)),
        maybe(numbers(0.01, 10)), st.booleans(), words(),
    ),
    InstrumentChecked: st.builds(
        InstrumentChecked, tags, st.booleans(), maybe(numbers(-360, 1000)),
        maybe(numbers(-360, 1000)), st.sampled_from(("mm", "deg")), words(),
    ),
    InstrumentRetired: st.builds(InstrumentRetired, tags),
    InstrumentReturned: st.builds(InstrumentReturned, tags, words()),
    UncertaintyStated: _uncertainty(),
    DrillPlanned: _drill_planned(),
    DrillReading: st.builds(
        DrillReading, ids, st.integers(1, 120), words(40, least=1),
        st.sampled_from(("", *v.CONTACTS)),
        st.lists(numbers(-50, 200), max_size=3).map(tuple), words(16),
    ),
    DrillClosed: st.builds(DrillClosed, ids, words()),
    DevicePaired: st.builds(DevicePaired, devices, words(least=1), public_keys),
    DeviceRevoked: st.builds(DeviceRevoked, devices),
    SignalAcknowledged: st.builds(SignalAcknowledged, words(200, least=1)),
    FiguresLookedAt: st.builds(FiguresLookedAt, st.just("") | initials),
    CaseOpened: st.builds(
        CaseOpened, codes, words(40, least=1), st.sampled_from(ARCHES), st.sampled_from(v.CAST_KINDS)
    ),
    TeethRecorded: _teeth_recorded(),
    PrescriptionRecorded: st.builds(PrescriptionRecorded, words(least=1), days),
    DisinfectionRecorded: st.builds(DisinfectionRecorded, st.sampled_from(v.DISINFECTION)),
    CastReceived: st.builds(CastReceived, st.sampled_from(v.SOUNDNESS), words(500)),
    ClaspWished: st.builds(
        ClaspWished, teeth, free_surfaces, st.sampled_from(v.CLASPS), st.sampled_from(v.MATERIALS),
        numbers(0.05, 1.5), maybe(numbers(2, 40)),
    ),
    RestWished: st.builds(RestWished, teeth, st.sampled_from(v.SEATS)),
    GuidePlaneWished: st.builds(GuidePlaneWished, teeth, surfaces),
    IndirectRetainerWished: st.builds(IndirectRetainerWished, teeth),
    PhotoKept: st.builds(
        PhotoKept, st.from_regex(r"[0-9a-f]{64}", fullmatch=True),
        st.sampled_from(("image/jpeg", "image/png", "image/webp")), st.integers(1, 100_000),
        st.integers(1, 100_000), st.sampled_from(v.SHOWS), maybe(ids), maybe(numbers(500, 5000)),
    ),
    PhotoMarksConfirmed: _photo_marks(),
    PhotoDrawn: st.builds(PhotoDrawn, digests, st.lists(_shapes(), max_size=4).map(tuple)),
    Mounted: st.builds(Mounted, words(16), words(16), words()),
    SettingTaken: _setting_taken(),
    SettingMadeFinal: st.just(SettingMadeFinal()),
    GuidePlaneRead: _guide_plane(),
    UndercutRead: st.builds(
        UndercutRead, teeth, surfaces, numbers(0.05, 1.5), st.sampled_from(v.CONTACTS),
        maybe(numbers(0.1, 12)), words(16), st.booleans(),
    ),
    InterferenceNoted: _interference(),
    InterferencesLooked: st.just(InterferencesLooked()),
    SurveyLinesDrawn: st.builds(SurveyLinesDrawn, _some(_line_sites, least=1), st.booleans(), words(16)),
    TripodMarked: _tripod(),
    FourthMarkMade: st.builds(
        FourthMarkMade, ids, numbers(3, 120), numbers(3, 120), numbers(3, 120), words(16)
    ),
    TableDescribed: st.builds(
        TableDescribed, tags, words(80), words(80), words(80), words(80)
    ),
    TipChosen: st.builds(
        TipChosen, teeth, free_surfaces, st.sampled_from(v.MATERIALS),
        st.sampled_from(v.RECIPROCATION), maybe(numbers(2, 40)),
    ),
    Confirmed: st.builds(Confirmed, ids),
    Disturbed: st.builds(Disturbed, st.sampled_from(v.DISTURBANCES), words()),
    Remounted: _remounted(),
    RemountRead: _remount_read(),
    Exempted: st.builds(Exempted, _some(_sites, least=1)),
    Overruled: st.builds(
        Overruled, st.from_regex(r"[A-Z][0-9]{1,2}", fullmatch=True), _some(words(least=1), least=1)
    ),
    Released: st.builds(Released, _some(ids)),
    RecallTaken: st.builds(RecallTaken, ids),
    PersonUnconfirmed: st.builds(PersonUnconfirmed, _some(ids, least=1)),
    PersonConfirmed: st.builds(PersonConfirmed, _some(ids, least=1)),
    HoldSet: st.builds(HoldSet, words()),
    HoldLifted: st.builds(HoldLifted, ids),
    Withdrawn: st.builds(Withdrawn, ids),
}  # fmt: skip

bodies: st.SearchStrategy[Body] = st.sampled_from(BODIES).flatmap(BODY_OF.__getitem__)


@st.composite
def drafts(draw: st.DrawFn, case: str | None = None, named: bool = False) -> Draft:
    """Return a draft of any kind; of the case given (then of no lab kind) or of any."""
    kinds = [kind for kind in BODIES if case is None or kind not in OF_THE_LAB]
    body = draw(st.sampled_from(kinds).flatmap(BODY_OF.__getitem__))
    of_the_lab = type(body) in OF_THE_LAB
    code = None if of_the_lab else case or draw(codes)
    setting = draw(ids if type(body) in AT_A_SETTING else maybe(ids))
    return Draft(
        body, draw(initials), code, setting, draw(_some(ids)), draw(words(80, least=1)),
        draw(ids) if named else None,
    )  # fmt: skip


def chained(device: str, said: Sequence[Draft], at_ms: int = FIRST_MS) -> list[tuple[Entry, bytes]]:
    """Return drafts sealed as one device's chain from its first entry on, with their bytes."""
    chain: list[tuple[Entry, bytes]] = []
    at = datetime.datetime.fromtimestamp(at_ms / 1000, datetime.UTC)
    stamp = at.strftime("%Y-%m-%dT%H:%M:%S.") + f"{at_ms % 1000:03d}Z"
    for seq, draft in enumerate(said, start=1):
        key = draft.entry_id or entry_id(
            at_ms + seq, int.from_bytes(f"{device} {seq}".encode()[-9:])
        )
        prev = chain[-1][0].digest if chain else ""
        entry = sealed(draft, entry_id=key, device=device, at=stamp, seq=seq, prev=prev)
        chain.append(seal(entry))
    return chain


@st.composite
def entries(draw: st.DrawFn) -> tuple[Entry, bytes]:
    """Return one sealed entry of any kind somewhere in a chain, with its bytes."""
    draft = draw(drafts(named=True))
    entry, _ = chained(draw(st.sampled_from(("tablet-1", "bench-0a"))), [draft])[0]
    seq = draw(st.integers(1, 10**6))
    prev = "" if seq == 1 else draw(st.from_regex(r"[0-9a-f]{64}", fullmatch=True))
    return seal(replace(entry, seq=seq, prev=prev))
