"""The drawing as integers: strokes cut where they cross the sheets' windows, every control point rounded once.

Two sheets that share a stretch of line draw the same integers, so they can't disagree; and a sheet that a change does not
touch keeps its integers, so it need not be printed again.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from msgspec import Struct

from patterns.affine import Affine
from patterns.blossom import stretches
from patterns.dashes import dash_beziers
from patterns.memory import FORGETFUL, Memory
from patterns.pattern import Role, Stroke
from tiling.lattice import Lattice
from tiling.units import UNITS_PER_MM, Flags, Integers, Reals, to_units

ROLES = tuple(Role)
"""Lines are drawn in this order; a segment's role is its index here."""

SETTLED = 1e-6
"""Units: a place on a line is found when it is this near, a ten-millionth of what a rounding could show."""
_MOST_STEPS = 80
_LEVEL = 1e-9
"""Units: a line that moves less in x or in y stays where it is."""

GROWN = to_units(1.0)
"""Lines are cut 1 mm outside the windows, where the cut is not seen."""


class Lines(Struct, frozen=True, eq=False):
    """Strokes in draw units before rounding: Béziers (n, 4, 2), whether each is straight, and its role."""

    beziers: Reals
    straight: Flags
    role: Integers

    def taken(self, index: Integers | Flags) -> Lines:
        """Those at ``index``."""
        return Lines(self.beziers[index], self.straight[index], self.role[index])


class Segments(Struct, frozen=True, eq=False):
    """The integer drawing: control points (n, 4, 2) in draw units, whether each is straight, and its role.

    Each runs upward, or to the right where it is level, whichever way it was drawn.
    """

    points: Integers
    straight: Flags
    role: Integers

    def __len__(self) -> int:
        return len(self.points)

    def taken(self, index: Integers | Flags) -> Segments:
        """Those at ``index``."""
        return Segments(self.points[index], self.straight[index], self.role[index])


def lines_of(strokes: Iterable[Stroke], to_drawing: Affine) -> Lines:
    """The strokes under the map from the part (mm) to the drawing (units), dashes cut, in pieces that turn back in
    neither axis."""
    dashed = [(dash_beziers(stroke), ROLES.index(stroke.role)) for stroke in strokes]
    if not dashed:
        return Lines(np.zeros((0, 4, 2)), np.zeros(0, dtype=bool), np.zeros(0, dtype=np.int64))
    beziers = np.concatenate([array for array, _ in dashed])
    role = np.repeat([index for _, index in dashed], [len(array) for array, _ in dashed])
    straight = _straight(beziers)
    drawn = Lines(to_drawing.apply(_evened(beziers, straight)), straight, role)
    return _cut(drawn, *_turning_points(drawn.beziers))


def lines_on_paper(strokes: Sequence[Stroke], to_drawing: Affine, memory: Memory = FORGETFUL) -> Lines:
    """The lines of what is drawn on sheets: everything but dimension lines, which the cover's figures stand for."""

    def made() -> Lines:
        return lines_of([stroke for stroke in strokes if stroke.role is not Role.DIMENSION], to_drawing)

    return memory.kept(("lines on paper", tuple(strokes), to_drawing), made)


def map_to_drawing(turn: int, correction: Affine) -> Affine:
    """From the part (mm) to the drawing (units): turned by 0 or 90 degrees, then corrected for the printer."""
    quarter = Affine(0.0, 1.0, -1.0, 0.0, 0.0, 0.0) if turn == 90 else Affine()
    return Affine.scaling(UNITS_PER_MM) @ correction @ quarter


def segments_of(lines: Lines, lattice: Lattice) -> Segments:
    """The lines cut at the lattice's windows and rounded."""
    half = lattice.form.overlap // 2 + GROWN
    for axis in (0, 1):
        step, phase = lattice.form.step[axis], lattice.phase[axis]
        for offset in (phase - half, phase + half):
            lines = cut_at(lines, axis, offset, step)
    points = np.rint(lines.beziers).astype(np.int64)
    moves = (points != points[:, :1]).any(axis=(1, 2))
    points, straight, role = points[moves], lines.straight[moves], lines.role[moves]
    down = (points[:, 3, 1] < points[:, 0, 1]) | (
        (points[:, 3, 1] == points[:, 0, 1]) & (points[:, 3, 0] < points[:, 0, 0])
    )
    points[down] = points[down, ::-1]
    points[straight, 1], points[straight, 2] = points[straight, 0], points[straight, 3]
    order = np.lexsort((*points.reshape(-1, 8).T[::-1], straight, role))
    return Segments(points[order], straight[order], role[order])


def cut_at(lines: Lines, axis: int, offset: int, step: int) -> Lines:
    """The lines cut wherever they cross ``offset + k * step`` of an axis (units)."""
    return _cut(lines, *crossings(lines.beziers[:, :, axis], lines.straight, offset, step))


def _straight(beziers: Reals) -> Flags:
    """Which Béziers are straight lines, within float noise of their size."""
    chord = beziers[:, 3] - beziers[:, 0]
    rel = beziers - beziers[:, :1]
    off = np.abs(rel[..., 0] * chord[:, None, 1] - rel[..., 1] * chord[:, None, 0]).max(axis=1)
    along = np.einsum("nki,ni->nk", rel, chord)
    ahead = (np.diff(along, axis=1) >= -1e-9).all(axis=1)
    size = np.hypot(chord[:, 0], chord[:, 1])
    result: Flags = (off <= 1e-9 * np.maximum(size, 1e-9)) & ahead & (size > 1e-6)
    return result


