"""From an order to its sheets: plans for all patterns, the small ones sharing sheets, and all of them drawn."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from patterns.errors import PatternError, Problem
from patterns.memory import FORGETFUL, Memory
from patterns.pattern import Pattern
from tiling import sharing
from tiling.deal import Dealt, Plan, draw, fresh_plan, plan
from tiling.form import SheetForm, SlotForm, checked, shared_name, sheet_form
from tiling.frame import SheetNames
from tiling.lattice import Lattice
from tiling.layout import settled_count
from tiling.order import MOST_SHEETS, Order, Progress, no_progress
from tiling.recipe import PatternRecord, Recipe
from tiling.sharedsheet import draw_shared
from tiling.units import Cell

SMALL_PARTS = "small parts"
"""What a shared sheet is said to hold."""


def plans_of(
    order: Order,
    form: SheetForm,
    like: Recipe | None = None,
    progress: Progress = no_progress,
    memory: Memory = FORGETFUL,
) -> list[Plan]:
    """Which sheets each pattern takes: on the layouts of ``like`` where it has them, else on the best ones."""
    plans: list[Plan] = []
    for k, pattern in enumerate(order.patterns):
        progress("layout", k, len(order.patterns))
        record = like.of(pattern.slug) if like else None
        remembered = _remembered(pattern, record, form, memory) if record else None
        plans.append(remembered or fresh_plan(pattern, form, memory))
    return sharing.shared(plans, form, memory)


def _remembered(pattern: Pattern, record: PatternRecord, form: SheetForm, memory: Memory) -> Plan | None:
    """The pattern on the layout of earlier sheets; None where it lay in a slot and is now drawn for another printer."""
    before = record.layout.lattice.form
    if sheet_form(before).printer == form.printer:
        key = ("plan", pattern, record.layout, *record.slots.items())
        return memory.kept(key, partial(plan, pattern, record.layout, record.slots, memory))
    return None if isinstance(before, SlotForm) else plan(pattern, record.layout.for_printer(form.printer), {})


def sheet_count(plans: Sequence[Plan]) -> int:
    """How many sheets of paper the plans take; a shared sheet counts once."""
    sheets = {_sheet_key(one.pattern.slug, one.layout.lattice, cell) for one in plans for cell in one.cells}
    return len(sheets)


def fresh_count(order: Order, form: SheetForm, memory: Memory = FORGETFUL) -> int:
    """How many sheets of paper a printing would take that is laid out anew; laid out only where its count follows from
    nothing less."""
    if form.paper.roll:
        return sheet_count(plans_of(order, form, memory=memory))
    counts = [memory.kept(("fresh count", one, form), partial(_count_of, one, form, memory)) for one in order.patterns]
    small = {k: order.patterns[k] for k, count in enumerate(counts) if count == 1}
    return sum(counts) - len(small) + len(sharing.fewest_sheets(small, form, memory))


def _count_of(pattern: Pattern, form: SheetForm, memory: Memory) -> int:
    """The same for a pattern by itself."""
    return settled_count(pattern.strokes, form, memory) or len(fresh_plan(pattern, form, memory).cells)


def _sheet_key(slug: str, lattice: Lattice, cell: Cell) -> tuple[str, str]:
    """What tells a sheet from all others of the job."""
    return ("" if shared_name(lattice.form) else slug, lattice.name_of(cell))


def deal_all(
    order: Order,
    form: SheetForm,
    like: Recipe | None,
    progress: Progress,
    memory: Memory = FORGETFUL,
) -> tuple[Dealt, ...]:
    checked(form)
    plans = plans_of(order, form, like, progress, memory)
    total = sheet_count(plans)
    if total > MOST_SHEETS and not order.many:
        raise PatternError([_too_many(total, plans)], order.source.name)
    result: dict[int, Dealt] = {}
    done = 0
    for name, group in _by_sheet(plans).items():
        first = plans[group[0]]
        held = SMALL_PARTS if isinstance(name, str) else first.pattern.name
        names = SheetNames(order.piece.title, held, order.member)
        if isinstance(first.layout.lattice.form, SlotForm):
            alike = [plans[k] for k in group]
            key = ("sheet of slots", names, *(one.key for one in alike))
            drawn = memory.kept(key, partial(draw_shared, alike, names, memory))
            result |= zip(group, drawn, strict=True)
            done += 1
            progress("sheets", done, total)
        else:
            work = partial(draw, first, names, partial(_tell, progress, done, total), memory)
            result[group[0]] = memory.kept(("sheets", names, first.key), work)
            done += len(first.cells)
    return tuple(result[k] for k in range(len(plans)))


def _by_sheet(plans: Sequence[Plan]) -> dict[str | int, list[int]]:
    """The numbers of the plans by the sheet that they share; one that shares none is by itself, under its own number."""
    groups: dict[str | int, list[int]] = {}
    for k, one in enumerate(plans):
        groups.setdefault(shared_name(one.layout.lattice.form) or k, []).append(k)
    return groups


def _tell(progress: Progress, before: int, total: int, done: int) -> None:
    progress("sheets", before + done, total)


def _too_many(total: int, plans: Sequence[Plan]) -> Problem:
    largest = max(plans, key=lambda one: len(one.cells))
    what = (
        f"the job would take {total:,} sheets, {len(largest.cells):,} of them for {largest.pattern.name}; "
        f"is the unit right? --many prints more than {MOST_SHEETS:,}"
    )
    return Problem("", what)
