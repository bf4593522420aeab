"""The map of tilts as a picture: where every wish is met, the sites' edges, settings, the tilt tried."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import asin, degrees, hypot, radians, sin

from bench.core.arch import Vector
from bench.core.case import Setting
from bench.core.finder import FoundTilt
from bench.core.polygon import Corner, CutSide, MadeBy, Polygon, clipped, square
from bench.core.strips import Strip, sides_of
from bench.core.teeth import Arch
from bench.core.tilt import Tilt, patients_side
from bench.web.archmap import Text, closed, line
from bench.words.reader import Reader
from bench.words.tilts import tilt_in_words

HALF, LEFT, RIGHT, FRONT, BACK = 210.0, 58.0, 28.0, 28.0, 50.0
_CUTS = (0.0, 0.25, 0.5, 0.75)
_LETTER, _LINE_HEIGHT, _OFF_LINE = 8.6, 19.0, 13.0
_ALONG = (0.06, 0.94, 0.16, 0.84, 0.28, 0.72, 0.4, 0.6, 0.5)
_POINT_ROOM = 13.0
_AROUND = ((0.0, -24.0), (0.0, 24.0), (50.0, 0.0), (-50.0, 0.0), (44.0, -18.0), (-44.0, -18.0))


@dataclass(frozen=True, slots=True)
class EdgeShape:
    """Where a site just reaches its wish: the line, strokes toward the side that serves, its name."""

    line: str
    strokes: str
    name: Text | None


@dataclass(frozen=True, slots=True)
class SettingDot:
    """A setting of the cast on the map; the address tries it, None for the present one."""

    x: float
    y: float
    number: str
    label: str
    words: str
    tilt: Tilt
    now: bool


@dataclass(frozen=True, slots=True)
class EdgeName:
    """The name of an edge of the map after the edge of the cast that goes down there, turned in degrees."""

    x: float
    y: float
    turn: int
    text: str


@dataclass(frozen=True, slots=True)
class TiltPicture:
    """Everything `pieces/tiltmap.html` draws. One degree is `unit` long; front lower is up."""

    view_box: str
    half: float
    unit: float
    limit_deg: float
    label: str
    grid: str
    axes: str
    ticks: tuple[Text, ...]
    edge_names: tuple[EdgeName, ...]
    area: str
    area_name: Text | None
    edges: tuple[EdgeShape, ...]
    settings: tuple[SettingDot, ...]
    now_name: Text | None
    found: Vector | None
    tried: Vector
    way: str


@dataclass(frozen=True, slots=True)
class _Box:
    x: float
    y: float
    half_wide: float
    half_high: float = _LINE_HEIGHT / 2

    def meets(self, other: _Box) -> bool:
        return (
            abs(self.x - other.x) < self.half_wide + other.half_wide
            and abs(self.y - other.y) < self.half_high + other.half_high
        )


@dataclass(frozen=True)
class Scale:
    """How tilts lie on the map: `unit` to a degree, the limit on both axes."""

    limit_deg: float

    @property
    def unit(self) -> float:
        """The length of a degree."""
        return HALF / self.limit_deg

    def at(self, tilt: Tilt) -> Vector:
        """Return where a tilt lies: x to the right of view, y toward the front."""
        return tilt.lat_deg * self.unit, tilt.ap_deg * self.unit

    def of_sines(self, x: float, y: float) -> Vector:
        """Return where a place in the plane of tilts lies."""
        return self.at(Tilt(degrees(asin(x)), degrees(asin(y))))

    def holds(self, tilt: Tilt) -> bool:
        """Say whether a tilt lies on the map."""
        return max(abs(tilt.ap_deg), abs(tilt.lat_deg)) <= self.limit_deg


def tilt_picture(
    strips: Sequence[Strip],
    found: FoundTilt,
    settings: Iterable[Setting],
    now: Setting,
    tried: Tilt,
    limit_deg: float,
    arch: Arch,
    reader: Reader,
    state: str,
) -> TiltPicture:
    """Return the map of tilts up to a limit; `state` says in words what the tilt tried does."""
    scale = Scale(limit_deg)
    dots = tuple(_dots(settings, now, scale, reader))
    taken = [_Box(dot.x, dot.y, _POINT_ROOM, _POINT_ROOM) for dot in dots]
    now_name = _now_name(dots, taken)
    taken += [_around(now_name)] if now_name else []
    area, area_name = _area(found, scale, reader, taken)
    taken += [_around(area_name)] if area_name else []
    edges = tuple(_edges(strips, scale, taken, reader))
    here, then = scale.at(now.tilt or Tilt(0.0, 0.0)), scale.at(tried)
    limit = reader.angle(limit_deg)
    return TiltPicture(
        view_box=f"{-HALF - LEFT} {-HALF - FRONT} {2 * HALF + LEFT + RIGHT} {2 * HALF + FRONT + BACK}",
        half=HALF, unit=scale.unit, limit_deg=limit_deg,
        label=reader.say("tiltmap.name", limit=limit, state=state),
        grid=_grid(scale), axes=line(((-HALF, 0), (HALF, 0))) + line(((0, -HALF), (0, HALF))),
        ticks=tuple(_ticks(scale, reader)), edge_names=tuple(_edge_names(arch, reader)),
        area=area, area_name=area_name, edges=edges, settings=dots, now_name=now_name,
        found=_flipped(scale.at(found.tilt)) if strips else None, tried=_flipped(then),
        way=line((here, then)),
    )  # fmt: skip


def _flipped(at: Vector) -> Vector:
    return round(at[0], 1) + 0.0, round(-at[1], 1) + 0.0


def _text(at: Vector, text: str) -> Text:
    return Text(*_flipped(at), text)


def _around(text: Text | None) -> _Box:
    assert text is not None
    return _Box(text.x, text.y, len(text.text) * _LETTER / 2)


def _steps(scale: Scale) -> list[float]:
    step = 3 if scale.limit_deg % 3 == 0 and scale.limit_deg <= 18 else 5
    count = int(scale.limit_deg // step)
    return [float(step * n) for n in range(-count, count + 1)]


def _grid(scale: Scale) -> str:
    along = [deg * scale.unit for deg in _steps(scale)]
    return "".join(
        line(((at, -HALF), (at, HALF))) + line(((-HALF, at), (HALF, at))) for at in along
    )


def _ticks(scale: Scale, reader: Reader) -> Iterator[Text]:
    for deg in _steps(scale):
        said = reader.say("choices.figure.deg", value=reader.number(abs(deg), 0))
        yield _text((deg * scale.unit, -HALF - 14), said)
        if deg:
            yield _text((-HALF - 19, deg * scale.unit), said)


def _edge_names(arch: Arch, reader: Reader) -> Iterator[EdgeName]:
    yield EdgeName(0, -HALF - 15, 0, reader.say("tiltmap.front"))
    yield EdgeName(0, HALF + 36, 0, reader.say("tiltmap.back"))
    for view, x, turn in (("left", -HALF - 44, -90), ("right", HALF + 15, 90)):
        side = reader.choice("side", patients_side(arch, "right" if view == "right" else "left"))
        yield EdgeName(x, 0, turn, reader.say(f"tiltmap.side_{view}", side=side))


def _dots(
    settings: Iterable[Setting], now: Setting, scale: Scale, reader: Reader
) -> Iterator[SettingDot]:
    """Yield the present setting, then the earlier ones that lie elsewhere on the map, newest first."""
    placed: list[Vector] = []
    newest_first = sorted(settings, key=lambda one: (one.id == now.id, one.number), reverse=True)
    for setting in newest_first:
        tilt = setting.tilt
        if tilt is None or not scale.holds(tilt) or scale.at(tilt) in placed:
            continue
        placed.append(scale.at(tilt))
        said = reader.say("tiltmap.setting", number=setting.number)
        at = _flipped(placed[-1])
        here = setting.id == now.id
        yield SettingDot(*at, str(setting.number), said, tilt_in_words(setting, reader), tilt, here)


def _now_name(dots: Sequence[SettingDot], taken: list[_Box]) -> Text | None:
    """Return the name of the present setting beside its ring, where nothing else stands."""
    here = next((dot for dot in dots if dot.now), None)
    if here is None:
        return None
    ways = [Text(here.x + x, here.y - y, here.label) for x, y in _AROUND]
    free = (text for text in ways if not any(_around(text).meets(box) for box in taken))
    return next(free, ways[0])


def _area(
    found: FoundTilt, scale: Scale, reader: Reader, taken: Sequence[_Box]
) -> tuple[str, Text | None]:
    corners = [(sin(radians(c.ap_deg)), sin(radians(c.lat_deg))) for c in found.map.corners]
    if not corners:
        return "", None
    points = [scale.of_sines(*place) for place in _walked(corners)]
    words = reader.say("tiltmap.area")
    wide = max(x for x, _ in points) - min(x for x, _ in points)
    high = max(y for _, y in points) - min(y for _, y in points)
    whole = all(maker.bound == "limit" for maker in found.map.made_by)
    if whole or wide < len(words) * _LETTER * 1.6 or high < 60:
        return closed(tuple(points)), None
    middle = _middle(points)
    for up in (0, 28, -28, 52, -52, 80, -80):
        text = _text((middle[0], middle[1] + up), words)
        if not any(_around(text).meets(box) for box in taken) and _inside(points, text):
            return closed(tuple(points)), text
    return closed(tuple(points)), None


def _inside(points: Sequence[Vector], text: Text) -> bool:
    half = len(text.text) * _LETTER / 2
    corners = tuple(Corner(x, -y, MadeBy("", "limit")) for x, y in points)
    ways = [
        (x + dx, y) for dx in (-half, half) for x, y in ((text.x, text.y - 8), (text.x, text.y + 8))
    ]
    return all(_holds(corners, place) for place in ways)


def _holds(corners: Polygon, place: Vector) -> bool:
    inside = []
    for here, then in zip(corners, (*corners[1:], corners[0]), strict=True):
        along_x, along_y = then.x - here.x, then.y - here.y
        inside.append(along_x * (place[1] - here.y) - along_y * (place[0] - here.x))
    return all(side >= 0 for side in inside) or all(side <= 0 for side in inside)


def _middle(points: Sequence[Vector]) -> Vector:
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)


def _walked(corners: Sequence[Vector]) -> Iterator[Vector]:
    for (x, y), (to_x, to_y) in zip(corners, (*corners[1:], corners[0]), strict=True):
        for share in _CUTS:
            yield x + share * (to_x - x), y + share * (to_y - y)


def _edges(
    strips: Sequence[Strip], scale: Scale, taken: list[_Box], reader: Reader
) -> Iterator[EdgeShape]:
    for strip in strips:
        for side in sides_of(strip):
            ends = _ends(side, scale.limit_deg)
            if ends:
                yield _edge(side, ends, scale, taken, reader)


def _ends(side: CutSide, limit_deg: float) -> tuple[Vector, Vector] | None:
    """Return where a side enters and leaves the map, in the plane of tilts."""
    kept = clipped(square(sin(radians(limit_deg))), (side,))
    mine = [n for n, corner in enumerate(kept) if corner.made_by == side.made_by]
    if not mine:
        return None
    here, then = kept[mine[0]], kept[(mine[0] + 1) % len(kept)]
    return (here.x, here.y), (then.x, then.y)


def _edge(
    side: CutSide,
    ends: tuple[Vector, Vector],
    scale: Scale,
    taken: list[_Box],
    reader: Reader,
) -> EdgeShape:
    (x, y), (to_x, to_y) = ends

    def along(share: float) -> Vector:
        return scale.of_sines(x + share * (to_x - x), y + share * (to_y - y))

    # Toward the side that serves: x is the front, drawn upward, y the right of view.
    serving = (side.y, side.x)
    length = hypot(*serving)
    serving = (serving[0] / length, serving[1] / length)
    strokes = "".join(
        line((along(share), _moved(along(share), serving, 8))) for share in (0.2, 0.4, 0.6, 0.8)
    )
    name = _named(reader.site(side.made_by.name), along, serving, taken)
    return EdgeShape(line(tuple(along(n / 4) for n in range(5))), strokes, name)


def _moved(at: Vector, way: Vector, by: float) -> Vector:
    return at[0] + by * way[0], at[1] + by * way[1]


def _named(
    words: str, along: Callable[[float], Vector], serving: Vector, taken: list[_Box]
) -> Text | None:
    """Return the name beside a line where nothing else stands, off the side that serves if it can."""
    half_wide = len(words) * _LETTER / 2
    for way in (-1, 1):
        for share in _ALONG:
            off = _OFF_LINE + abs(serving[0]) * (half_wide - 6)
            x, y = _moved(along(share), serving, way * off)
            x = min(HALF - half_wide - 4, max(half_wide + 4 - HALF, x))
            y = min(HALF - 9, max(9 - HALF, y))
            text = _text((x, y), words)
            box = _around(text)
            if not any(box.meets(other) for other in taken):
                taken.append(box)
                return text
    return None
