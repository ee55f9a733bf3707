"""Dealing the integer drawing to the sheets, and drawing them."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import partial

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from patterns.lettering import shape
from patterns.memory import FORGETFUL, Memory
from patterns.pattern import Pattern
from tiling.form import SheetForm, SlotForm
from tiling.frame import SheetNames
from tiling.inkpoints import InkPoints
from tiling.labels import Placing, Slots, place_labels
from tiling.lattice import Lattice
from tiling.layout import Layout, choose, flush_layout, needed_lines
from tiling.needed import joining_cells, needed_cells
from tiling.operators import through_pdf
from tiling.room import Room
from tiling.seams import Seams, seams_of
from tiling.segments import GROWN, Lines, Segments, lines_on_paper, segments_of
from tiling.sheet import Sheet, draw_sheet
from tiling.units import Cell, Integers


class Plan(Struct, frozen=True, eq=False):
    """A pattern on a layout: the sheets it takes. ``needed`` show ink, ``joining`` only hold the others together.

    ``remembered`` are the places where its words stood on earlier sheets; ``is_new`` says that there were none.
    """

    pattern: Pattern
    layout: Layout
    needed: tuple[Cell, ...]
    joining: tuple[Cell, ...]
    remembered: Slots
    is_new: bool = False

    @property
    def cells(self) -> list[Cell]:
        """All sheets, row by row from below."""
        return sorted(self.needed + self.joining, key=lambda cell: (cell[1], cell[0]))

    @property
    def key(self) -> tuple[Hashable, ...]:
        """All that the plan's sheets follow from, but the names on them."""
        return (self.pattern, self.layout, self.needed, self.joining, *self.remembered.items())


class Dealt(Struct, frozen=True, eq=False):
    """A pattern drawn on its sheets; ``seams`` is None in a slot of a shared sheet."""

    pattern: Pattern
    layout: Layout
    joining: tuple[Cell, ...]
    sheets: tuple[Sheet, ...]
    placing: Placing
    seams: Seams | None = None

    @property
    def warnings(self) -> list[str]:
        """What the maker should know of the words on the sheets."""
        name = self.pattern.name
        missing = sorted({letter for text in self._texts() for letter in shape(text, 1.0).missing})
        words = [f"{name}: the lettering has no {letter!r} (U+{ord(letter[0]):04X})" for letter in missing]
        left_off = self.placing.left_off
        lost = f"{name}: no room on the sheets for the words: {'; '.join(left_off)}"
        return words + ([lost] if left_off else [])

    def _texts(self) -> list[str]:
        return [label.text for labels in self.placing.by_cell.values() for label in labels]


def first_plan(pattern: Pattern, form: SheetForm, memory: Memory = FORGETFUL) -> Plan:
    """A plan on the best layout; should the exact count come out above the plain grid's, on that grid."""
    layout, lines = choose(pattern, form, memory)
    chosen = replace(_planned(pattern, layout, lines, {}), is_new=True)
    if len(chosen.cells) <= layout.grid_count:
        return chosen
    flush = replace(plan(pattern, flush_layout(pattern.strokes, form), {}), is_new=True)
    return min(chosen, flush, key=lambda one: len(one.cells))


def fresh_plan(pattern: Pattern, form: SheetForm, memory: Memory) -> Plan:
    """The same, not made again where it was asked for before."""
    return memory.kept(("first", pattern, form), partial(first_plan, pattern, form, memory))


def plan(pattern: Pattern, layout: Layout, remembered: Slots, memory: Memory = FORGETFUL) -> Plan:
    """Which sheets the pattern takes."""
    lines = needed_lines(pattern.strokes, layout.to_drawing, memory)
    return _planned(pattern, layout, lines, remembered)


def _planned(pattern: Pattern, layout: Layout, lines: Lines, remembered: Slots) -> Plan:
    needed = needed_cells(lines, layout.lattice)
    joining = joining_cells(needed)
    return Plan(pattern, layout, tuple(sorted(needed)), tuple(sorted(joining)), remembered)


