"""The focal length of a camera, from how its photos show a label's square; from one photo or from several.

A lens is its focal length as a share of the picture's diagonal, the same whatever the picture's size. Between
photos it is worked with as a logarithm, on which a standard error is a share of the length.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import exp, fsum, hypot, log, sqrt

from bench.core.arch import Vector
from bench.core.photoplane import plane_from

# An everyday lens of a phone or tablet is near 28 mm on a 35 mm frame, 36 by 24 mm, and two in three lie
# within a fifth of it: values from memory.
FRAME_MM = hypot(36, 24)
USUAL_FOCAL, USUAL_SD = 28.0 / FRAME_MM, 0.20
# With a standard error below this a twentieth of a height's effect on distances is left, and no more.
GOOD_SD = 0.05
# A photo that leaves the usual lens more unsure than this told next to nothing of its own.
LEAST_TOLD_SD = 0.9 * USUAL_SD
# What no single photo can tell from its lens (shares; values from memory): a print longer one way than the
# other, the axis off the picture's middle, the bending of straight lines at the picture's corner.
PRINT_SD, MIDDLE_SD, BENT_SD = 0.002, 0.005, 0.005
# The same in all photos of a camera, so that many of them do not wear it off.
COMMON_SD = 0.01
NEWEST_PHOTOS = 20
# Cameras state whole millimetres of some 28, so by up to half of one off.
STATED_SD = 0.01

_REACH, _STEPS = 4 * USUAL_SD, 400
_LEAST_SD = 2 * _REACH / _STEPS
_Columns = tuple[float, float, float, float, float, float]
_Pair = tuple[float, float]


@dataclass(frozen=True)
class Lens:
    """A focal length as a share of the picture's diagonal, with its standard error as a share of itself.

    `photos` counts those it was worked out from; none where it was stated or is the usual one.
    """

    focal: float
    sd: float
    photos: int = 0

    @property
    def good(self) -> bool:
        """Whether it leaves no more than a twentieth of a height's effect."""
        return self.sd <= GOOD_SD

    @property
    def told(self) -> bool:
        """Whether it says more than the usual lens does."""
        return self.sd <= LEAST_TOLD_SD

    def focal_px(self, width_px: float, height_px: float) -> float:
        """Return the focal length in pixels of a picture of this size."""
        return self.focal * hypot(width_px, height_px)


USUAL = Lens(USUAL_FOCAL, USUAL_SD)


def stated(focal_px: float, width_px: float, height_px: float) -> Lens:
    """Return the lens that a camera stated, as a focal length in pixels of a picture of this size."""
    return Lens(focal_px / hypot(width_px, height_px), STATED_SD)


def lens_seen(
    corners_px: Sequence[Vector], spread_px: float, width_px: float, height_px: float
) -> Lens:
    """Return the lens that the corners of one label's square tell, with the usual lens to fall back on.

    `spread_px` is the standard error of a corner's x and y. A square seen from straight above looks the same
    through every lens: then the usual one comes back, with nearly its own standard error. Raises BadSquare.
    Sources: Zhang (2000), 'A flexible new technique for camera calibration', IEEE TPAMI 22(11), equations 3
    and 4: the two sides of a square stay upright on each other and equally long; Hartley and Zisserman,
    'Multiple View Geometry', 2nd edition, section 5.2: errors carried forward to first order. The likelihood
    times the usual lens, a Gaussian of the logarithm, is summed over a grid.
    """
    views = tuple(_views(corners_px, spread_px, width_px, height_px))
    middle = log(USUAL.focal)
    grid = [middle + _REACH * (2 * n / _STEPS - 1) for n in range(_STEPS + 1)]
    fits = [-0.5 * ((x - middle) / USUAL_SD) ** 2 - 0.5 * _missed(exp(x), views) for x in grid]
    best = max(fits)
    weights = [exp(fit - best) for fit in fits]
    whole = fsum(weights)
    mean = fsum(w * x for w, x in zip(weights, grid, strict=True)) / whole
    spread = fsum(w * (x - mean) ** 2 for w, x in zip(weights, grid, strict=True)) / whole
    return Lens(exp(mean), max(_LEAST_SD, sqrt(spread)), 1)


