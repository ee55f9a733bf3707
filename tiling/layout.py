"""The layout of a pattern on sheets: orientation, turn and phase. Chosen once, at the first printing, and remembered.

The choice, first to last: fewest sheets; nothing in the strips that are trimmed off; no long stretch of cut line along a
seam or beside a base line; seams away from holes, joints and tight curves; no slivers; least error once taped; the slack
shared evenly. The lattice flush with the drawing's box bounds the count: no layout takes more sheets than the plain grid
over it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from functools import cache, partial

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from patterns.affine import Affine
from patterns.memory import FORGETFUL, Memory
from patterns.pattern import Pattern, Role, Stroke
from tiling.form import Orientation, SheetForm, SlotForm, form_from_json, sheet_form
from tiling.lattice import Lattice
from tiling.needed import EDGE
from tiling.printer import Printer
from tiling.scoring import AxisScore, Keep, Sample, Score, best_of, score_of
from tiling.segments import ROLES, Lines, cut_at, lines_on_paper, map_to_drawing
from tiling.units import Json, Reals, to_mm, to_units

CLEARANCE = to_units(0.15)
"""Half the width of a cut line: what else lies so near to the cut line's box is within it."""

TRIES = 7
"""Phases tried on each axis, from flush at one side to flush at the other."""

ROLL_SPARE_MM = 20.0
"""A page off a roll is so much longer than what is drawn on it."""

_NOWHERE_ELSE = to_units(1e6)
"""A step so long that a lattice of it has one line only."""

_ORIENTATIONS: tuple[Orientation, ...] = ("portrait", "landscape")

NOT_NEEDED = frozenset({Role.DIMENSION, Role.BLANK, Role.SKETCH})
"""Lines that are shown where there is a sheet anyway, and never ask for one."""

ALWAYS_NEEDED = frozenset({Role.CUT, Role.REFERENCE, Role.GLUE, Role.HIDDEN})
"""Lines that ask for a sheet wherever they run; others do so only within the cut line's box."""


class Layout(Struct, frozen=True):
    """How a pattern lies on its sheets; ``turn`` is 0 or 90 degrees counter-clockwise."""

    lattice: Lattice
    turn: int
    grid_count: int = 0
    """Sheets of the plain grid over the drawing's box, when the layout was chosen; 0 where it was remembered."""

    @property
    def correction(self) -> Affine:
        """The printer's, in the frame of the sheets as they are read."""
        return sheet_form(self.lattice.form).correction

    @property
    def to_drawing(self) -> Affine:
        """From the part (mm) to the drawing (units)."""
        return map_to_drawing(self.turn, self.correction)

    def for_printer(self, printer: Printer) -> Layout:
        """The sheets where they lie on the part, drawn for another printer. Raises ValueError for a slot."""
        form = self.lattice.form
        if isinstance(form, SlotForm):
            raise ValueError("a slot has no room for what another printer needs")
        other = replace(form, printer=printer)
        x, y = (other.correction @ form.correction.inverse()).point(*self.lattice.phase)
        return replace(self, lattice=Lattice(other, (round(x), round(y))))

    def to_json(self) -> Json:
        """For the record that a printed job carries."""
        return {"form": self.lattice.form.to_json(), "phase": list(self.lattice.phase), "turn": self.turn}

    @classmethod
    def from_json(cls, value: Json, printer: Printer) -> Layout:
        """What ``to_json`` wrote."""
        x, y = value["phase"]
        turn = 90 if value["turn"] == 90 else 0
        return cls(Lattice(form_from_json(value["form"], printer), (int(x), int(y))), turn)


def needed_lines(strokes: Sequence[Stroke], to_drawing: Affine, memory: Memory = FORGETFUL) -> Lines:
    """The lines that have to be shown: the cut line, and whatever else lies within its box.

    They are not drawn again where they were asked for before.
    """
    return memory.kept(("lines needed", tuple(strokes), to_drawing), partial(_needed, strokes, to_drawing, memory))


