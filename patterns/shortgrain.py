"""Short grain: narrow necks and limbs of an outline that the grain runs across, where wood breaks along its fibres.

The rule is common practice, no source: a strip of wood is weak where it is narrower than three times its thickness and
its fibres cross it at more than 45 degrees, if it stays so over at least twice its width (a limb), or if it widens
again to both sides (a neck). Beside a hole only a limb counts, since the wood goes round the hole's other side too.
The outline is sampled: a neck is a matter of millimetres, not of microns.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from patterns.affine import Points
from patterns.arrays import group_starts
from patterns.curve import Curve
from patterns.outline import Outline

WIDTHS_OF_THICKNESS = 3.0
"""A strip narrower than this many times its thickness is narrow. Common practice, no source."""

LEAST_WIDTH_MM = 50.0
"""What is narrow in a part whose thickness is not said: about 2 in. Common practice, no source."""

ACROSS = math.cos(math.radians(45))
"""Cosine of the angle between the grain and the way across a strip below which the grain runs across it."""

OPPOSITE = math.cos(math.radians(30))
"""The two sides of a strip face each other within this angle."""

SAME_FLANK = math.cos(math.radians(60))
"""Sides that look this far apart are no longer the same side of a strip."""

LIMB_WIDTHS = 2.0
"""A limb is at least this many times as long as it is wide."""

WIDER = 1.25
"""A neck widens to both sides to at least this many times its width."""

EVEN = 1.02
"""What is this little wider than the narrowest place is as narrow: of a strip of even width the middle is named."""

REACH = 1.5
"""Widths are measured up to this many times what is narrow; wider is wide enough."""

SAMPLES_A_WIDTH = 8
MOST_SAMPLES = 800

Mask = NDArray[np.bool_]


class Neck(Struct, frozen=True):
    """A weak place: the middle of its narrowest line across (mm), and the width there (mm)."""

    at: tuple[float, float]
    width: float


class _Flank(Struct, frozen=True, eq=False):
    """A loop of the outline in even steps (mm): points, unit normals into the wood, width there and point across.

    ``facing`` says where the two sides face each other, ``by_hole`` where one of the two is a hole's.
    """

    step: float
    points: Points
    inward: Points
    width: Points
    across: Points
    facing: Mask
    by_hole: Mask


def necks(outline: Outline, grain: float, limit_mm: float) -> tuple[Neck, ...]:
    """The weak places narrower than ``limit_mm``, ``grain`` being the direction of the fibres (radians)."""
    found: list[Neck] = []
    loops = _Loops.of(outline, limit_mm)
    for number in range(len(loops.each)):
        weak = _weak(loops, number, grain, limit_mm)
        if not weak.any():
            continue
        flank = loops.flank(number)
        for run in _runs(weak):
            neck = _neck(flank, run)
            if neck is not None and not any(_is_same(neck, other) for other in found):
                found.append(neck)
    return tuple(found)


def _weak(loops: _Loops, number: int, grain: float, limit_mm: float) -> Mask:
    """Where the wood inside a loop is narrow and the grain runs across it; looked for only where it can run across."""
    way = loops.each[number].inward @ np.array([math.cos(grain), math.sin(grain)])
    weak: Mask = np.abs(way) > ACROSS
    some = np.flatnonzero(weak)
    if len(some):
        flank = loops.flank(number, some)
        weak[some] = flank.facing & (flank.width < limit_mm)
    return weak


def _is_same(one: Neck, other: Neck) -> bool:
    """Whether two are one place, found from its two sides."""
    return math.dist(one.at, other.at) <= 1.5 * min(one.width, other.width)


def _neck(flank: _Flank, run: NDArray[np.int64]) -> Neck | None:
    slim = run[flank.width[run] <= flank.width[run].min() * EVEN]
    narrowest = int(slim[len(slim) // 2])
    width = float(flank.width[narrowest])
    is_limb = len(run) * flank.step >= LIMB_WIDTHS * float(np.median(flank.width[run]))
    if not is_limb and (flank.by_hole[narrowest] or not _widens(flank, run, narrowest)):
        return None
    x, y = (flank.points[narrowest] + flank.across[narrowest]) / 2
    return Neck((float(x), float(y)), width)


def _widens(flank: _Flank, run: NDArray[np.int64], narrowest: int) -> bool:
    """Whether the strip is wider again to both sides of the run, before its side turns away."""
    reach = math.ceil(1.5 * flank.width[narrowest] / flank.step)
    count = len(flank.width)
    for start, way in ((int(run[0]), -1), (int(run[-1]), 1)):
        beyond = (start + way * np.arange(0, min(reach, count // 2) + 1)) % count
        same = flank.inward[beyond] @ flank.inward[narrowest] > SAME_FLANK
        same = np.logical_and.accumulate(same)
        if not (flank.width[beyond][same] >= WIDER * flank.width[narrowest]).any():
            return False
    return True


def _runs(weak: Mask) -> list[NDArray[np.int64]]:
    """The runs of neighbouring samples round a loop that are marked."""
    if weak.all():
        return [np.arange(len(weak))]
    if not weak.any():
        return []
    origin = int(np.flatnonzero(~weak)[0])
    marked = np.flatnonzero(np.roll(weak, -origin))
    parts = np.split(marked, np.flatnonzero(np.diff(marked) > 1) + 1)
    return [(part + origin) % len(weak) for part in parts]


# -------------------------------------------------------------------- how wide the wood is


class _Loop(Struct, frozen=True, eq=False):
    """A loop of the outline in even steps (mm): points, and unit normals into the wood."""

    points: Points
    inward: Points
    step: float


class _Loops(Struct, frozen=True, eq=False):
    """The loops of an outline, and all their sides from point to point; widths are measured up to ``reach`` (mm)."""

    each: list[_Loop]
    starts: Points
    ends: Points
    reach: float

    @classmethod
    def of(cls, outline: Outline, limit_mm: float) -> _Loops:
        """The outline's boundary, then its holes."""
        each = [_sampled(curve, limit_mm) for curve in outline.curves]
        starts = np.concatenate([loop.points for loop in each])
        ends = np.concatenate([np.roll(loop.points, -1, axis=0) for loop in each])
        return cls(each, starts, ends, REACH * limit_mm)

    def flank(self, number: int, some: NDArray[np.int64] | slice = slice(None)) -> _Flank:
        """A loop with the width of the wood at its points, or at some of them."""
        loop = self.each[number]
        points, inward = loop.points[some], loop.inward[some]
        width, hit = _widths(points, inward, self.starts, self.ends, self.reach)
        side = (self.ends - self.starts)[hit]
        opposite = np.stack([-side[:, 1], side[:, 0]], axis=1) / np.hypot(side[:, 0], side[:, 1])[:, None]
        facing = (inward * opposite).sum(axis=1) < -OPPOSITE
        across = points + inward * np.where(np.isfinite(width), width, 0.0)[:, None]
        by_hole = (hit >= len(self.each[0].points)) | (number > 0)
        return _Flank(loop.step, points, inward, width, across, facing & np.isfinite(width), by_hole)