def pooled(lenses: Sequence[Lens]) -> Lens:
    """Return the lens that photos of one camera tell together; the usual one where none tells any.

    Each counts by what it adds to the usual lens, which itself counts once. Photos that disagree more than
    their standard errors let make it less sure by as much (source: Birge 1932, 'The calculation of errors by
    the method of least squares', Physical Review 40: the ratio of spread found to spread expected).
    """
    told = [_added(lens) for lens in lenses if lens.photos and lens.told]
    if not told:
        return USUAL
    worth = fsum(weight for weight, _ in told)
    mean = fsum(weight * x for weight, x in told) / worth
    if len(told) > 1:
        spread = fsum(weight * (x - mean) ** 2 for weight, x in told)
        worth /= max(1.0, spread / (len(told) - 1))
    prior = USUAL_SD**-2
    found = (prior * log(USUAL.focal) + worth * mean) / (prior + worth)
    return Lens(exp(found), hypot((prior + worth) ** -0.5, COMMON_SD), len(told))


def _added(lens: Lens) -> _Pair:
    """Return what a photo adds to the usual lens: its weight, and the logarithm it speaks for."""
    prior, whole = USUAL_SD**-2, lens.sd**-2
    weight = whole - prior
    return weight, (whole * log(lens.focal) - prior * log(USUAL.focal)) / weight


def _views(
    corners_px: Sequence[Vector], spread_px: float, width_px: float, height_px: float
) -> Iterator[_Columns]:
    """Yield the square as it is seen, then as it would be seen with each thing off by its standard error."""
    diagonal = hypot(width_px, height_px)
    seen = [((x - width_px / 2) / diagonal, (y - height_px / 2) / diagonal) for x, y in corners_px]
    yield _columns(seen)
    for n in range(4):
        for dx, dy in ((spread_px / diagonal, 0.0), (0.0, spread_px / diagonal)):
            yield _columns(
                [(x + dx * (m == n), y + dy * (m == n)) for m, (x, y) in enumerate(seen)]
            )
    yield _columns([(x + MIDDLE_SD, y) for x, y in seen])
    yield _columns([(x, y + MIDDLE_SD) for x, y in seen])
    # The picture's corner lies half a diagonal from its middle.
    bent = [1 + BENT_SD * 4 * (x * x + y * y) for x, y in seen]
    yield _columns([(x * by, y * by) for (x, y), by in zip(seen, bent, strict=True)])
    a, b, c, d, e, f = _columns(seen)
    yield a, b, c, d * (1 + PRINT_SD), e * (1 + PRINT_SD), f * (1 + PRINT_SD)


def _columns(corners: Sequence[Vector]) -> _Columns:
    """Return the two sides' columns of the map from the square to the picture."""
    scale = 1e4  # plane_from wants pixels
    grid = plane_from([(x * scale, y * scale) for x, y in corners], 1.0).to_px
    return grid[0] / scale, grid[3] / scale, grid[6], grid[1] / scale, grid[4] / scale, grid[7]


def _sides(focal: float, view: _Columns) -> _Pair:
    """Return how far the sides are from upright on each other, and from equally long."""
    ax, ay, aw, bx, by, bw = view
    f2 = focal * focal
    one, other = (ax * ax + ay * ay) / f2 + aw * aw, (bx * bx + by * by) / f2 + bw * bw
    across = (ax * bx + ay * by) / f2 + aw * bw
    return across / sqrt(one * other), 0.5 * log(one / other)


def _missed(focal: float, views: Sequence[_Columns]) -> float:
    """Return how badly a focal length fits, in squares of standard errors."""
    turn, stretch = _sides(focal, views[0])
    tt = ts = ss = 1e-14
    for view in views[1:]:
        off_turn, off_stretch = _sides(focal, view)
        dt, ds = off_turn - turn, off_stretch - stretch
        tt, ts, ss = tt + dt * dt, ts + dt * ds, ss + ds * ds
    return (turn * turn * ss - 2 * turn * stretch * ts + stretch * stretch * tt) / (
        tt * ss - ts * ts
    )
