"""What stands on the seams: registration marks, the names of the neighbours, ticks where the cut line crosses.

All of it follows from the lines in the overlap alone, which both sheets of a seam show: so both print the same marks, and
neither changes unless its own overlap does.
"""

from __future__ import annotations

from functools import cached_property, lru_cache

import numpy as np
from msgspec import Struct, field

from patterns.pattern import Role
from tiling.lattice import Lattice
from tiling.segments import ROLES, Segments, evaluate, solve_monotone
from tiling.units import Cell, Flags, Reals, to_units

Seam = tuple[int, int, int]
"""(axis, line, place): axis 0 is the upright seam left of column ``line``, in row ``place``; axis 1 the level seam under
row ``line``, in column ``place``."""

MARK_RADIUS = to_units(2.87)
"""Of the registration circle: 5.74 mm across, between the drills of 5.5 mm or 7/32 in and of 15/64 in or 6 mm, so that no
hole is drawn like it."""
MARK_ARM = to_units(4.0)
CLEAR = to_units(1.0)
BASE = to_units(12.0)
"""Base lines run this far from the left and the lower seam, through every sheet."""
TICK = to_units(2.0)

_PLACES = (0.25, 0.19, 0.31, 0.14, 0.37, 0.43)
"""Where a mark may stand on the first half of a seam, in the order of liking; mirrored on the second half."""
_NAMES_AT = (0.5, 0.56, 0.44, 0.62, 0.38, 0.68, 0.32, 0.75, 0.25)
_NAME_ROOM = to_units(26.0)


class SeamMarks(Struct, frozen=True):
    """Distances along one seam from the core's corner (units): its registration marks, its names, and its ticks."""

    marks: tuple[int, int]
    name: int
    ticks: tuple[int, ...] = ()
    named: tuple[bool, bool] = (True, True)
    """Whether the names have room on the low side of the seam (left of it, or below) and on the high side."""


class Seams(Struct, frozen=True, eq=False, dict=True):
    """The marks of all seams of a drawing on a lattice."""

    lattice: Lattice
    crowded: dict[Seam, SeamMarks] = field(default_factory=dict)
    """Seams whose overlap holds lines; every other seam has the marks of an empty one."""

    @cached_property
    def _empty(self) -> tuple[SeamMarks, SeamMarks]:
        nothing = np.zeros((0, 2))
        return _marks(nothing, self.lattice, 0, ()), _marks(nothing, self.lattice, 1, ())

    def at(self, seam: Seam) -> SeamMarks:
        """The marks of one seam."""
        return self.crowded.get(seam) or self._empty[seam[0]]

    def of_sheet(self, cell: Cell) -> dict[str, tuple[Seam, SeamMarks]]:
        """The four seams of a sheet by side."""
        c, r = cell
        seams = {"left": (0, c, r), "right": (0, c + 1, r), "bottom": (1, r, c), "top": (1, r + 1, c)}
        return {side: (seam, self.at(seam)) for side, seam in seams.items()}


def seams_of(segments: Segments, points: Reals, lattice: Lattice) -> Seams:
    """The marks for the integer drawing; ``points`` are points along its lines (units)."""
    crowded: dict[Seam, SeamMarks] = {}
    for axis in (0, 1):
        ticks = _ticks(segments, lattice, axis)
        strips = _strips(points, lattice, axis)
        for key in sorted(set(strips) | set(ticks)):
            near = strips.get(key, np.zeros((0, 2)))
            crowded[(axis, *key)] = _marks(near, lattice, axis, tuple(sorted(ticks.get(key, ()))))
    return Seams(lattice, crowded)