def _needed(strokes: Sequence[Stroke], to_drawing: Affine, memory: Memory) -> Lines:
    drawn = lines_on_paper(strokes, to_drawing, memory)
    lines = drawn.taken(np.array([role not in NOT_NEEDED for role in ROLES])[drawn.role])
    cut = lines.role == ROLES.index(Role.CUT)
    if cut.all() or not cut.any():
        return lines
    ends = lines.beziers[cut][:, [0, 3]]
    low, high = ends.min(axis=(0, 1)) - CLEARANCE, ends.max(axis=(0, 1)) + CLEARANCE
    if (lines.beziers >= low).all() and (lines.beziers <= high).all():
        return lines
    for axis in (0, 1):
        for edge in (low, high):
            lines = cut_at(lines, axis, math.floor(edge[axis]), _NOWHERE_ELSE)
    middle = lines.beziers.mean(axis=1)
    within = ((middle > low - 1) & (middle < high + 1)).all(axis=1)
    return lines.taken(within | np.array([role in ALWAYS_NEEDED for role in ROLES])[lines.role])


def choose(pattern: Pattern, form: SheetForm, memory: Memory = FORGETFUL) -> tuple[Layout, Lines]:
    """The best layout of a pattern, and the lines that it has to show."""
    best: tuple[Score, Layout, Lines] | None = None
    drawn = _drawn(pattern.strokes, memory)
    for turn in (0, 90):
        for one, lines in _ways(form, turn, drawn):
            keep = Keep.of(pattern, map_to_drawing(turn, one.correction))
            score, lattice = _best_phase(lines, keep, one, turn)
            if best is None or score < best[0]:
                best = (score, Layout(lattice, turn), lines)
        if best and best[0].is_clean:
            break  # a turned drawing reads worse, and the other orientation takes as few sheets
    if best is None:
        raise ValueError("there is nothing to lay out")
    fewest = min(_grid_count(lines, one) for one, lines in _ways(form, best[1].turn, drawn))
    return replace(best[1], grid_count=fewest), best[2]


def flush_layout(strokes: Sequence[Stroke], form: SheetForm) -> Layout:
    """The plain grid, flush with the drawing's box at the lower left, whichever way round takes fewest sheets."""
    best, lines = min(_ways(form, 0, _drawn(strokes)), key=lambda way: _grid_count(way[1], way[0]))
    corner = [math.floor(_extent(lines, axis)[0]) + form.overlap // 2 for axis in (0, 1)]
    return Layout(Lattice(best, (corner[0], corner[1])), 0)


def settled_count(strokes: Sequence[Stroke], form: SheetForm, memory: Memory = FORGETFUL) -> int | None:
    """How many sheets the best layout takes, where that is known without choosing one; else None.

    Sheets that hang together and show both ends of a drawing in either direction are at least as many as the rows and the
    columns of the plain grid, less one; which is all of them where it has one row or one column. Where it has two, each
    row (column) takes as many as what it alone can show.
    """
    if form.paper.roll or form.correction != Affine():
        return None
    lines = needed_lines(strokes, map_to_drawing(0, form.correction), memory)
    extents = [_extent(lines, axis) for axis in (0, 1)]
    ways = []
    for orientation in _ORIENTATIONS:  # upright and lying paper stand for the drawing turned as well
        one = replace(form, orientation=orientation)
        sides = [(*extent, step) for extent, step in zip(extents, one.step, strict=True)]
        # Both outer windows may show a line at their very edge.
        counts, least = ([_count(*side, one.overlap + more) for side in sides] for more in (0, EDGE + 1))
        ways.append((one, counts, least))
    grid = min(math.prod(counts) for _, counts, _ in ways)
    is_settled = all(
        sum(least) - 1 >= grid
        or any(counts[axis] == least[axis] == 2 and _fewest_in_two(lines, one, axis) >= grid for axis in (0, 1))
        for one, counts, least in ways
    )
    return grid if is_settled else None


def _fewest_in_two(lines: Lines, form: SheetForm, axis: int) -> int:
    """Sheets that two rows (axis 1) or columns (axis 0) take at least: each has to show all that is too far from the other
    end of the drawing for the other one."""
    low, high = _extent(lines, axis)
    reach = form.step[axis] + form.overlap + EDGE + 1
    for level in (high - reach, low + reach):
        lines = cut_at(lines, axis, math.floor(level), _NOWHERE_ELSE)
    middle = lines.beziers.mean(axis=1)[:, axis]
    step, overlap = form.step[1 - axis], form.overlap + EDGE + 1
    return sum(
        max((_count(*run, step, overlap) for run in _runs(lines.beziers[far][:, [0, 3], 1 - axis])), default=0)
        for far in (middle < high - reach - 1, middle > low + reach + 1)
    )


def _runs(ends: Reals) -> list[tuple[float, float]]:
    """The stretches that pieces (m, 2) cover without a gap, along an axis."""
    runs: list[tuple[float, float]] = []
    for start, end in sorted((min(pair), max(pair)) for pair in ends.tolist()):
        if runs and start <= runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], max(end, runs[-1][1]))
        else:
            runs.append((start, end))
    return runs


