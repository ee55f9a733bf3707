"""Which small patterns share a sheet, and where each lies on it: its slot.

A pattern that fits whole on one sheet is small. A slot once given is kept as long as the pattern fits in it, so that a
change of one pattern moves none of the others; where it no longer fits, it gets another, on the same sheet if there is
room. On paper off a roll every pattern that fits across lies in a slot, so that one long page holds them all.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from patterns.affine import Affine
from patterns.pattern import Pattern
from tiling.deal import Plan, first_plan, strokes_on_paper
from tiling.form import Orientation, SheetForm, SlotForm
from tiling.lattice import Lattice
from tiling.layout import Layout
from tiling.packing import Packing
from tiling.paper import LEAST_SIDE_MM
from tiling.segments import lines_of, map_to_drawing
from tiling.units import to_mm, to_units

RIM = to_units(9.0)
"""Left round a pattern's lines in its slot: for words beside it, and for scissors."""
CAPTION = to_units(6.0)
"""Beneath it, for a line that says what it is."""
SPARE = to_units(1.0)
"""A pattern that has grown stays in its slot while this much of the rim is left."""
SHARED, LONG = "shared", "roll"
"""The first shared sheet is ``shared 1``, the first page off a roll ``roll 1``."""

_ORIENTATIONS: tuple[Orientation, ...] = ("portrait", "landscape")


class Box(Struct, frozen=True):
    """The lines of a pattern as they lie on a sheet of one form, turned by ``turn``: (x0, y0, x1, y1) in draw units."""

    turn: int
    extent: tuple[int, int, int, int]

    @property
    def slot(self) -> tuple[int, int]:
        """(width, height) of the slot for it."""
        x0, y0, x1, y1 = self.extent
        return x1 - x0 + 2 * RIM, y1 - y0 + 2 * RIM + CAPTION


class Slot(Struct, frozen=True):
    """The slot that was found for the plan of number ``index``: its lower left corner, and what lies in it."""

    index: int
    at: tuple[int, int]
    box: Box


class SharedSheet:
    """A shared sheet being filled."""

    def __init__(self, form: SheetForm, name: str) -> None:
        self.form, self.name = form, name
        self.packing = Packing(*form.window)
        self.slots: list[Slot] = []

    def keep(self, slot: SlotForm) -> None:
        """A slot of an earlier printing."""
        self.packing.take((*slot.at, slot.at[0] + slot.size[0], slot.at[1] + slot.size[1]))

    def add(self, index: int, boxes: Iterable[Box]) -> bool:
        """Finds a slot for a pattern that may lie as any of the boxes, the lowest; False where there is no room."""
        found = [(at[1] + box.slot[1], at, box) for box in boxes if (at := self.packing.lowest(*box.slot))]
        if not found:
            return False
        _, at, box = min(found, key=lambda one: (one[0], one[2].turn))
        self.slots.append(Slot(index, at, box))
        self.packing.take((*at, at[0] + box.slot[0], at[1] + box.slot[1]))
        return True

    def finished_form(self) -> SheetForm:
        """The form of the sheet; a page off a roll is cut where the last pattern ends."""
        if not self.form.paper.roll:
            return self.form
        top = max(slot.at[1] + slot.box.slot[1] for slot in self.slots)
        height_mm = math.ceil(to_mm(self.form.corner[1] + top) + self.form.margin_mm + self.form.grid_mm)
        return replace(self.form, paper=self.form.paper.cut_to(max(LEAST_SIDE_MM, height_mm)))


def shared(plans: Sequence[Plan], form: SheetForm) -> list[Plan]:
    """The plans, with the small patterns in slots on shared sheets wherever two or more go on one sheet.

    ``form`` is that of new sheets. A pattern that lay on sheets of its own before stays there.
    """
    result, earlier = list(plans), _earlier_sheets(plans)
    for k, plan in enumerate(plans):
        slot = plan.layout.lattice.form
        if not plan.is_new and isinstance(slot, SlotForm) and not fits_in_slot(plan):
            sheet = earlier[slot.name]  # it changes anyway
            if not sheet.add(k, _boxes(plan.pattern, sheet.form)):
                result[k] = first_plan(plan.pattern, form)
    loose = [k for k, plan in enumerate(result) if plan.is_new and (form.paper.roll or len(plan.cells) == 1)]
    kind = LONG if form.paper.roll else SHARED
    names = (f"{kind} {number}" for number in range(1, len(result) + 1 + len(earlier)))
    fresh = _filled(loose, result, form, [name for name in names if name not in earlier])
    for one in (*earlier.values(), *fresh):
        finished = one.finished_form() if one in fresh else one.form
        for given in one.slots:
            result[given.index] = _in_slot(result[given.index], given, finished, one.name)
    return result


