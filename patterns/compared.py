"""Two versions of a part laid on each other by their blanks' lower left corners: which lines differ, how far, and where."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from typing import Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from patterns.affine import Points
from patterns.apart import ACCURACY_MM, LEVEL_MM, Farthest, farthest
from patterns.blank import Blank
from patterns.boundary import curve_of
from patterns.curve import Curve
from patterns.outline import Outline
from patterns.part import Board, Part
from patterns.stretch import Hole, Stretch

Version = Literal["old", "new"]

SAME_CORNER_MM = 1e-6
"""A farthest point this near to a stretch's end is that end."""


class Shape(Struct, frozen=True, eq=False):
    """What is compared: a part as it stands when finished, or one board of it; ``name`` is its pattern's."""

    name: str
    part: str
    outline: Outline
    stretches: tuple[Stretch, ...]
    holes: tuple[Hole, ...]
    blank: Blank


class LineChange(Struct, frozen=True):
    """One line of the cut line that lies elsewhere now: a stretch of the boundary, or a hole.

    ``key`` is that of the stretch or the hole, of the version that ``at`` lies on. ``distance`` (mm) is from the point
    ``at`` to the ``nearest`` point of the other version's line; ``even``: it is so all along. ``station`` and ``depth``
    (mm) are those of ``at`` on the blank's ``edge`` that it belongs to. ``more_wood``: the new version has wood between
    the two points, and the old one has none. ``centres`` are the old and the new centre of a hole that was moved.
    """

    key: str
    on: Version
    distance: float
    at: tuple[float, float]
    nearest: tuple[float, float]
    even: bool
    average: float
    more_wood: bool
    name: str = ""
    edge: str = ""
    station: float | None = None
    depth: float | None = None
    centres: tuple[tuple[float, float], tuple[float, float]] | None = None


class Compared(Struct, frozen=True, eq=False, dict=True):
    """The differences of two versions of a shape; ``changes`` the largest first."""

    old: Shape
    new: Shape
    changes: tuple[LineChange, ...]
    holes_added: tuple[Hole, ...] = ()
    holes_gone: tuple[Hole, ...] = ()

    @property
    def is_same(self) -> bool:
        """Whether the cut line is where it was."""
        return not (self.changes or self.holes_added or self.holes_gone)

    @property
    def largest(self) -> LineChange | None:
        """The largest distance between the two cut lines; None where no line has moved."""
        return self.changes[0] if self.changes else None

    @cached_property
    def is_from_another_blank(self) -> bool:
        """Whether the two blanks differ in shape or size."""
        old, new = self.old.blank.vertices, self.new.blank.vertices
        same = len(old) == len(new) and all(math.dist(a, b) <= ACCURACY_MM for a, b in zip(old, new, strict=True))
        return not same


def shape_of(part: Part, board: Board | None = None) -> Shape:
    """The whole part, or one board of it."""
    if board is None:
        return Shape(part.name, part.name, part.outline, part.stretches, part.holes, part.blank)
    name = f"{part.name}, board {board.number} of {len(part.boards)}"
    return Shape(name, part.name, board.outline, board.stretches, board.holes, part.blank)


def compare(old: Shape, new: Shape) -> Compared:
    """Every line that differs by more than ``ACCURACY_MM``."""
    pairs, gone, added = _paired(old.holes, new.holes)
    found = [*_boundaries(old, new)]
    for before, after in pairs:
        moved = math.dist(before.centre, after.centre) > ACCURACY_MM
        centres = (before.centre, after.centre) if moved else None
        changes = _largest([*_hole(after, before, new, old, "new"), *_hole(before, after, old, new, "old")])
        found += [replace(change, centres=centres) for change in changes]
    return Compared(old, new, tuple(sorted(found, key=_order)), added, gone)


def _order(change: LineChange) -> tuple[int, bool, float, str]:
    """The largest first; of those alike the one that is as far off all along."""
    return -round(change.distance / LEVEL_MM), not change.even, -change.average, change.key


# ---------------------------------------------------------------- the boundary


