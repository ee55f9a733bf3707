"""A whole printing: from an order to the PDF, and a reprint that takes only the sheets that changed."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from patterns.affine import Affine
from patterns.errors import PatternError
from patterns.memory import FORGETFUL, Memory
from tiling import cover, pdf
from tiling.carried import attachments_of
from tiling.covering import cover_facts, sharing_with
from tiling.deal import Dealt
from tiling.dealing import deal_all, fresh_count
from tiling.fates import SheetFate, fates_of, is_printed
from tiling.form import SheetForm, shared_name
from tiling.layout import Layout
from tiling.order import Order, Progress, no_progress
from tiling.recipe import PatternRecord, Recipe
from tiling.sheet import DRAWING_VERSION, Sheet
from tiling.units import UNITS_PER_POINT, Cell, Json


class PrintedSheet(Struct, frozen=True):
    """A page of the PDF that carries a sheet; ``page`` counts from 1 with the cover."""

    page: int
    dealt: Dealt
    sheet: Sheet
    others: tuple[Dealt, ...] = ()
    """What else is on it, where several patterns share it."""

    @property
    def name(self) -> str:
        """A1 at the lower left of a pattern's sheets, or the name of a shared sheet."""
        return self.dealt.layout.lattice.name_of(self.sheet.cell)

    def to_json(self) -> Json:
        """The page's place in the part or parts: see ``to_part``."""
        parts = [
            {
                "part": one.pattern.name,
                "to_part": list(to_part(one.layout, self.sheet.cell).values()),
                "window_mm": list(_window_mm(one.layout, one.layout.lattice.window(self.sheet.cell))),
            }
            for one in (self.dealt, *self.others)
        ]
        return {"page": self.page, "label": self.name, "digest": self.sheet.digest, "parts": parts}


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
            "sheet_count": len(self.sheets),
            **self.form.printer.to_json(),
            "sheets": [sheet.to_json() for sheet in self.sheets],
        }


def to_part(layout: Layout, cell: Cell) -> Affine:
    """The map from a point of the sheet's page (points, PDF user space) to the part (mm)."""
    x, y = layout.lattice.window(cell)[:2]
    left, bottom = layout.lattice.form.corner
    to_drawing = Affine.translation(x - left, y - bottom) @ Affine.scaling(UNITS_PER_POINT)
    return layout.to_drawing.inverse() @ to_drawing


def _window_mm(layout: Layout, window: tuple[int, int, int, int]) -> tuple[float, float, float, float]:
    """The box on the part of a window, which a skewed printer makes a little askew."""
    x0, y0, x1, y1 = window
    back = layout.to_drawing.inverse()
    xs, ys = zip(*(back.point(x, y) for x in (x0, x1) for y in (y0, y1)), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


# ---------------------------------------------------------------- the two printings


def make_sheets(order: Order, form: SheetForm, like: Recipe | None = None, progress: Progress = no_progress) -> Printed:
    """Prints every sheet of the order: on the layouts of ``like`` where it has them, else on the best ones.

    Raises PatternError where the paper leaves no room, or the job takes more than 2,000 sheets and ``order.many`` does
    not say that it may.
    """
    dealt = deal_all(order, form, like, progress, FORGETFUL)
    return _printed(order, dealt, form, None, progress, FORGETFUL)


def make_reprint(order: Order, old: Recipe, progress: Progress = no_progress, memory: Memory = FORGETFUL) -> Printed:
    """Prints the sheets that differ from those of the old job, on its layout. Raises PatternError for another piece.

    ``memory`` is what earlier reprints of the same process have drawn.
    """
    if not any(old.of(pattern.slug) for pattern in order.patterns):
        what = f'holds sheets of "{old.title}" and none of the parts of "{order.piece.title}"'
        raise PatternError.of("", what, "the old sheets")
    if old.drawing != DRAWING_VERSION:
        what = "were drawn by another version and would not match; print all sheets again with 'curvewright sheets'"
        raise PatternError.of("", what, "the old sheets")
    form = old.form
    dealt = deal_all(order, form, old, progress, memory)
    return _printed(order, dealt, form, old, progress, memory)


# ---------------------------------------------------------------- the document


def _printed(
    order: Order,
    dealt: tuple[Dealt, ...],
    form: SheetForm,
    old: Recipe | None,
    progress: Progress,
    memory: Memory,
) -> Printed:
    recipe = recipe_of(order, dealt, form)
    warnings = tuple(dict.fromkeys([*order.warnings, *(w for one in dealt for w in one.warnings)]))
    fates = fates_of(dealt, old)
    fresh = fresh_count(order, form, memory) if old else None
    facts = cover_facts(order, dealt, form, warnings, old, recipe, fresh, fates, memory)
    covers = cover.cover_pages(facts)
    width, height = facts.form.page_points
    pages = [pdf.Page(page, (width, height), "Cover" if k == 0 else f"Cover {k + 1}") for k, page in enumerate(covers)]
    pages[0] = pdf.Page(covers[0], (width, height), "Cover", "Cover")
    sheets = _pages(dealt, old, pages)
    progress("writing", 0, 1)
    data = pdf.assemble(
        pages, attachments_of(recipe), order.piece.title, "Full-size patterns: print at actual size", memory
    )
    return Printed(data, form, len(pages), tuple(sheets), dealt, warnings, recipe, fates, fresh)


def _pages(dealt: Sequence[Dealt], old: Recipe | None, pages: list[pdf.Page]) -> list[PrintedSheet]:
    """Adds a page for every sheet that is printed, the shared ones where the first of their patterns comes."""
    found: list[PrintedSheet] = []
    shared: set[str] = set()
    for one in dealt:
        lattice = one.layout.lattice
        bookmark = one.pattern.name
        for sheet in one.sheets:
            name = lattice.name_of(sheet.cell)
            if name in shared or not is_printed(one, sheet, old):
                continue
            alike = sharing_with(one, dealt)
            if shared_name(lattice.form):
                shared.add(name)
                bookmark = ", ".join(each.pattern.name for each in (one, *alike))
            label = f"{one.pattern.name} {name}" if len(dealt) > 1 and not alike else name
            pages.append(pdf.Page(sheet.content, lattice.form.page_points, label, bookmark))
            bookmark = ""
            found.append(PrintedSheet(len(pages), one, sheet, tuple(alike)))
    return found


def recipe_of(order: Order, dealt: Sequence[Dealt], form: SheetForm) -> Recipe:
    """The record of a job that was laid out on sheets of this form."""
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
        order.source,
        order.given,
        order.shop_text,
        order.only,
        records,
        form,
        title=order.piece.title,
        halves=order.halves,
        templates=order.templates,
        shop_aids=order.shop_aids,
        member=order.member,
        mirrored=order.mirrored,
    )
