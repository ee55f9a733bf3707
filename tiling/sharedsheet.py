"""Drawing a sheet that several small patterns share: each in its slot, with a line beneath that says what it is."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from msgspec.structs import replace

from patterns.memory import FORGETFUL, Memory
from tiling.captions import WordPlace, draw_caption, told
from tiling.content import Content
from tiling.deal import Dealt, Plan, placed
from tiling.fingerprint import digest_of, word_of
from tiling.form import SlotForm
from tiling.frame import SheetNames, band_of, draw_member
from tiling.labels import Placing
from tiling.lattice import Lattice
from tiling.sharing import USUAL
from tiling.sheet import DRAWING_VERSION, Sheet, draw_label, draw_segments
from tiling.units import Cell, to_units

A1: Cell = (0, 0)
_NAME_MM, _ALONE_MM = 3.4, 5.0
_SMALL_MM = 2.3


def draw_shared(plans: Sequence[Plan], names: SheetNames, memory: Memory = FORGETFUL) -> list[Dealt]:
    """Draws the sheet that the plans share; ``names.pattern`` is what the sheet holds. Every plan gets the same sheet."""
    slot = plans[0].layout.lattice.form
    if not isinstance(slot, SlotForm):
        raise ValueError("these patterns share no sheet")
    content = Content(slot.sheet.corner)
    content.raw(f"% {DRAWING_VERSION}\n")
    content.show(band_of(slot.sheet, names))
    content.text(0, -to_units(6.0), slot.name, _ALONE_MM if slot.alone else _NAME_MM)
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
    places = [_caption(content, plan, placing) for plan, placing in zip(plans, placings, strict=True)]
    digest = digest_of(content.hashed())
    word = word_of(digest)
    content.begin_fingerprint()
    for place in filter(None, places):
        content.text(place.x, place.y, word, place.height)
    if not any(places):
        content.text(to_units(11.0), -to_units(6.0), word, _SMALL_MM)
    content.end_fingerprint()
    if names.member:
        draw_member(content, slot.sheet, names)
    sheet = Sheet(A1, content, digest, word)
    return [
        Dealt(plan.pattern, plan.layout, (), (sheet,), _without_told(plan, placing))
        for plan, placing in zip(plans, placings, strict=True)
    ]


def _without_told(plan: Plan, placing: Placing) -> Placing:
    """A placing whose lines that the caption and the band tell are not lost."""
    slot = plan.layout.lattice.form
    if isinstance(slot, SlotForm) and slot.caption < USUAL.caption:
        return placing
    elsewhere = told(plan.pattern, placing.left_off)
    return replace(placing, left_off=tuple(line for line in placing.left_off if line not in elsewhere))


def _caption(content: Content, plan: Plan, placing: Placing) -> WordPlace | None:
    """The words beneath a pattern."""
    lattice = plan.layout.lattice
    x0, y0, x1, _ = lattice.core(A1)
    left, low = _corner(lattice)
    caption = lattice.form.caption if isinstance(lattice.form, SlotForm) else 0
    box = (x0 - left, y0 - low, x1 - left, y0 - low + caption)
    return draw_caption(content, plan.pattern, lattice.name_of(A1), box, placing.left_off)


def _corner(lattice: Lattice) -> tuple[int, int]:
    """Where the sheet's window has its lower left corner in the drawing of one slot's pattern."""
    slot = lattice.form
    at = slot.at if isinstance(slot, SlotForm) else (0, 0)
    x0, y0, _, _ = lattice.core(A1)
    return x0 - at[0], y0 - at[1]
