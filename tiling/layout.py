"""The layout of a pattern on sheets: orientation, turn and phase. Chosen once, at the first printing, and remembered.

The choice, first to last: fewest sheets; nothing in the strips that are trimmed off; no long stretch of cut line along a
seam or beside a base line; seams away from holes; no slivers; the slack shared evenly. The lattice flush with the
drawing's box bounds the count: no layout takes more sheets than the plain grid over it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import partial

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from patterns.affine import Affine
from patterns.pattern import Role, Stroke
from tiling.form import Orientation, SheetForm, form_from_json
from tiling.inkpoints import sampled
from tiling.lattice import Lattice
from tiling.needed import EDGE
from tiling.printer import NO_CORRECTION
from tiling.seams import BASE
from tiling.segments import ROLES, Lines, cut_at, lines_of, map_to_drawing
from tiling.units import Flags, Integers, Json, Reals, to_mm, to_units

CLEARANCE = to_units(0.15)
"""Half the width of a cut line: what else lies so near to the cut line's box is within it."""

TRIES = 7
"""Phases tried on each axis, from flush at one side to flush at the other."""

ROLL_SPARE_MM = 20.0
"""A page off a roll is so much longer than what is drawn on it."""

_BESIDE = to_units(3.0)
"""A line this near to a base line might be taken for it."""

_NOWHERE_ELSE = to_units(1e6)
"""A step so long that a lattice of it has one line only."""

_ORIENTATIONS: tuple[Orientation, ...] = ("portrait", "landscape")

NOT_NEEDED = frozenset({Role.DIMENSION, Role.BLANK})
"""Lines that are shown where there is a sheet anyway, and never ask for one."""

ALWAYS_NEEDED = frozenset({Role.CUT, Role.REFERENCE, Role.GLUE})
"""Lines that ask for a sheet wherever they run; others do so only within the cut line's box."""


class Layout(Struct, frozen=True):
    """How a pattern lies on its sheets; ``turn`` is 0 or 90 degrees counter-clockwise."""

    lattice: Lattice
    turn: int
    correction: Affine = NO_CORRECTION
    grid_count: int = 0
    """Sheets of the plain grid over the drawing's box, when the layout was chosen; 0 where it was remembered."""

    @property
    def to_drawing(self) -> Affine:
        """From the part (mm) to the drawing (units)."""
        return map_to_drawing(self.turn, self.correction)

    def to_json(self) -> Json:
        """For the record that a printed job carries."""
        return {"form": self.lattice.form.to_json(), "phase": list(self.lattice.phase), "turn": self.turn}

    @classmethod
    def from_json(cls, value: Json, correction: Affine) -> Layout:
        """What ``to_json`` wrote."""
        x, y = value["phase"]
        turn = 90 if value["turn"] == 90 else 0
        return cls(Lattice(form_from_json(value["form"]), (int(x), int(y))), turn, correction)


class Score(Struct, frozen=True, order=True):
    """What speaks against a layout, gravest first; the least is chosen.

    Of the lines sampled in even steps, those in the strips that are trimmed off at the left and at the bottom, and
    those that run along in an overlap or beside a base line; hole centres near a seam; mm of a narrow last column.
    """

    sheets: int
    trimmed: int
    along_seams: float
    holes_on_seams: int
    sliver: float
    uneven_slack: float
    turned: int

    @property
    def is_clean(self) -> bool:
        """Whether nothing that a turn might mend speaks against it."""
        return not (self.trimmed or self.along_seams or self.holes_on_seams)


def needed_lines(strokes: Iterable[Stroke], to_drawing: Affine) -> Lines:
    """The lines that have to be shown: the cut line, and whatever else lies within its box."""
    lines = lines_of([stroke for stroke in strokes if stroke.role not in NOT_NEEDED], to_drawing)
    cut = lines.role == ROLES.index(Role.CUT)
    if cut.all() or not cut.any():
        return lines
    ends = lines.beziers[cut][:, [0, 3]]
    low, high = ends.min(axis=(0, 1)) - CLEARANCE, ends.max(axis=(0, 1)) + CLEARANCE
    for axis in (0, 1):
        for edge in (low, high):
            lines = cut_at(lines, axis, math.floor(edge[axis]), _NOWHERE_ELSE)
    middle = lines.beziers.mean(axis=1)
    within = ((middle > low - 1) & (middle < high + 1)).all(axis=1)
    keep = within | np.array([role in ALWAYS_NEEDED for role in ROLES])[lines.role]
    return Lines(lines.beziers[keep], lines.straight[keep], lines.role[keep])


def choose(
    strokes: Sequence[Stroke], holes: Sequence[tuple[float, float]], form: SheetForm, correction: Affine
) -> tuple[Layout, Lines]:
    """The best layout of a drawing, and the lines that it has to show.

    ``holes`` are hole centres (mm) that a seam should keep away from.
    """
    best: tuple[Score, Layout, Lines] | None = None
    for turn in (0, 90):
        to_drawing = map_to_drawing(turn, correction)
        lines, centres = needed_lines(strokes, to_drawing), to_drawing.apply(np.array(holes).reshape(-1, 2))
        for turned in _forms(form, lines):
            score, lattice = _best_phase(lines, centres, turned, turn)
            if best is None or score < best[0]:
                best = (score, Layout(lattice, turn, correction), lines)
        if best and best[0].is_clean:
            break  # a turned drawing reads worse, and the other orientation takes as few sheets
    if best is None:
        raise ValueError("there is nothing to lay out")
    fewest = min(_grid_count(best[2], one) for one in _forms(form, best[2]))
    return replace(best[1], grid_count=fewest), best[2]


