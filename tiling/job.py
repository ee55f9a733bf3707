"""A whole printing: from an order to the PDF, and a reprint that takes only the sheets that changed."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from msgspec import Struct

from patterns.affine import Affine
from patterns.display import Display
from patterns.errors import PatternError, Problem
from patterns.piece import Size
from tiling import cover, pdf, printer
from tiling.coverfacts import CoverFacts, PatternOnCover, SheetOnCover, SheetState
from tiling.deal import Dealt, Plan, draw, first_plan, plan
from tiling.fingerprint import digest_of, word_of
from tiling.form import SheetForm, checked
from tiling.frame import SheetNames
from tiling.lattice import cell_name
from tiling.layout import Layout
from tiling.order import MOST_SHEETS, Order, Progress, no_progress
from tiling.recipe import ATTACHMENT, PatternRecord, Recipe
from tiling.sheet import DRAWING_VERSION, Sheet
from tiling.units import UNITS_PER_POINT, Cell, Json


class PrintedSheet(Struct, frozen=True):
    """A page of the PDF that carries a sheet; ``page`` counts from 1 with the cover."""

    page: int
    dealt: Dealt
    sheet: Sheet

    def to_json(self) -> Json:
        """The page's place in the part: see ``to_part``."""
        lattice = self.dealt.layout.lattice
        return {
            "page": self.page,
            "label": cell_name(self.sheet.cell),
            "digest": self.sheet.digest,
            "parts": [
                {
                    "part": self.dealt.pattern.name,
                    "to_part": list(to_part(self.dealt.layout, self.sheet.cell).values()),
                    "window_mm": list(_window_mm(self.dealt.layout, lattice.window(self.sheet.cell))),
                }
            ],
        }


class SheetFate(Struct, frozen=True):
    """What becomes of one sheet in a reprint."""

    pattern: str
    name: str
    state: str
    """print, keep or discard"""


class Printed(Struct, frozen=True):
    """A finished job. ``fates`` and ``fresh_count`` (sheets that a new layout would take) are those of a reprint."""

    data: bytes
    form: SheetForm
    page_count: int
    sheets: tuple[PrintedSheet, ...]
    dealt: tuple[Dealt, ...]
    warnings: tuple[str, ...]
    recipe: Recipe
    fates: tuple[SheetFate, ...] = ()
    fresh_count: int | None = None

    def to_json(self) -> Json:
        """The contract of ``sheets --json``."""
        return {
            "paper": self.form.paper.name,
            "pages": self.page_count,
            "sheets": [sheet.to_json() for sheet in self.sheets],
        }


def to_part(layout: Layout, cell: Cell) -> Affine:
    """The map from a point of the sheet's page (points, PDF user space) to the part (mm)."""
    x, y = layout.lattice.window(cell)[:2]
    left, bottom = layout.lattice.form.corner
    to_drawing = Affine.translation(x - left, y - bottom) @ Affine.scaling(UNITS_PER_POINT)
    return layout.to_drawing.inverse() @ to_drawing


def _window_mm(layout: Layout, window: tuple[int, int, int, int]) -> tuple[float, float, float, float]:
    back = layout.to_drawing.inverse()
    ax, ay = back.point(window[0], window[1])
    bx, by = back.point(window[2], window[3])
    return min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)


# ---------------------------------------------------------------- the two printings


def make_sheets(order: Order, form: SheetForm, like: Recipe | None = None, progress: Progress = no_progress) -> Printed:
    """Prints every sheet of the order: on the layouts of ``like`` where it has them, else on the best ones.

    Raises PatternError where the paper leaves no room, or the job takes more than 2,000 sheets and ``order.many`` does
    not say that it may.
    """
    dealt = _dealt(order, form, like, progress)
    return _printed(order, dealt, _form_of(dealt, form), None, progress)


