"""Which sheets a drawing needs: those that show ink no other printed sheet shows, and those that hold them together."""

from __future__ import annotations

from collections import defaultdict, deque

import numpy as np

from patterns.arrays import distinct_rows
from tiling.lattice import Lattice
from tiling.segments import Lines, between, crossings, evaluate
from tiling.units import Cell, Reals

EDGE = 3
"""Units: a line so little beyond a window's edge is on it, where windows show lines in their whole width; it covers the
rounding of lattices that are flush with a line."""

_Shown = frozenset[Cell]


def needed_cells(lines: Lines, lattice: Lattice) -> set[Cell]:
    """The fewest sheets, going from the rim inwards, that show all of the lines between them.

    A stretch that several sheets show may be left to any of them, not only to the one whose core it is in: where the
    lattice is flush with the drawing, the lines at its rim are in the cores of sheets outside it.
    """
    stretches = _who_shows(lines, lattice)
    shown = defaultdict(list)
    for shown_by in sorted(stretches, key=sorted):
        for cell in shown_by:
            shown[cell].append(shown_by)
    kept = set(shown)
    outward = _outward(kept)
    for cell in sorted(kept, key=lambda cell: (len(shown[cell]), -outward[cell], cell)):
        others = kept - {cell}
        if all(not others.isdisjoint(shown_by) for shown_by in shown[cell]):
            kept = others
    return kept


def _outward(cells: set[Cell]) -> dict[Cell, int]:
    """How far out each cell lies from the middle of all, in half cells."""
    columns, rows = {c for c, _ in cells}, {r for _, r in cells}
    if not cells:
        return {}
    across, up = min(columns) + max(columns), min(rows) + max(rows)
    return {(c, r): abs(2 * c - across) + abs(2 * r - up) for c, r in cells}


def _who_shows(lines: Lines, lattice: Lattice) -> set[_Shown]:
    """For every stretch of line between seams and window edges: the sheets that show it."""
    rim = lattice.form.overlap // 2 + EDGE
    middle, phase, steps = _middles(lines, lattice, rim), np.array(lattice.phase), np.array(lattice.form.step)
    cell = np.floor((middle - phase) / steps).astype(np.int64)
    along = middle - phase - cell * steps
    side = (along > steps - rim).astype(np.int64) - (along < rim).astype(np.int64)
    found = distinct_rows(np.concatenate([cell, side], axis=1))
    return {frozenset((c + i, r + j) for i in {0, dx} for j in {0, dy}) for c, r, dx, dy in found.tolist()}


def _middles(lines: Lines, lattice: Lattice, rim: int) -> Reals:
    """The middles (m, 2) of all stretches between seams and the edges of windows, ``rim`` units from the seams.

    All crossings are looked for at once, and nothing is cut, since only the places of the middles matter.
    """
    count = len(lines.beziers)
    offsets = [(axis, lattice.phase[axis] + off) for axis in (0, 1) for off in (0, -rim, rim)]
    coordinates = np.concatenate([lines.beziers[:, :, axis] for axis, _ in offsets])
    offset = np.repeat([at for _, at in offsets], count)
    step = np.repeat([lattice.form.step[axis] for axis, _ in offsets], count)
    index, t = crossings(coordinates, np.tile(lines.straight, len(offsets)), offset, step)
    piece, start, end = between(count, index % count, t)
    b, at = lines.beziers[piece], (start + end) / 2
    middle: Reals = np.stack([evaluate(b[:, :, axis], at) for axis in (0, 1)], axis=1)
    return middle


def joining_cells(kept: set[Cell]) -> set[Cell]:
    """Sheets without ink that join the kept ones edge to edge: one shortest bridge between groups after the other."""
    extra: set[Cell] = set()
    while True:
        groups = _groups(kept | extra)
        if len(groups) < 2:
            return extra
        extra |= _bridge(groups[0], set().union(*groups[1:]))


def _groups(cells: set[Cell]) -> list[set[Cell]]:
    """Cells grouped by shared edges, in the order of each group's least cell."""
    rest, groups = set(cells), []
    while rest:
        group, queue = set(), deque([min(rest)])
        while queue:
            cell = queue.popleft()
            if cell in rest:
                rest.discard(cell)
                group.add(cell)
                queue.extend(_beside(cell))
        groups.append(group)
    return groups


def _bridge(start: set[Cell], goal: set[Cell]) -> set[Cell]:
    """The fewest cells between two groups, by breadth-first search; the first in order where several would do."""
    came_from: dict[Cell, Cell | None] = dict.fromkeys(sorted(start))
    queue = deque(came_from)
    while queue:
        cell = queue.popleft()
        if cell in goal:
            path = set()
            step = came_from[cell]
            while step is not None and step not in start:
                path.add(step)
                step = came_from[step]
            return path
        for beside in _beside(cell):
            if beside not in came_from:
                came_from[beside] = cell
                queue.append(beside)
    return set()


def _beside(cell: Cell) -> list[Cell]:
    c, r = cell
    return [(c - 1, r), (c + 1, r), (c, r - 1), (c, r + 1)]
