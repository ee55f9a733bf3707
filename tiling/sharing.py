"""Which small patterns share a sheet, and where each lies on it: its slot.

A pattern that fits whole on one sheet is small. A slot once given is kept as long as the pattern fits in it, so that a
change of one pattern moves none of the others; where it no longer fits, it gets another, on the same sheet if there is
room. On paper off a roll every pattern that fits across lies in a slot, so that one long page holds them all.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence, Set
from functools import partial

from msgspec import Struct
from msgspec.structs import replace

from patterns.affine import Affine
from patterns.memory import FORGETFUL, Memory
from patterns.pattern import Pattern
from tiling.captions import caption_width
from tiling.deal import Plan, fresh_plan
from tiling.form import Orientation, SheetForm, SlotForm, shared_name
from tiling.lattice import Lattice
from tiling.layout import Layout
from tiling.packing import Packing
from tiling.paper import LEAST_SIDE_MM
from tiling.segments import lines_on_paper, map_to_drawing
from tiling.units import to_mm, to_units

SPARE = to_units(0.3)
"""A pattern that has grown stays in its slot while its lines keep this far from the slot's edges and its caption."""
SHARED, LONG = "shared", "roll"
"""The first shared sheet is ``shared 1``, the first page off a roll ``roll 1``."""
NAME_ALONE = "A1"
"""Of a sheet that holds one small pattern and nothing else."""

_ORIENTATIONS: tuple[Orientation, ...] = ("portrait", "landscape")


class Surround(Struct, frozen=True):
    """What a slot has round a pattern's lines, in units: a rim for words beside it and for scissors, and a caption below."""

    rim: int
    caption: int


USUAL = Surround(to_units(9.0), to_units(10.0))
TIGHT = (USUAL, Surround(to_units(3.0), to_units(6.0)), Surround(to_units(0.6), 0))
"""For a pattern that has the sheet to itself, the first that there is room for."""


class Box(Struct, frozen=True):
    """The lines of a pattern as they lie on a sheet of one form, turned by ``turn``: (x0, y0, x1, y1) in draw units.

    Its slot is at least ``least_width`` wide, so that the pattern's name fits beneath.
    """

    turn: int
    extent: tuple[int, int, int, int]
    least_width: int = 0
    surround: Surround = USUAL

    @property
    def slot(self) -> tuple[int, int]:
        """(width, height) of the slot for it."""
        x0, y0, x1, y1 = self.extent
        rim, caption = self.surround.rim, self.surround.caption
        return max(self.least_width, x1 - x0 + 2 * rim), y1 - y0 + 2 * rim + caption

    @property
    def corner(self) -> tuple[int, int]:
        """Where the slot's lower left corner lies in the drawing."""
        x0, y0, x1, _ = self.extent
        return x0 - (self.slot[0] - (x1 - x0)) // 2, y0 - self.surround.rim - self.surround.caption


class Slot(Struct, frozen=True):
    """The slot that was found for the plan of number ``index``: its lower left corner, and what lies in it."""

    index: int
    at: tuple[int, int]
    box: Box


class SharedSheet:
    """A sheet for small patterns being filled; ``index`` is the number of the first of them."""

    def __init__(self, form: SheetForm, name: str, index: int = -1) -> None:
        self.form, self.name, self.index = form, name, index
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


def shared(plans: Sequence[Plan], form: SheetForm, memory: Memory = FORGETFUL) -> list[Plan]:
    """The plans, with every small pattern in a slot: as many on one sheet as go on it, or one by itself.

    ``form`` is that of new sheets. A pattern that lay on sheets of its own before stays there.
    """
    result, earlier = list(plans), _earlier_sheets(plans, memory)
    for k, plan in enumerate(plans):
        slot = plan.layout.lattice.form
        if not plan.is_new and isinstance(slot, SlotForm) and not fits_in_slot(plan, memory):
            sheet = earlier.get(shared_name(slot))  # it changes anyway
            if sheet is None or not sheet.add(k, _boxes(plan.pattern, sheet.form, memory)):
                result[k] = fresh_plan(plan.pattern, form, memory)
    loose = [k for k, plan in enumerate(result) if plan.is_new and (form.paper.roll or len(plan.cells) == 1)]
    fresh = _filled(loose, result, form, set(earlier), memory)
    for one in (*earlier.values(), *fresh):
        finished = one.finished_form() if one in fresh else one.form
        for given in one.slots:
            result[given.index] = _in_slot(result[given.index], given, finished, one.name)
    return result


def fits_in_slot(plan: Plan, memory: Memory = FORGETFUL) -> bool:
    """Whether a pattern that lay in a slot still has room there."""
    lattice, layout = plan.layout.lattice, plan.layout
    caption = lattice.form.caption if isinstance(lattice.form, SlotForm) else 0
    x0, y0, x1, y1 = _box(plan.pattern, layout.turn, layout.to_drawing, memory).extent
    left, low, right, high = lattice.core((0, 0))
    return left + SPARE <= x0 and low + caption + SPARE <= y0 and x1 <= right - SPARE and y1 <= high - SPARE