def make_reprint(order: Order, old: Recipe, progress: Progress = no_progress) -> Printed:
    """Prints the sheets that differ from those of the old job, on its layout. Raises PatternError for another piece."""
    if not any(old.of(pattern.slug) for pattern in order.patterns):
        what = f'holds sheets of "{old.title}" and none of the parts of "{order.piece.title}"'
        raise PatternError.of("", what, "the old sheets")
    if old.drawing != DRAWING_VERSION:
        what = "were drawn by another version, whose marks would not match; print all sheets again"
        raise PatternError.of("", what, "the old sheets")
    form = old.patterns[0].layout.lattice.form
    dealt = _dealt(order, form, old, progress)
    return _printed(order, dealt, form, old, progress)


def _form_of(dealt: Sequence[Dealt], form: SheetForm) -> SheetForm:
    return dealt[0].layout.lattice.form if dealt else form


def _dealt(order: Order, form: SheetForm, like: Recipe | None, progress: Progress) -> tuple[Dealt, ...]:
    checked(form)
    plans: list[Plan] = []
    for k, pattern in enumerate(order.patterns):
        progress("layout", k, len(order.patterns))
        record = like.of(pattern.slug) if like else None
        remembered = plan(pattern, record.layout, record.slots) if record else None
        plans.append(remembered or first_plan(pattern, form, order.correction))
    total = sum(len(one.cells) for one in plans)
    if total > MOST_SHEETS and not order.many:
        raise PatternError([_too_many(total, plans)], order.source.name)
    names = {p.slug: SheetNames(order.piece.title, p.name, printer.in_words(order.correction)) for p in order.patterns}
    result: list[Dealt] = []
    for one in plans:
        done = sum(len(dealt.sheets) for dealt in result)
        result.append(draw(one, names[one.pattern.slug], partial(_tell, progress, done, total)))
    return tuple(result)


def _tell(progress: Progress, before: int, total: int, done: int) -> None:
    progress("sheets", before + done, total)


def _too_many(total: int, plans: Sequence[Plan]) -> Problem:
    largest = max(plans, key=lambda one: len(one.cells))
    what = (
        f"the job would take {total:,} sheets, {len(largest.cells):,} of them for {largest.pattern.name}; "
        f"is the unit right? --many prints more than {MOST_SHEETS:,}"
    )
    return Problem("", what)


# ---------------------------------------------------------------- the document


def _printed(
    order: Order, dealt: tuple[Dealt, ...], form: SheetForm, old: Recipe | None, progress: Progress
) -> Printed:
    recipe = _recipe(order, dealt)
    warnings = tuple(dict.fromkeys([*order.warnings, *(w for one in dealt for w in one.warnings)]))
    fates = _fates(dealt, old)
    fresh = sum(len(first_plan(p, form, order.correction).cells) for p in order.patterns) if old else None
    facts = _cover_facts(order, dealt, form, warnings, old, recipe, fresh)
    covers = cover.cover_pages(facts)
    width, height = SheetForm(form.paper).page_points
    pages = [pdf.Page(page, (width, height), "Cover" if k == 0 else f"Cover {k + 1}") for k, page in enumerate(covers)]
    pages[0] = pdf.Page(covers[0], (width, height), "Cover", "Cover")
    sheets: list[PrintedSheet] = []
    for one in dealt:
        chosen = [sheet for sheet in one.sheets if _is_printed(one, sheet, old)]
        for k, sheet in enumerate(chosen):
            bookmark = one.pattern.name if k == 0 else ""
            name = f"{one.pattern.name} {cell_name(sheet.cell)}" if len(dealt) > 1 else cell_name(sheet.cell)
            pages.append(pdf.Page(sheet.content, one.layout.lattice.form.page_points, name, bookmark))
            sheets.append(PrintedSheet(len(pages), one, sheet))
    progress("writing", 0, 1)
    attachment = pdf.Attachment(ATTACHMENT, recipe.to_bytes(), "What these sheets were made from")
    data = pdf.assemble(pages, attachment, order.piece.title, "Full-size patterns: print at actual size")
    return Printed(data, form, len(pages), tuple(sheets), dealt, warnings, recipe, fates, fresh)


def _is_printed(dealt: Dealt, sheet: Sheet, old: Recipe | None) -> bool:
    record = old.of(dealt.pattern.slug) if old else None
    return record is None or record.sheets.get(sheet.cell) != sheet.digest