Drawn = Callable[[int, Affine], Lines]
"""The lines that have to be shown, turned by so many degrees and corrected for the printer."""


def _drawn(strokes: Sequence[Stroke], memory: Memory = FORGETFUL) -> Drawn:
    """Draws them once for each correction; without one that is once for both ways round."""

    @cache
    def lines(turn: int, correction: Affine) -> Lines:
        return needed_lines(strokes, map_to_drawing(turn, correction), memory)

    return lines


def _ways(form: SheetForm, turn: int, drawn: Drawn) -> Iterator[tuple[SheetForm, Lines]]:
    """The paper upright and lying, each with the lines as they lie on it, since a printer's correction lies differently
    on either; off a roll, as long as the drawing needs it to be, or as a page may be."""
    if not form.paper.roll:
        for orientation in _ORIENTATIONS:
            one = replace(form, orientation=orientation)
            yield one, drawn(turn, one.correction)
        return
    lines = drawn(turn, form.correction)
    low, high = _extent(lines, 1)
    height_mm = math.ceil(to_mm(high - low + form.corner[1]) + form.margin_mm + ROLL_SPARE_MM)
    yield replace(form, paper=form.paper.cut_to(min(height_mm, form.paper.height_mm))), lines


def _grid_count(lines: Lines, form: SheetForm) -> int:
    """Sheets of the plain grid over the drawing's box."""
    counts = []
    for axis in (0, 1):
        low, high = _extent(lines, axis)
        counts.append(_count(low, high, form.step[axis], form.overlap))
    return counts[0] * counts[1]


def _count(low: float, high: float, step: int, overlap: int) -> int:
    """Rows or columns of the plain grid; a line that is beyond the last window by a rounding is on its edge, and shown."""
    return max(1, math.ceil((high - low - overlap - EDGE) / step))


def _extent(lines: Lines, axis: int) -> tuple[float, float]:
    ends = lines.beziers[:, [0, 3], axis]
    return float(ends.min()), float(ends.max())


def _phases(low: float, high: float, step: int, overlap: int) -> list[int]:
    """Phases that need no more sheets than flush ones along this axis, 6 mm from either end where there is so much slack.
    If there is room, none leaves ink in the strip that is trimmed off before the first seam, nor beside the seam."""
    count = _count(low, high, step, overlap)
    slack = count * step + overlap - (high - low)
    inset = min(to_units(6.0), slack / 2)
    first = max(inset, min(overlap / 2 + to_units(6.0), slack - inset))
    flush = math.floor(low) + overlap // 2
    return [flush - math.floor(first + (slack - inset - first) * k / (TRIES - 1)) for k in range(TRIES)]


def _best_phase(lines: Lines, keep: Keep, form: SheetForm, turn: int) -> tuple[Score, Lattice]:
    sample = Sample.of(lines)
    columns, rows = (AxisScore.of(sample, keep, _candidates(lines, form, axis), form, axis) for axis in (0, 1))
    score, column, row = best_of(columns, rows, form, turn)
    return score, Lattice(form, (column.phase, row.phase))


def score_of_layout(layout: Layout, pattern: Pattern) -> Score:
    """What speaks against a layout that was chosen before."""
    lines = needed_lines(pattern.strokes, layout.to_drawing)
    sample, keep = Sample.of(lines), Keep.of(pattern, layout.to_drawing)
    form, phase = layout.lattice.form, layout.lattice.phase
    (column,), (row,) = (AxisScore.of(sample, keep, [phase[axis]], form, axis) for axis in (0, 1))
    return score_of(column, row, form, layout.turn)


def plain_grid_count(layout: Layout, pattern: Pattern) -> int:
    """Sheets of the plain grid over the drawing's box, whichever way round takes fewest."""
    form = layout.lattice.form
    if isinstance(form, SlotForm):
        return 1
    return min(_grid_count(lines, one) for one, lines in _ways(form, layout.turn, _drawn(pattern.strokes)))


def _candidates(lines: Lines, form: SheetForm, axis: int) -> list[int]:
    low, high = _extent(lines, axis)
    return _phases(low, high, form.step[axis], form.overlap)
