"""What is the same on every sheet of a pattern: base lines, trim lines, check bars, the words in the band; and the mark.

Each is written once in the file and shown on every sheet.
"""

from __future__ import annotations

import math
from functools import cache

from msgspec import Struct

from tiling.content import NARROW, Content, text_width
from tiling.form import BAND_MM, SheetForm
from tiling.seams import BASE, MARK_RADIUS
from tiling.units import UNITS_PER_MM, to_units

NAME_ROOM = to_units(24.0)
"""In the band, for the sheet's own name."""
PROOF_RADIUS = to_units(1.57)
SMALL_MM = 2.3
"""Height of the words in the band."""

_MM = to_units(1.0)
_BASE_DASH, _BASE_PITCH = to_units(1.5), to_units(6.0)
_TRIM_DASH, _TRIM_PITCH = to_units(4.0), to_units(6.5)


class SheetNames(Struct, frozen=True):
    """What stands on every sheet of a pattern: the piece's title, the pattern's name, the printer's correction."""

    piece: str
    pattern: str
    correction: str = ""


@cache
def frame_of(form: SheetForm, names: SheetNames) -> Content:
    """The frame of every sheet of a pattern; the origin is the window's lower left corner."""
    content = Content(shown_often=True)
    content.width(NARROW)
    content.lines(_dashed_lines(form))
    x = y = form.overlap // 2 + BASE
    arm = to_units(4.0)
    content.lines([(x - arm, y, x + arm, y), (x, y - arm, x, y + arm)])
    content.circle(x, y, PROOF_RADIUS)
    _draw_band(content, form, names)
    return content


@cache
def band_of(form: SheetForm, names: SheetNames) -> Content:
    """The frame of a shared sheet: check bars and words, but no lines to trim or to tape by."""
    content = Content(shown_often=True)
    content.width(NARROW)
    _draw_band(content, form, names)
    return content


@cache
def registration_mark(arm: int) -> Content:
    """A circle and a cross, the origin in its middle."""
    content = Content(shown_often=True)
    content.width(NARROW)
    content.circle(0, 0, min(MARK_RADIUS, arm - to_units(0.63)))
    content.lines([(-arm, 0, arm, 0), (0, -arm, 0, arm)])
    return content


def _dashed_lines(form: SheetForm) -> list[tuple[int, int, int, int]]:
    """Base lines through the whole window; trim lines along the left and the lower seam."""
    width, height = form.window
    lines: list[tuple[int, int, int, int]] = []
    half = form.overlap // 2
    for at, dash, pitch in ((half + BASE, _BASE_DASH, _BASE_PITCH), (half, _TRIM_DASH, _TRIM_PITCH)):
        lines += [(at, k, at, min(k + dash, height)) for k in range(at % pitch, height, pitch)]
        lines += [(k, at, min(k + dash, width), at) for k in range(at % pitch, width, pitch)]
    return lines


def _draw_band(content: Content, form: SheetForm, names: SheetNames) -> None:
    """Check bars both ways and what the sheet is, in the band that the scissors take off."""
    width, height = form.window
    level = -to_units(BAND_MM / 2)
    end = _check_bar(content, NAME_ROOM, level, width - NAME_ROOM, upright=False)
    _fitted(content, end, -3.4 * _MM, f"{names.pattern}  ·  outside face up", width - end)
    _fitted(content, end, -7.0 * _MM, "Print at actual size (100 %)" + names.correction, width - end)
    start = 6 * _MM
    end = _check_bar(content, start, level, height - start, upright=True)
    words = f"{names.piece}  ·  {names.pattern}  ·  outside face up"
    _fitted(content, end, -3.2 * _MM, words, height - end, upright=True)


def _check_bar(content: Content, start: int, level: int, room: int, *, upright: bool) -> int:
    """A bar of 100 mm and 4 in (50 mm and 2 in where there is no room); returns where what follows may begin."""
    tens, inches = (10, 4) if room > 150 * _MM else (5, 2)
    tick = -2 * _MM if upright else 2 * _MM
    lines = [(start, level, start + to_units(inches * 25.4), level)]
    lines += [(at, level, at, level + tick) for at in (start + to_units(10.0 * k) for k in range(tens + 1))]
    lines += [(at, level, at, level - tick) for at in (start + to_units(25.4 * k) for k in range(inches + 1))]
    content.lines([(b, a, d, c) for a, b, c, d in lines] if upright else lines)
    after = start + to_units(inches * 25.4) + 2 * _MM
    for text, off in ((f"{tens * 10} mm", 0.6 * _MM), (f"{inches} in", -2.9 * _MM)):
        x, y = (level - off, after) if upright else (after, level + off)
        content.text(x, y, text, SMALL_MM, angle=math.pi / 2 if upright else 0.0)
    return round(after + text_width("100 mm", SMALL_MM)) + 5 * _MM


def _fitted(content: Content, x: float, y: float, text: str, room: float, *, upright: bool = False) -> None:
    """The text, cut short to the room there is."""
    while len(text) > 3 and text_width(text, SMALL_MM) > room:
        text = text[:-4].rstrip() + "..."
    place = (y + SMALL_MM * UNITS_PER_MM, x) if upright else (x, y)
    content.text(*place, text, SMALL_MM, angle=math.pi / 2 if upright else 0.0)