def _fates(dealt: Sequence[Dealt], old: Recipe | None) -> tuple[SheetFate, ...]:
    """For a reprint: every sheet, old and new, and whether to print it, keep it or throw the old one away."""
    if old is None:
        return ()
    fates: list[SheetFate] = []
    for one in dealt:
        record = old.of(one.pattern.slug)
        before = dict(record.sheets) if record else {}
        for sheet in one.sheets:
            name = cell_name(sheet.cell)
            old_digest = before.pop(sheet.cell, None)
            if old_digest == sheet.digest:
                fates.append(SheetFate(one.pattern.name, name, "keep"))
                continue
            if old_digest is not None:
                fates.append(SheetFate(one.pattern.name, name, "discard"))
            fates.append(SheetFate(one.pattern.name, name, "print"))
        fates += [SheetFate(one.pattern.name, cell_name(cell), "discard") for cell in sorted(before)]
    slugs = {one.pattern.slug for one in dealt}
    for record in old.patterns:
        if record.slug not in slugs:
            fates += [SheetFate(record.name, cell_name(cell), "discard") for cell in sorted(record.sheets)]
    return tuple(fates)


def _recipe(order: Order, dealt: Sequence[Dealt]) -> Recipe:
    records = tuple(
        PatternRecord(
            one.pattern.slug,
            one.pattern.name,
            one.layout,
            one.placing.slots,
            {sheet.cell: sheet.digest for sheet in one.sheets},
        )
        for one in dealt
    )
    return Recipe(
        order.source, order.given, order.shop_text, order.only, records, order.correction, title=order.piece.title
    )


def _cover_facts(
    order: Order,
    dealt: Sequence[Dealt],
    form: SheetForm,
    warnings: tuple[str, ...],
    old: Recipe | None,
    recipe: Recipe,
    fresh: int | None,
) -> CoverFacts:
    piece, display = order.piece, order.display
    sizes = tuple((size.name, _figure(size, display), size.note) for size in piece.sizes)
    made_from = recipe.source.text + repr(sorted(recipe.given.items()))
    return CoverFacts(
        title=piece.title,
        about=piece.about,
        revision=piece.revision,
        date=piece.date,
        recipe_word=word_of(digest_of(made_from.encode("utf-8"))),
        units=piece.units,
        display=display,
        sizes=sizes,
        patterns=tuple(_on_cover(one, old) for one in dealt),
        warnings=warnings,
        form=form,
        correction=printer.in_words(order.correction),
        reprint=old is not None,
        fresh_sheet_count=fresh,
    )


def _figure(size: Size, display: Display) -> str:
    """A size's value as a maker reads it."""
    if size.kind == "number":
        return f"{size.value:g}"
    return display.angle(size.value) if size.kind == "angle" else display.both(size.value)


def _on_cover(dealt: Dealt, old: Recipe | None) -> PatternOnCover:
    record = old.of(dealt.pattern.slug) if old else None
    before = dict(record.sheets) if record else {}
    listed = []
    for sheet in dealt.sheets:
        same = before.pop(sheet.cell, None) == sheet.digest
        state: SheetState = "keep" if same else "join" if sheet.cell in dealt.joining else "print"
        listed.append(SheetOnCover(sheet.cell, state, sheet.word))
    listed += [SheetOnCover(cell, "discard", word_of(digest)) for cell, digest in before.items()]
    present = {one.cell for one in listed}
    listed += [SheetOnCover(cell, "left out", "") for cell in _grid(present) if cell not in present]
    layout = dealt.layout
    return PatternOnCover(dealt.pattern, layout.lattice, layout.to_drawing, tuple(listed))


def _grid(cells: set[Cell]) -> list[Cell]:
    """Every cell of the smallest grid that holds these."""
    columns, rows = [c for c, _ in cells], [r for _, r in cells]
    return [(c, r) for r in range(min(rows), max(rows) + 1) for c in range(min(columns), max(columns) + 1)]
