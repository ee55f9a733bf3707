"""What the cover of a job has to tell, gathered from the job."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from msgspec.structs import replace

from patterns.display import Display
from patterns.memory import FORGETFUL, Memory
from patterns.piece import Piece, Size
from tiling import printer
from tiling.coverfacts import CoverFacts, PatternOnCover, SheetOnCover, SheetState
from tiling.deal import Dealt
from tiling.fates import SheetFate, digests_of
from tiling.fingerprint import word_of
from tiling.form import SheetForm, shared_name
from tiling.lattice import cell_of
from tiling.order import Order, usual_form
from tiling.recipe import PatternRecord, Recipe
from tiling.units import Cell


def sharing_with(one: Dealt, dealt: Sequence[Dealt]) -> list[Dealt]:
    """The other patterns on the same sheet."""
    return [other for other in dealt if other is not one and other.sheets[0] is one.sheets[0]]


def cover_facts(
    order: Order,
    dealt: Sequence[Dealt],
    form: SheetForm,
    warnings: tuple[str, ...],
    old: Recipe | None,
    recipe: Recipe,
    fresh: int | None,
    fates: tuple[SheetFate, ...] = (),
    memory: Memory = FORGETFUL,
) -> CoverFacts:
    """The facts; ``form`` is that of new sheets. ``fresh``, how many sheets a fresh printing would take, and ``fates``
    are a reprint's."""
    piece, display = order.piece, order.display
    return CoverFacts(
        title=piece.title,
        about=piece.about,
        revision=piece.revision,
        date=piece.date,
        recipe_word=recipe.word,
        units=piece.units,
        display=display,
        sizes=sizes_told(piece, display),
        fates=fates,
        patterns=tuple(_remembered(one, sharing_with(one, dealt), old, memory) for one in dealt),
        warnings=warnings,
        form=replace(usual_form(piece.units), printer=form.printer) if form.paper.roll else form,
        printed_on=form.paper,
        member=order.member,
        mirrored=order.mirrored,
        correction=printer.made_for(form.printer),
        reprint=old is not None,
        fresh_sheet_count=fresh,
    )


def sizes_told(piece: Piece, display: Display) -> tuple[tuple[str, str, str], ...]:
    """The sizes in force: name, value and note."""
    return tuple((size.name, _figure(size, display), size.note) for size in piece.sizes)


def _figure(size: Size, display: Display) -> str:
    """A size's value as a maker reads it."""
    if size.kind == "number":
        return f"{size.value:g}"
    return display.angle(size.value) if size.kind == "angle" else display.both(size.value)


def _remembered(dealt: Dealt, others: Sequence[Dealt], old: Recipe | None, memory: Memory) -> PatternOnCover:
    """The same as ``_on_cover``: one that stays as it was is the same object, so that its picture is known again."""
    record = old.of(dealt.pattern.slug) if old else None
    before = (record.layout.lattice, *digests_of(record).items()) if record else ()
    return memory.kept(("on cover", dealt, *others, *before), partial(_on_cover, dealt, others, record))


def _on_cover(dealt: Dealt, others: Sequence[Dealt], record: PatternRecord | None) -> PatternOnCover:
    """A pattern and its sheets; ``others`` are those that share its sheet, ``record`` is that of the earlier printing.

    Sheets that are thrown away are shown where they lay on the same lattice.
    """
    before = digests_of(record)
    lattice = dealt.layout.lattice
    shared = shared_name(lattice.form)
    listed = []
    for sheet in dealt.sheets:
        old_digest = before.pop(lattice.name_of(sheet.cell), None)
        same = old_digest == sheet.digest
        state: SheetState = "keep" if same else "join" if sheet.cell in dealt.joining else "print"
        replaces = old_digest is not None and not same
        listed.append(SheetOnCover(sheet.cell, state, sheet.word, shared, replaces))
    note = _shared_with(shared, others) if shared else ""
    if record is not None and record.layout.lattice == lattice and not shared:
        listed += [SheetOnCover(cell_of(name), "discard", word_of(digest)) for name, digest in before.items()]
    elif before:
        note += f"{'; ' if note else ''}throw away the old {', '.join(before)}"
    present = {one.cell for one in listed}
    listed += [SheetOnCover(cell, "left out") for cell in _grid(present) if cell not in present]
    return PatternOnCover(dealt.pattern, lattice, dealt.layout.to_drawing, tuple(listed), note=note, seams=dealt.seams)


def _shared_with(name: str, others: Sequence[Dealt]) -> str:
    return f"on sheet {name}" + (f", with {', '.join(one.pattern.name for one in others)}" if others else "")


def _grid(cells: set[Cell]) -> list[Cell]:
    """Every cell of the smallest grid that holds these."""
    columns, rows = [c for c, _ in cells], [r for _, r in cells]
    return [(c, r) for r in range(min(rows), max(rows) + 1) for c in range(min(columns), max(columns) + 1)]