def _sampled(curve: Curve, limit_mm: float) -> _Loop:
    """Points in even steps, unit normals to the left (into the wood), and the step (mm)."""
    count = min(MOST_SAMPLES, max(24, math.ceil(curve.length / limit_mm * SAMPLES_A_WIDTH)))
    step = curve.length / count
    t = _evenly(curve, count)
    way = curve.derivative(t)
    speed = np.hypot(way[:, 0], way[:, 1])
    way = np.where(speed[:, None] > 0.0, way, curve.point(np.minimum(t + 1e-6, len(curve))) - curve.point(t))
    way = way / np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-300)[:, None]
    return _Loop(curve.point(t), np.stack([-way[:, 1], way[:, 0]], axis=1), step)


def _evenly(curve: Curve, count: int) -> Points:
    """Parameters of about even steps along the curve, by chords of an eighth of each Bézier: even enough to look round."""
    dense = np.linspace(0.0, len(curve), 8 * len(curve) + 1)
    points = curve.point(dense)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    result: Points = np.interp((np.arange(count) + 0.5) / count * along[-1], along, dense)
    return result


def _beside(here: Points, there: Points, reach: float) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of numbers of the places ``here`` and ``there`` on a line that are no further apart than ``reach``."""
    order = np.argsort(there)
    low = np.searchsorted(there[order], here - reach)
    count = np.searchsorted(there[order], here + reach, side="right") - low
    row = np.repeat(np.arange(len(here)), count)
    step = np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    return row, order[low[row] + step]


def _widths(
    points: Points, inward: Points, starts: Points, ends: Points, reach_mm: float
) -> tuple[Points, NDArray[np.int64]]:
    """How far each normal runs until it meets the outline again (mm, inf beyond the reach), and which side it meets."""
    side = ends - starts
    size = np.hypot(side[:, 0], side[:, 1])
    middle = (starts + ends) / 2
    row, k = _beside(points[:, 0], middle[:, 0], reach_mm + float(size.max()) / 2)
    away = (middle[k, 0] - points[row, 0]) ** 2 + (middle[k, 1] - points[row, 1]) ** 2
    near = away <= (reach_mm + size[k] / 2) ** 2
    row, k = row[near], k[near]
    from_point, toward, way = starts[k] - points[row], side[k], inward[row]
    slant = way[:, 0] * toward[:, 1] - way[:, 1] * toward[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        distance = (from_point[:, 0] * toward[:, 1] - from_point[:, 1] * toward[:, 0]) / slant
        along = (from_point[:, 0] * way[:, 1] - from_point[:, 1] * way[:, 0]) / slant
    meets = np.flatnonzero((along >= 0.0) & (along <= 1.0) & (distance > 0.51 * size[k]) & (distance <= reach_mm))
    meets = meets[np.lexsort((k[meets], distance[meets], row[meets]))]
    first = meets[group_starts(row[meets])]
    width, hit = np.full(len(points), np.inf), np.zeros(len(points), dtype=np.int64)
    width[row[first]], hit[row[first]] = distance[first], k[first]
    return width, hit
