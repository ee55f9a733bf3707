"""The words beneath a pattern in its slot: its name, its sheet's and the sheet's word; and what its title could not hold."""

from __future__ import annotations

from msgspec import Struct

from patterns.pattern import Pattern
from tiling.content import Content, text_width
from tiling.units import UNITS_PER_MM, to_units

HEIGHTS_MM = (3.0, 2.6, 2.3, 2.0)
"""That a line is tried in: the largest that is no wider than the slot."""
WIDEST = to_units(80.0)
"""A slot is not made wider than this for the sake of its words."""
_SIDE = to_units(1.0)
_WORD = "mmmmm"
"""As wide as any fingerprint word."""
_SHEET = "shared 1"


class WordPlace(Struct, frozen=True):
    """Where a sheet's word follows on a caption (units), and its height (mm)."""

    x: float
    y: float
    height: float


def caption_width(name: str) -> int:
    """How wide a slot should be for a caption to say all of a pattern's name."""
    return min(WIDEST, round(_width(name, _SHEET, HEIGHTS_MM[2])) + 2 * _SIDE)


def draw_caption(
    content: Content, pattern: Pattern, sheet: str, box: tuple[int, int, int, int], left_off: tuple[str, ...]
) -> WordPlace | None:
    """Draws the words in a box of the content (units); ``left_off`` are lines of the title that found no room.

    Returns where the sheet's word goes; None where the box has no height.
    """
    x0, y0, x1, y1 = box
    room, name = x1 - x0 - 2 * _SIDE, pattern.name
    if y1 <= y0:
        return None
    more = " · ".join(line for line in pattern.title_block[2:-1] if line in left_off)
    height = next((h for h in HEIGHTS_MM if _width(name, sheet, h) <= room), HEIGHTS_MM[-1])
    while len(name) > 3 and _width(name, sheet, height) > room:
        name = name[:-4].rstrip() + "..."
    lines = 2 if more and y1 - y0 >= to_units(9.0) else 1
    start = (x0 + x1 - _width(name, sheet, height)) / 2
    base = y1 - (y1 - y0) * 0.5 / lines - height / 2 * UNITS_PER_MM
    end = start + content.text(start, base, f"{name}  {sheet}  ", height)
    if lines == 2:
        small = HEIGHTS_MM[2]
        while len(more) > 3 and text_width(more, small) > room:
            more = more[:-4].rstrip() + "..."
        content.text((x0 + x1) / 2, y0 + (y1 - y0) * 0.25 - small / 2 * UNITS_PER_MM, more, small, anchor="middle")
    return WordPlace(end, base, height)


def told(pattern: Pattern, left_off: tuple[str, ...]) -> tuple[str, ...]:
    """The lines of the title that stand elsewhere on a slot's sheet: in the caption, or in the band."""
    return tuple(line for line in left_off if line in pattern.title_block)


def _width(name: str, sheet: str, height: float) -> float:
    return text_width(f"{name}  {sheet}  {_WORD}", height)