def _evened(beziers: Reals, straight: Flags) -> Reals:
    """The same lines, the straight ones run through at an even pace, so that where they are cut follows from their ends."""
    if not straight.any():
        return beziers
    array = beziers.copy()
    start, end = array[straight, 0], array[straight, 3]
    array[straight, 1], array[straight, 2] = start + (end - start) / 3, end - (end - start) / 3
    return array


def _turning_points(b: Reals) -> tuple[Integers, Reals]:
    """(index of the Bézier, parameter) of every place where one turns back in x or y: the roots of its derivative."""
    d = np.diff(b, axis=1)
    a2, a1, a0 = d[:, 0] - 2 * d[:, 1] + d[:, 2], 2 * (d[:, 1] - d[:, 0]), d[:, 0]
    root = a1 * a1 - 4 * a2 * a0
    with np.errstate(divide="ignore", invalid="ignore"):
        q = -0.5 * (a1 + np.copysign(np.sqrt(root), a1))
        t = np.stack([q / a2, a0 / q], axis=-1)
    level = np.abs(d).max(axis=1) < _LEVEL  # float noise turns back anywhere
    inside = np.isfinite(t) & (t > 1e-9) & (t < 1 - 1e-9) & ~level[..., None]
    where = np.nonzero(inside)
    return where[0], t[where]


def crossings(
    coordinate: Reals, straight: Flags, offset: Integers | int, step: Integers | int
) -> tuple[Integers, Reals]:
    """(index, parameter) where a Bézier in one coordinate (n, 4) takes a value ``offset + k * step``, each its own or all
    the same (units).

    The Béziers turn back nowhere, so that each takes a value once at the most.
    """
    start, end = coordinate[:, 0], coordinate[:, 3]
    first = np.floor((np.minimum(start, end) - offset) / step).astype(np.int64) + 1
    count = np.maximum(np.ceil((np.maximum(start, end) - offset) / step).astype(np.int64) - first, 0)
    index = np.repeat(np.arange(len(count)), count)
    nth = np.arange(len(index)) - np.repeat(np.cumsum(count) - count, count)
    offset, step = (np.broadcast_to(one, len(count))[index] for one in (offset, step))
    value = offset + step * (first[index] + nth).astype(np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (value - start[index]) / (end[index] - start[index])
    bent = ~straight[index]
    if bent.any():
        t[bent] = solve_monotone(coordinate[index[bent]], value[bent])
    return index, t


def solve_monotone(coordinate: Reals, value: Reals) -> Reals:
    """Where a cubic Bézier in one coordinate (n, 4), nowhere turning back, takes ``value`` (n,), within ``SETTLED``.

    Newton's steps, halving the bracket where one leaves it. Each place settles by itself: what else is asked for at the
    same time changes no bit of it.
    """
    start, end = coordinate[:, 0], coordinate[:, 3]
    low, high = np.zeros(len(value)), np.ones(len(value))
    rising = end > start
    with np.errstate(divide="ignore", invalid="ignore"):
        t = np.where(end != start, (value - start) / (end - start), 0.5)
    slopes = 3.0 * np.diff(coordinate, axis=1)
    settled = np.zeros(len(value), dtype=bool)
    for _ in range(_MOST_STEPS):
        miss = evaluate(coordinate, t) - value
        settled |= np.abs(miss) <= SETTLED
        if settled.all():
            break
        below = (miss < 0) == rising
        low, high = np.where(below, t, low), np.where(below, high, t)
        v = 1.0 - t
        with np.errstate(divide="ignore", invalid="ignore"):
            step = t - miss / (v * v * slopes[:, 0] + 2 * v * t * slopes[:, 1] + t * t * slopes[:, 2])
        inside = (step > low) & (step < high)
        t = np.where(settled, t, np.where(inside, step, 0.5 * (low + high)))
    result: Reals = t
    return result


def evaluate(coordinate: Reals, t: Reals) -> Reals:
    """One coordinate (n, 4) of cubic Béziers at ``t`` (n,)."""
    v = 1.0 - t
    result: Reals = (
        v**3 * coordinate[:, 0]
        + 3 * v * v * t * coordinate[:, 1]
        + 3 * v * t * t * coordinate[:, 2]
        + t**3 * coordinate[:, 3]
    )
    return result


def _cut(lines: Lines, index: Integers, t: Reals) -> Lines:
    """The lines with Bézier ``index[k]`` cut at parameter ``t[k]``, for every k; order kept."""
    if not len(index):
        return lines
    piece, start, end = between(len(lines.beziers), index, t)
    beziers = lines.beziers[piece]
    cut = (start > 0.0) | (end < 1.0)
    beziers[cut] = stretches(beziers[cut], start[cut], end[cut])
    return Lines(beziers, lines.straight[piece], lines.role[piece])


def between(count: int, index: Integers, t: Reals) -> tuple[Integers, Reals, Reals]:
    """(index of the Bézier, parameters of both ends) of the pieces of so many Béziers where number ``index[k]`` is cut at
    ``t[k]``, for every k; in their order. What would be no longer than float noise is none."""
    inside = (t > 1e-9) & (t < 1 - 1e-9)
    cuts = np.concatenate([np.zeros(count), t[inside]])
    piece = np.concatenate([np.arange(count), index[inside]])
    order = np.lexsort((cuts, piece))
    piece, start = piece[order], cuts[order]
    end = np.ones(len(start))
    end[:-1] = np.where(piece[1:] == piece[:-1], start[1:], 1.0)
    keep = end - start > 1e-9
    return piece[keep], start[keep], end[keep]