def fits_in_slot(plan: Plan) -> bool:
    """Whether a pattern that lay in a slot still has room there."""
    lattice, layout = plan.layout.lattice, plan.layout
    x0, y0, x1, y1 = _box(plan.pattern, layout.turn, layout.to_drawing).extent
    left, low, right, high = lattice.core((0, 0))
    return left + SPARE <= x0 and low + CAPTION + SPARE <= y0 and x1 <= right - SPARE and y1 <= high - SPARE


def _earlier_sheets(plans: Sequence[Plan]) -> dict[str, SharedSheet]:
    """The shared sheets of an earlier printing by name, with the slots that are kept."""
    sheets: dict[str, SharedSheet] = {}
    for plan in plans:
        slot = plan.layout.lattice.form
        if not plan.is_new and isinstance(slot, SlotForm):
            sheet = sheets.setdefault(slot.name, SharedSheet(slot.sheet, slot.name))
            if fits_in_slot(plan):
                sheet.keep(slot)
    return sheets


def _filled(loose: Sequence[int], plans: Sequence[Plan], form: SheetForm, names: Sequence[str]) -> list[SharedSheet]:
    """New shared sheets, upright or lying, whichever way takes fewer; a pattern that would be alone on one is left out."""
    best: tuple[int, list[SharedSheet]] | None = None
    for orientation in _ORIENTATIONS[: 1 if form.paper.roll else 2]:
        lying = replace(form, orientation=orientation)
        boxes = {k: _boxes(plans[k].pattern, lying) for k in loose}
        sheets: list[SharedSheet] = []
        alone = 0
        for k in sorted(loose, key=lambda k: (-max(boxes[k][0].slot), -min(boxes[k][0].slot), k)):
            if any(sheet.add(k, boxes[k]) for sheet in sheets):
                continue
            sheet = SharedSheet(lying, names[len(sheets)])
            if sheet.add(k, boxes[k]):
                sheets.append(sheet)
            else:
                alone += 1
        if best is None or len(sheets) + alone < best[0]:
            best = len(sheets) + alone, sheets
    found = best[1] if best else []
    least = 1 if form.paper.roll else 2
    return [_renamed(sheet, names[k]) for k, sheet in enumerate(s for s in found if len(s.slots) >= least)]


def _renamed(sheet: SharedSheet, name: str) -> SharedSheet:
    sheet.name = name
    return sheet


def _boxes(pattern: Pattern, form: SheetForm) -> list[Box]:
    """The two ways in which a pattern may lie on a sheet."""
    return [_box(pattern, turn, map_to_drawing(turn, form.correction)) for turn in (0, 90)]


def _box(pattern: Pattern, turn: int, to_drawing: Affine) -> Box:
    lines = lines_of(strokes_on_paper(pattern), to_drawing)
    ends = lines.beziers[:, [0, 3]]
    low, high = ends.min(axis=(0, 1)), ends.max(axis=(0, 1))
    return Box(turn, (math.floor(low[0]), math.floor(low[1]), math.ceil(high[0]), math.ceil(high[1])))


def _in_slot(plan: Plan, slot: Slot, form: SheetForm, name: str) -> Plan:
    """The plan with its pattern in a slot."""
    x0, y0, _, _ = slot.box.extent
    lattice = Lattice(SlotForm(form, name, slot.at, slot.box.slot), (x0 - RIM, y0 - RIM - CAPTION))
    layout = Layout(lattice, slot.box.turn)
    return replace(plan, layout=layout, needed=((0, 0),), joining=(), remembered={})