def _boundaries(old: Shape, new: Shape) -> Iterator[LineChange]:
    """For every key of a stretch its largest change."""
    by_key: dict[str, list[LineChange]] = {}
    for change in [*_stretches(new, old, "new"), *_stretches(old, new, "old")]:
        by_key.setdefault(change.key, []).append(change)
    for changes in by_key.values():
        yield from _largest(changes)


def _largest(changes: Iterable[LineChange]) -> list[LineChange]:
    """The largest of some, none of none; the new version's where two are alike."""
    found = sorted(changes, key=lambda one: (*_order(one)[:2], one.on))
    return found[:1]


def _stretches(shape: Shape, other: Shape, on: Version) -> list[LineChange]:
    """The stretches of one version that lie off the other's boundary."""
    boundary, against = curve_of(shape.stretches), curve_of(other.stretches)
    found = farthest(boundary, against, [len(stretch.curve) for stretch in shape.stretches])
    told = _worth_telling(shape.stretches, found)
    return [_change(shape.stretches[k].key, shape.stretches[k].edge, found[k], shape, other, on) for k in told]


def _worth_telling(stretches: Sequence[Stretch], found: Sequence[Farthest]) -> list[int]:
    """The numbers of the stretches that differ, but for straight ones that merely became longer.

    A straight stretch that lies on the other line at one end, and off it at the other, shares that end with a neighbour,
    which is told instead.
    """
    told: list[int] = []
    count = len(stretches)
    for k in sorted(range(count), key=lambda k: -found[k].average):
        if found[k].distance <= ACCURACY_MM:
            continue
        curve, at = stretches[k].curve, found[k].at
        ends = {(k - 1) % count: curve.start, (k + 1) % count: curve.end}
        shared = [other for other, end in ends.items() if math.dist(at, end) <= SAME_CORNER_MM]
        is_longer = curve.is_straight and found[k].least <= ACCURACY_MM
        if not (is_longer and any(other in told for other in shared)):
            told.append(k)
    return told


def _change(key: str, edge: str, found: Farthest, shape: Shape, other: Shape, on: Version) -> LineChange:
    in_other = bool(other.outline.contains(_array(found.at))[0])
    change = LineChange(
        key,
        on,
        found.distance,
        found.at,
        found.nearest,
        found.even,
        found.average,
        more_wood=in_other if on == "old" else not in_other,
        edge=edge,
    )
    side = shape.blank.edge(edge)
    if side is None:
        return change
    station, depth = side.from_part.point(*found.at)
    return replace(change, station=station, depth=depth)


def _array(point: tuple[float, float]) -> Points:
    return np.array([point])


# ---------------------------------------------------------------- holes


def _hole(hole: Hole, other: Hole, shape: Shape, against: Shape, on: Version) -> list[LineChange]:
    found = farthest(hole.curve, other.curve)[0]
    if found.distance <= ACCURACY_MM:
        return []
    return [replace(_change(hole.key, "", found, shape, against, on), name=hole.spec.name)]


def _paired(
    old: Sequence[Hole], new: Sequence[Hole]
) -> tuple[list[tuple[Hole, Hole]], tuple[Hole, ...], tuple[Hole, ...]]:
    """Which hole became which, those that are gone, and those that are added: the nearest of the same name first."""
    near = sorted(
        (a.spec.name != b.spec.name, _off(a.curve, b.curve), i, j)
        for i, a in enumerate(old)
        for j, b in enumerate(new)
        if a.spec.name == b.spec.name or _touch(a.curve, b.curve)
    )
    became: dict[int, int] = {}
    for _, _, i, j in near:
        if i not in became and j not in became.values():
            became[i] = j
    gone = tuple(hole for i, hole in enumerate(old) if i not in became)
    added = tuple(hole for j, hole in enumerate(new) if j not in became.values())
    return [(old[i], new[j]) for i, j in sorted(became.items())], gone, added


def _off(curve: Curve, other: Curve) -> float:
    """How far the boxes of two curves are off each other, at the side that is worst (mm)."""
    return max(abs(a - b) for a, b in zip(curve.bounds, other.bounds, strict=True))


def _touch(curve: Curve, other: Curve) -> bool:
    """Whether the boxes of two curves have a point in common."""
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = curve.bounds, other.bounds
    return ax0 <= bx1 and bx0 <= ax1 and ay0 <= by1 and by0 <= ay1
