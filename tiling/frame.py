"""What is the same on every sheet of a pattern: base lines, trim lines, check bars, the words in the band; and the mark.

Each is written once in the file and shown on every sheet.
"""

from __future__ import annotations

import math
from functools import cache

from msgspec import Struct

from patterns.affine import Affine
from tiling.content import NARROW, Content, text_width
from tiling.form import BAND_MM, SheetForm
from tiling.printer import Printer, corrected_for, in_words
from tiling.seams import BASE, MARK_RADIUS
from tiling.units import UNITS_PER_MM, to_units

NAME_ROOM = to_units(24.0)
"""In the band, for the sheet's own name."""
PROOF_RADIUS = to_units(1.57)
SMALL_MM = 2.3
"""Height of the words in the band."""

ACTUAL_SIZE = "Print at actual size (100 %)"

_MM = to_units(1.0)
_LONG_ROOM = 150 * _MM
"""A long check bar is drawn where there is more room than this."""
_BASE_DASH, _BASE_PITCH = to_units(1.5), to_units(6.0)
_TRIM_DASH, _TRIM_PITCH = to_units(4.0), to_units(6.5)


class SheetNames(Struct, frozen=True):
    """What stands on every sheet of a pattern: the piece's title and the pattern's name."""

    piece: str
    pattern: str


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
    """Base lines through the whole window; trim lines along the left and the lower seam.

    They are not corrected: like marks they belong to the lattice, which is the same on all sheets (see ``SheetForm.step``).
    """
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
    level, start = -to_units(BAND_MM / 2), 6 * _MM
    said = _correction_in_band(form, start)
    end = _check_bar(content, NAME_ROOM, level, form.correction, long=said.long_level, upright=False)
    _fitted(content, end, -3.4 * _MM, f"{names.pattern}  ·  outside face up", width - end)
    _fitted(content, end, -7.0 * _MM, said.level, width - end)
    end = _check_bar(content, start, level, form.correction, long=said.long_upright, upright=True)
    words = f"{names.piece}  ·  {names.pattern}  ·  outside face up"
    _fitted(content, end, -3.2 * _MM, words, height - end, upright=True)
    if said.upright:
        _fitted(content, end, -6.9 * _MM, said.upright, height - end, upright=True)


class _Said(Struct, frozen=True):
    """What the band says of scale and correction, along the sheet and up it, and where a long bar leaves room for it."""

    level: str
    upright: str
    long_level: bool
    long_upright: bool


def _correction_in_band(form: SheetForm, start: int) -> _Said:
    """The correction stands beside the upright bar, which is a short one if need be; on paper too small for that it
    takes the place of the words beside the level bar."""
    width, height = form.window
    words = corrected_for(form.printer)
    long_level, long_upright = width - NAME_ROOM > _LONG_ROOM, height - start > _LONG_ROOM
    needed = text_width(words, SMALL_MM)
    if not words or (long_upright and needed <= height - _after_bar(start, long=True)):
        return _Said(ACTUAL_SIZE, words, long_level, long_upright)
    room, other = height - _after_bar(start, long=False), width - _after_bar(NAME_ROOM, long=False)
    if needed <= room or other <= room:
        return _Said(ACTUAL_SIZE, _shortened(form.printer, room), long_level, False)
    both = f"{ACTUAL_SIZE}  ·  {words}"
    fitting = both if text_width(both, SMALL_MM) <= other else _shortened(form.printer, other)
    return _Said(fitting, "", False, long_upright)


def _shortened(printer: Printer, room: float) -> str:
    """What is said of the correction with the name cut short, so that the figures have room."""
    if text_width(corrected_for(printer), SMALL_MM) <= room:
        return corrected_for(printer)
    name = printer.name
    while text_width(_named(name, printer), SMALL_MM) > room and len(name) > 4:
        name = name.removesuffix("...")[:-1].rstrip() + "..."
    return _named(name, printer)


def _named(name: str, printer: Printer) -> str:
    return f'"{name}": {in_words(printer)}' if name else in_words(printer)


def _check_bar(content: Content, start: int, level: int, correction: Affine, *, long: bool, upright: bool) -> int:
    """A bar of 100 mm and 4 in, or of 50 mm and 2 in; returns where what follows may begin.

    It is drawn through the printer's correction, so that it measures right on paper.
    """
    tens, inches = (10, 4) if long else (5, 2)
    tick = -2 * _MM if upright else 2 * _MM

    def at(length: float, beside: int = 0) -> tuple[int, int]:
        x, y = correction.point(0.0, length) if upright else correction.point(length, 0.0)
        corner = (level + beside, start) if upright else (start, level + beside)
        return corner[0] + to_units(x), corner[1] + to_units(y)

    lines = [(*at(0.0), *at(inches * 25.4))]
    lines += [(*at(10.0 * k), *at(10.0 * k, tick)) for k in range(tens + 1)]
    lines += [(*at(25.4 * k), *at(25.4 * k, -tick)) for k in range(inches + 1)]
    content.lines(lines)
    after = at(inches * 25.4)[1 if upright else 0] + 2 * _MM
    for text, off in ((f"{tens * 10} mm", 0.6 * _MM), (f"{inches} in", -2.9 * _MM)):
        x, y = (level - off, after) if upright else (after, level + off)
        content.text(x, y, text, SMALL_MM, angle=math.pi / 2 if upright else 0.0)
    return round(after + text_width("100 mm", SMALL_MM)) + 5 * _MM


def _after_bar(start: int, *, long: bool) -> int:
    """Where what follows a bar may begin, within a hair: the correction of the bar's own length is left out."""
    length = to_units((4 if long else 2) * 25.4)
    return start + length + round(text_width("100 mm", SMALL_MM)) + 8 * _MM


def _fitted(content: Content, x: float, y: float, text: str, room: float, *, upright: bool = False) -> None:
    """The text, cut short to the room there is."""
    while len(text) > 3 and text_width(text, SMALL_MM) > room:
        text = text[:-4].rstrip() + "..."
    place = (y + SMALL_MM * UNITS_PER_MM, x) if upright else (x, y)
    content.text(*place, text, SMALL_MM, angle=math.pi / 2 if upright else 0.0)
