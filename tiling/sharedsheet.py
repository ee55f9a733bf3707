"""Drawing a sheet that several small patterns share: each in its slot, with a line beneath that says what it is."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from patterns.memory import FORGETFUL, Memory
from tiling.content import Content, text_width
from tiling.deal import Dealt, Plan, placed
from tiling.fingerprint import digest_of, word_of
from tiling.form import SlotForm
from tiling.frame import SheetNames, band_of
from tiling.lattice import Lattice
from tiling.sharing import CAPTION
from tiling.sheet import DRAWING_VERSION, Sheet, draw_label, draw_segments
from tiling.units import UNITS_PER_MM, Cell, to_units

A1: Cell = (0, 0)
CAPTIONS_MM = (3.0, 2.6, 2.3, 2.0)
"""Heights that a caption is tried in: the largest that is no wider than the slot."""
_NAME_MM = 3.4
_WORD = "mmmmm"
"""As wide as any fingerprint word."""


def draw_shared(plans: Sequence[Plan], names: SheetNames, memory: Memory = FORGETFUL) -> list[Dealt]:
    """Draws the sheet that the plans share; ``names.pattern`` is what the sheet holds. Every plan gets the same sheet."""
    slot = plans[0].layout.lattice.form
    if not isinstance(slot, SlotForm):
        raise ValueError("these patterns share no sheet")
    content = Content(slot.sheet.corner)
    content.raw(f"% {DRAWING_VERSION}\n")
    content.show(band_of(slot.sheet, names))
    content.text(0, -to_units(6.0), slot.name, _NAME_MM)
    placings = []
    for plan in plans:
        lattice = plan.layout.lattice
        one = memory.kept(("placed", plan.key), partial(placed, plan, memory))
        corner = _corner(lattice)
        x0, y0, x1, y1 = lattice.core(A1)
        content.clip(x0 - corner[0], y0 - corner[1], x1 - corner[0], y1 - corner[1])
        draw_segments(content, one.segments, corner)
        content.unclip()
        for label in one.placing.by_cell.get(A1, []):
            draw_label(content, label, corner)
        placings.append(one.placing)
    ends = [_caption(content, plan) for plan in plans]
    digest = digest_of(content.hashed())
    word = word_of(digest)
    content.begin_fingerprint()
    for x, y, height in ends:
        content.text(x, y, word, height)
    content.end_fingerprint()
    sheet = Sheet(A1, content, digest, word)
    return [
        Dealt(plan.pattern, plan.layout, (), (sheet,), placing) for plan, placing in zip(plans, placings, strict=True)
    ]


def _corner(lattice: Lattice) -> tuple[int, int]:
    """Where the sheet's window has its lower left corner in the drawing of one slot's pattern."""
    slot = lattice.form
    at = slot.at if isinstance(slot, SlotForm) else (0, 0)
    x0, y0, _, _ = lattice.core(A1)
    return x0 - at[0], y0 - at[1]


def _caption(content: Content, plan: Plan) -> tuple[float, float, float]:
    """The pattern's name and the sheet's beneath it; returns where the sheet's word follows (units), and its height (mm)."""
    lattice = plan.layout.lattice
    x0, y0, x1, _ = lattice.core(A1)
    left, low = _corner(lattice)
    name, sheet, room = plan.pattern.name, lattice.name_of(A1), x1 - x0 - to_units(2.0)
    height = next((h for h in CAPTIONS_MM if _width(name, sheet, h) <= room), CAPTIONS_MM[-1])
    while len(name) > 3 and _width(name, sheet, height) > room:
        name = name[:-4].rstrip() + "..."
    start = (x0 + x1 - _width(name, sheet, height)) / 2 - left
    base = y0 + (CAPTION - height * UNITS_PER_MM) / 2 - low
    return start + content.text(start, base, f"{name}  {sheet}  ", height), base, height


def _width(name: str, sheet: str, height: float) -> float:
    return text_width(f"{name}  {sheet}  {_WORD}", height)