class Placed(Struct, frozen=True, eq=False):
    """A pattern's integer drawing with its words in the room it leaves; ``seams`` is None in a slot of a shared sheet."""

    segments: Segments
    seams: Seams | None
    room: Room
    placing: Placing


def placed(planned: Plan, memory: Memory = FORGETFUL) -> Placed:
    """The integer drawing of a plan, and where its marks and words stand."""
    pattern, layout = planned.pattern, planned.layout
    lattice = layout.lattice
    segments = segments_of(lines_on_paper(pattern.strokes, layout.to_drawing, memory), lattice)
    if memory is FORGETFUL:  # a watch saves itself the way there and back, which changes nothing
        segments = through_pdf(segments)
    ink = InkPoints.of(segments, lattice.phase, lattice.form.step)
    seams = None if isinstance(lattice.form, SlotForm) else seams_of(segments, ink.points, lattice)
    room = Room(lattice, ink, seams)
    if isinstance(lattice.form, SlotForm):
        x0, y0, x1, _ = lattice.core((0, 0))
        room.take((0, 0), (x0, y0, x1, y0 + lattice.form.caption))
    placing = place_labels(pattern, layout.to_drawing, room, planned.needed, planned.remembered)
    return Placed(segments, seams, room, placing)


def draw(planned: Plan, names: SheetNames, progress: Callable[[int], None], memory: Memory = FORGETFUL) -> Dealt:
    """Draws every sheet of the plan; ``progress`` is called with the number drawn so far.

    Raises ValueError for a plan in a slot: its sheet is drawn with all that share it.
    """
    lattice = planned.layout.lattice
    one = placed(planned, memory)
    if one.seams is None:
        raise ValueError("a slot is drawn with its sheet")
    shown = segments_by_cell(one.segments, lattice)
    nothing = np.zeros(0, dtype=np.int64)
    sheets = []
    for k, cell in enumerate(planned.cells):
        mine = one.segments.taken(shown.get(cell, nothing))
        labels = one.placing.by_cell.get(cell, [])
        sheets.append(draw_sheet(lattice, cell, mine, one.seams, labels, one.room, names))
        progress(k + 1)
    return Dealt(planned.pattern, planned.layout, planned.joining, tuple(sheets), one.placing, one.seams)


def segments_by_cell(segments: Segments, lattice: Lattice) -> dict[Cell, Integers]:
    """The indices of the segments in each sheet's window (grown by 1 mm), in the drawing's order.

    A segment is cut where windows begin and end, so its middle tells which windows it lies in.
    """
    middle = (segments.points[:, 0] + 3 * segments.points[:, 1] + 3 * segments.points[:, 2] + segments.points[:, 3]) / 8
    half = lattice.form.overlap // 2 + GROWN
    step = np.array(lattice.form.step)
    rel = middle - np.array(lattice.phase)
    low, high = np.ceil((rel - half) / step).astype(np.int64) - 1, np.floor((rel + half) / step).astype(np.int64)
    keys, which = [], []
    index = np.arange(len(segments))
    for dx in (0, 1):
        for dy in (0, 1):
            cell = low + np.array([dx, dy])
            inside = (cell <= high).all(axis=1)
            keys.append(cell[inside])
            which.append(index[inside])
    cells, order = np.concatenate(keys), np.concatenate(which)
    sort = np.lexsort((order, cells[:, 1], cells[:, 0]))
    cells, order = cells[sort], order[sort]
    if not len(order):
        return {}
    breaks = np.flatnonzero((cells[1:] != cells[:-1]).any(axis=1)) + 1
    firsts = cells[np.r_[0, breaks]].tolist()
    return {(c, r): group for (c, r), group in zip(firsts, np.split(order, breaks), strict=True)}