def flush_layout(strokes: Sequence[Stroke], form: SheetForm, correction: Affine) -> Layout:
    """The plain grid, flush with the drawing's box at the lower left, whichever way round takes fewest sheets."""
    lines = needed_lines(strokes, map_to_drawing(0, correction))
    best = min(_forms(form, lines), key=partial(_grid_count, lines))
    corner = [math.floor(_extent(lines, axis)[0]) + form.overlap // 2 for axis in (0, 1)]
    return Layout(Lattice(best, (corner[0], corner[1])), 0, correction)


def _forms(form: SheetForm, lines: Lines) -> list[SheetForm]:
    """The paper upright and lying; off a roll, as long as the drawing needs it to be, or as a page may be."""
    if not form.paper.roll:
        return [replace(form, orientation=orientation) for orientation in _ORIENTATIONS]
    low, high = _extent(lines, 1)
    height_mm = math.ceil(to_mm(high - low + form.corner[1]) + form.margin_mm + ROLL_SPARE_MM)
    return [replace(form, paper=form.paper.cut_to(min(height_mm, form.paper.height_mm)))]


def _grid_count(lines: Lines, form: SheetForm) -> int:
    """Sheets of the plain grid over the drawing's box."""
    counts = []
    for axis in (0, 1):
        low, high = _extent(lines, axis)
        counts.append(max(1, math.ceil((high - low - form.overlap) / form.step[axis])))
    return counts[0] * counts[1]


def _extent(lines: Lines, axis: int) -> tuple[float, float]:
    ends = lines.beziers[:, [0, 3], axis]
    return float(ends.min()), float(ends.max())


def _phases(low: float, high: float, step: int, overlap: int) -> list[int]:
    """Phases that need no more sheets than flush ones along this axis, 6 mm from either end where there is so much slack.
    If there is room, none leaves ink in the strip that is trimmed off before the first seam, nor beside the seam."""
    count = max(1, math.ceil((high - low - overlap) / step))
    slack = count * step + overlap - (high - low)
    inset = min(to_units(6.0), slack / 2)
    first = max(inset, min(overlap / 2 + to_units(6.0), slack - inset))
    flush = math.floor(low) + overlap // 2
    return [flush - math.floor(first + (slack - inset - first) * k / (TRIES - 1)) for k in range(TRIES)]


def _best_phase(lines: Lines, holes: Reals, form: SheetForm, turn: int) -> tuple[Score, Lattice]:
    points, index = sampled(lines)
    cut = (lines.role == ROLES.index(Role.CUT))[index]
    heading = (lines.beziers[:, 3] - lines.beziers[:, 0])[index]
    columns = [_Axis.of(points[:, 0], cut, heading, holes[:, 0], x, form, 0) for x in _candidates(lines, form, 0)]
    rows = [_Axis.of(points[:, 1], cut, heading, holes[:, 1], y, form, 1) for y in _candidates(lines, form, 1)]
    best: tuple[Score, Lattice] | None = None
    for column in columns:
        for row in rows:
            score = Score(
                int(np.count_nonzero(np.bincount(column.cell * (int(row.cell.max()) + 1) + row.cell))),
                column.trimmed + row.trimmed,
                round(column.along + row.along, 1),
                column.holes + row.holes,
                round(max(column.sliver, row.sliver), 1),
                round(column.uneven + row.uneven, 1),
                turn,
            )
            if best is None or score < best[0]:
                best = (score, Lattice(form, (column.phase, row.phase)))
    if best is None:
        raise ValueError("a layout needs lines to lay out")
    return best


def _candidates(lines: Lines, form: SheetForm, axis: int) -> list[int]:
    low, high = _extent(lines, axis)
    return _phases(low, high, form.step[axis], form.overlap)


class _Axis(Struct, frozen=True, eq=False):
    """One phase on one axis, and what speaks against it by itself. ``cell`` counts from the first column (row) needed."""

    phase: int
    cell: Integers
    trimmed: int
    along: float
    holes: int
    sliver: float
    uneven: float

    @classmethod
    def of(cls, at: Reals, cut: Flags, heading: Reals, holes: Reals, phase: int, form: SheetForm, axis: int) -> _Axis:
        step, half = form.step[axis], form.overlap / 2
        start, end = _shown_range(at, phase, step, half)
        cell = np.clip(np.floor((at - phase) / step).astype(np.int64), start, end - 1) - start
        first, last = phase + start * step, phase + end * step
        inner = (at > first + half) & (at < last - half)
        level = np.abs(heading[:, axis]) < 0.35 * np.abs(heading[:, 1 - axis])
        in_overlap = inner & (_off_lattice(at - phase, step) < half)
        by_base_line = _off_lattice(at - phase - BASE, step) < _BESIDE
        along = float(np.where(cut, 1.0, 0.25)[level & (in_overlap | by_base_line)].sum())
        near_hole = _off_lattice(holes - phase, step) < form.overlap
        low, high = float(at.min()) - first, last - float(at.max())
        sliver = max(0.0, to_units(15.0) - (step - max(low, high))) / to_units(1.0)
        uneven = abs(low - high) / to_units(1.0)
        return cls(phase, cell, int((at < first).sum()), along, int(near_hole.sum()), sliver, uneven)


def _off_lattice(at: Reals, step: int) -> Reals:
    """How far coordinates are from the nearest multiple of the step."""
    off: Reals = np.abs(at - np.rint(at / step) * step)
    return off


def _shown_range(at: Reals, phase: int, step: int, half: float) -> tuple[int, int]:
    """The first column (row) whose window still shows the least coordinate, and one past the last for the greatest."""
    first = math.floor((float(at.min()) - phase + half + EDGE) / step)
    return first, max(first + 1, math.ceil((float(at.max()) - phase - half - EDGE) / step))