def _earlier_sheets(plans: Sequence[Plan], memory: Memory) -> dict[str, SharedSheet]:
    """The shared sheets of an earlier printing by name, with the slots that are kept."""
    sheets: dict[str, SharedSheet] = {}
    for plan in plans:
        slot = plan.layout.lattice.form
        if not plan.is_new and isinstance(slot, SlotForm) and not slot.alone:
            sheet = sheets.setdefault(slot.name, SharedSheet(slot.sheet, slot.name))
            if fits_in_slot(plan, memory):
                sheet.keep(slot)
    return sheets


def fewest_sheets(small: Mapping[int, Pattern], form: SheetForm, memory: Memory = FORGETFUL) -> list[SharedSheet]:
    """New sheets for small patterns, by their numbers: upright or lying, whichever way takes fewer."""
    orientations = _ORIENTATIONS[: 1 if form.paper.roll else 2]
    ways = [_packed(small, replace(form, orientation=orientation), memory) for orientation in orientations]
    return min(ways, key=len)


def _filled(
    loose: Sequence[int], plans: Sequence[Plan], form: SheetForm, taken: Set[str], memory: Memory
) -> list[SharedSheet]:
    """New sheets for small patterns, each with a name that is not ``taken``; none for what has a plain one of its own."""
    named: list[SharedSheet] = []
    kind = LONG if form.paper.roll else SHARED
    names = (name for number in itertools.count(1) if (name := f"{kind} {number}") not in taken)
    for sheet in fewest_sheets({k: plans[k].pattern for k in loose}, form, memory):
        if len(sheet.slots) > (0 if form.paper.roll else 1):
            sheet.name = next(names)
            named.append(sheet)
        elif not form.paper.roll:
            alone = _alone(sheet.index, plans[sheet.index], form, memory)
            named += [alone] if alone else []
    return named


def _packed(small: Mapping[int, Pattern], form: SheetForm, memory: Memory) -> list[SharedSheet]:
    """Sheets of one form with all the patterns, the largest first; one that finds no slot even by itself has an empty
    sheet."""
    boxes = {k: _boxes(pattern, form, memory) for k, pattern in small.items()}
    sheets: list[SharedSheet] = []
    for k in sorted(small, key=lambda k: (-max(boxes[k][0].slot), -min(boxes[k][0].slot), k)):
        if not any(sheet.add(k, boxes[k]) for sheet in sheets if sheet.slots):
            sheet = SharedSheet(form, NAME_ALONE, k)
            sheet.add(k, boxes[k])
            sheets.append(sheet)
    return sheets


def _alone(index: int, plan: Plan, form: SheetForm, memory: Memory) -> SharedSheet | None:
    """A sheet for one small pattern, which reads as the sheet is held if it can; None if it would not be whole on it.

    What is so large that the sheet has no rim left has the plain sheet that it was planned for.
    """
    for surround, turn, orientation in itertools.product(TIGHT, (0, 90), _ORIENTATIONS):
        lying = replace(form, orientation=orientation)
        box = _box(plan.pattern, turn, map_to_drawing(turn, lying.correction), memory)
        sheet = SharedSheet(lying, NAME_ALONE, index)
        if sheet.add(index, [replace(box, surround=surround)]):
            return sheet
    return None


def _boxes(pattern: Pattern, form: SheetForm, memory: Memory) -> list[Box]:
    """The two ways in which a pattern may lie on a sheet."""
    least = min(caption_width(pattern.name), form.window[0])
    boxes = [_box(pattern, turn, map_to_drawing(turn, form.correction), memory) for turn in (0, 90)]
    return [replace(box, least_width=least) for box in boxes]


def _box(pattern: Pattern, turn: int, to_drawing: Affine, memory: Memory) -> Box:
    return memory.kept(("box", pattern, turn, to_drawing), partial(_new_box, pattern, turn, to_drawing, memory))


def _new_box(pattern: Pattern, turn: int, to_drawing: Affine, memory: Memory) -> Box:
    lines = lines_on_paper(pattern.strokes, to_drawing, memory)
    ends = lines.beziers[:, [0, 3]]
    low, high = ends.min(axis=(0, 1)), ends.max(axis=(0, 1))
    return Box(turn, (math.floor(low[0]), math.floor(low[1]), math.ceil(high[0]), math.ceil(high[1])))


def _in_slot(plan: Plan, slot: Slot, form: SheetForm, name: str) -> Plan:
    """The plan with its pattern in a slot."""
    box = slot.box
    place = SlotForm(form, name, slot.at, box.slot, box.surround.caption, name == NAME_ALONE)
    return replace(
        plan, layout=Layout(Lattice(place, box.corner), box.turn), needed=((0, 0),), joining=(), remembered={}
    )
