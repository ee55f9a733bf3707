"""Which sheets a drawing needs: those that show ink no other printed sheet shows, and those that hold them together."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable

import numpy as np

from tiling.lattice import Lattice
from tiling.segments import Lines, cut_at
from tiling.units import Cell, to_units

_INSET = to_units(0.3)
"""A line this near a window's edge counts as outside it: half its width would be cut away."""

_Shown = frozenset[Cell]


def needed_cells(lines: Lines, lattice: Lattice) -> set[Cell]:
    """The fewest sheets, going round the rim, that show all of the lines between them."""
    inked = _who_shows(lines, lattice)
    kept = {home for home, _ in inked}
    places = defaultdict(list)
    for home, shown_by in inked:
        places[home].append(shown_by)
    for cell in sorted(kept, key=lambda cell: (len(places[cell]), cell)):
        others = kept - {cell}
        spare = all(_still_shown(shown_by, others) for shown_by in _all_places(cell, places))
        if spare:
            kept = others
    return kept


def _all_places(cell: Cell, places: dict[Cell, list[_Shown]]) -> Iterable[_Shown]:
    """The stretches of line that a sheet shows: those of its core and of its neighbours' rims."""
    for dx in (-1, 0, 1):
        for dy in (-1, 0, 1):
            for shown_by in places.get((cell[0] + dx, cell[1] + dy), ()):
                if cell in shown_by:
                    yield shown_by


def _still_shown(shown_by: _Shown, kept: set[Cell]) -> bool:
    return not kept.isdisjoint(shown_by)


def _who_shows(lines: Lines, lattice: Lattice) -> set[tuple[Cell, _Shown]]:
    """For every stretch of line between seams and window edges: the sheet whose core it is in, and all that show it."""
    rim = lattice.form.overlap // 2 - _INSET
    for axis in (0, 1):
        step, phase = lattice.form.step[axis], lattice.phase[axis]
        for offset in (phase, phase - rim, phase + rim):
            lines = cut_at(lines, axis, offset, step)
    b = lines.beziers
    middle = (b[:, 0] + 3 * b[:, 1] + 3 * b[:, 2] + b[:, 3]) / 8
    steps = np.array(lattice.form.step)
    cell = np.floor((middle - np.array(lattice.phase)) / steps).astype(np.int64)
    along = middle - np.array(lattice.phase) - cell * steps
    side = (along > steps - rim).astype(np.int64) - (along < rim).astype(np.int64)
    found = np.unique(np.concatenate([cell, side], axis=1), axis=0)
    result = set()
    for c, r, dx, dy in found.tolist():
        result.add(((c, r), frozenset((c + i, r + j) for i in {0, dx} for j in {0, dy})))
    return result


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