def _strips(points: Reals, lattice: Lattice, axis: int) -> dict[tuple[int, int], Reals]:
    """The points in each overlap of one axis, as (distance from the seam, distance along it)."""
    step, phase = lattice.form.step, lattice.phase
    across = points[:, axis] - phase[axis]
    line = np.rint(across / step[axis])
    off = across - line * step[axis]
    along = points[:, 1 - axis] - phase[1 - axis]
    place = np.floor(along / step[1 - axis])
    inside = np.abs(off) <= lattice.form.overlap / 2
    local = np.stack([off, along - place * step[1 - axis]], axis=1)[inside]
    keys = np.stack([line, place], axis=1)[inside].astype(np.int64)
    if not len(keys):
        return {}
    order = np.lexsort((keys[:, 1], keys[:, 0]))
    local, keys = local[order], keys[order]
    breaks = np.flatnonzero((keys[1:] != keys[:-1]).any(axis=1)) + 1
    firsts = keys[np.r_[0, breaks]].tolist()
    return {(k[0], k[1]): group for k, group in zip(firsts, np.split(local, breaks), strict=True)}


def mark_arm(lattice: Lattice) -> int:
    """Half the length of a registration cross: 4 mm, less in a narrow overlap."""
    return _arm(lattice.form.overlap)


def _arm(overlap: int) -> int:
    return min(MARK_ARM, overlap // 2 - CLEAR)


def _marks(near: Reals, lattice: Lattice, axis: int, ticks: tuple[int, ...]) -> SeamMarks:
    """The first free place on each half for a mark, then one for the names; the freest where none is free."""
    return _marks_among(near.tobytes(), lattice.form.step[1 - axis], lattice.form.overlap, ticks)


@lru_cache(maxsize=512)  # most seams of a watch stay as they were
def _marks_among(points: bytes, length: int, overlap: int, ticks: tuple[int, ...]) -> SeamMarks:
    """The same of a seam of a length and an overlap (units), among points as (distance from it, distance along it)."""
    near = np.frombuffer(points).reshape(-1, 2)
    reach = _arm(overlap) + CLEAR
    halves = []
    for half in (0, 1):
        places = [round(length * (1 - p if half else p)) for p in _PLACES]
        places = [p for p in places if BASE + reach < p < length - overlap // 2 - reach] or [length // 3]
        room = np.hypot(near[:, :1], near[:, 1:] - np.array(places)).min(axis=0, initial=np.inf)
        free = room > reach
        halves.append(places[int(np.argmax(free))] if free.any() else places[int(np.argmax(room))])
    place = _name_place(near, halves, length, reach)
    beside = near[np.abs(near[:, 1] - place) < _NAME_ROOM // 2, 0]
    named = (not (beside < CLEAR).any(), not (beside > -CLEAR).any())
    return SeamMarks((halves[0], halves[1]), place, ticks, named)


def _name_place(near: Reals, marks: list[int], length: int, reach: int) -> int:
    half = _NAME_ROOM // 2
    places = [round(length * p) for p in _NAMES_AT]
    apart = [p for p in places if all(abs(p - m) > half + reach for m in marks)] or places[:1]
    room = np.abs(near[:, 1:] - np.array(apart)).min(axis=0, initial=np.inf)
    free: Flags = room > half + CLEAR
    return apart[int(np.argmax(free))] if free.any() else apart[int(np.argmax(room))]


def _ticks(segments: Segments, lattice: Lattice, axis: int) -> dict[tuple[int, int], set[int]]:
    """Where cut lines cross the seams of one axis: distances along each seam (units)."""
    step, phase = lattice.form.step, lattice.phase
    cut = segments.taken(segments.role == ROLES.index(Role.CUT))
    b = cut.points.astype(np.float64)
    low, high = np.minimum(b[:, 0, axis], b[:, 3, axis]), np.maximum(b[:, 0, axis], b[:, 3, axis])
    line = np.ceil((low - phase[axis]) / step[axis])
    value = phase[axis] + line * step[axis]
    crossing = (value <= high) & (high > low)
    b, line, value = b[crossing], line[crossing], value[crossing]
    at = evaluate(b[:, :, 1 - axis], solve_monotone(b[:, :, axis], value)) - phase[1 - axis]
    ticks: dict[tuple[int, int], set[int]] = {}
    for k, along in zip(line.astype(int).tolist(), at.tolist(), strict=True):
        place = int(along // step[1 - axis])
        ticks.setdefault((k, place), set()).add(round(along - place * step[1 - axis]))
    return ticks
