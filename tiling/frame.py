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
_START = 6 * _MM
"""Of the upright check bar."""
_LONG_ROOM = 150 * _MM
"""A long check bar is drawn where there is more room than this."""
_BASE_DASH, _BASE_PITCH = to_units(1.5), to_units(6.0)
_TRIM_DASH, _TRIM_PITCH = to_units(4.0), to_units(6.5)


class SheetNames(Struct, frozen=True):
    """What stands on every sheet of a pattern: the piece's title, the pattern's name, and whom the sheets are for.

    ``member`` (empty where they are for nobody by name) stands outside the digest: sheets of two members are the same.
    """

    piece: str
    pattern: str
    member: str = ""


def frame_of(form: SheetForm, names: SheetNames) -> Content:
    """The frame of every sheet of a pattern, without the member's name; the origin is the window's lower left corner."""
    return _frame(form, names.piece, names.pattern)


def band_of(form: SheetForm, names: SheetNames) -> Content:
    """The frame of a shared sheet: check bars and words, but no lines to trim or to tape by."""
    return _band(form, names.piece, names.pattern)


@cache
def _frame(form: SheetForm, piece: str, pattern: str) -> Content:
    content = Content(shown_often=True)
    content.width(NARROW)
    content.lines(_dashed_lines(form))
    x = y = form.overlap // 2 + BASE
    arm = to_units(4.0)
    content.lines([(x - arm, y, x + arm, y), (x, y - arm, x, y + arm)])
    content.circle(x, y, PROOF_RADIUS)
    _draw_band(content, form, piece, pattern)
    return content


@cache
def _band(form: SheetForm, piece: str, pattern: str) -> Content:
    content = Content(shown_often=True)
    content.width(NARROW)
    _draw_band(content, form, piece, pattern)
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


def _draw_band(content: Content, form: SheetForm, piece: str, pattern: str) -> None:
    """Check bars both ways and what the sheet is, in the band that the scissors take off."""
    level = -to_units(BAND_MM / 2)
    said = _correction_in_band(form, _START)
    lines = _lines_of_band(form, piece, pattern)
    for upright, start, long in ((False, NAME_ROOM, said.long_level), (True, _START, said.long_upright)):
        _check_bar(content, start, level, form.correction, long=long, upright=upright)
        for line in lines:
            if line.text and line.upright == upright:
                line.draw(content, line.start, short_of(line.text, line.room))


class _Line(Struct, frozen=True):
    """A line of small words in the band, after a check bar: where it starts and what room it has, along the line (units);
    ``across`` is where its base line is."""

    text: str
    start: float
    room: float
    across: float
    upright: bool

    def draw(self, content: Content, along: float, text: str, anchor: str = "start") -> None:
        """A text on this line."""
        if self.upright:
            content.text(self.across + SMALL_MM * UNITS_PER_MM, along, text, SMALL_MM, angle=math.pi / 2, anchor=anchor)
        else:
            content.text(along, self.across, text, SMALL_MM, anchor=anchor)


def _lines_of_band(form: SheetForm, piece: str, pattern: str) -> tuple[_Line, ...]:
    """Two lines below the sheet and two beside it."""
    width, height = form.window
    said = _correction_in_band(form, _START)
    end = _end_of_bar(NAME_ROOM, form.correction, long=said.long_level, upright=False)
    up = _end_of_bar(_START, form.correction, long=said.long_upright, upright=True)
    return (
        _Line(f"{pattern}  ·  outside face up", end, width - end, -3.4 * _MM, False),
        _Line(said.level, end, width - end, -7.0 * _MM, False),
        _Line(f"{piece}  ·  {pattern}  ·  outside face up", up, height - up, -3.2 * _MM, True),
        _Line(said.upright, up, height - up, -6.9 * _MM, True),
    )


def draw_member(content: Content, form: SheetForm, names: SheetNames) -> None:
    """``for NAME`` at the far end of a line of the band: the first that leaves room for all of it, else the one that
    leaves most.

    The sheet's digest does not tell of it, so nothing else may give way to it.
    """
    whom = for_whom(names.member)
    lines = _lines_of_band(form, names.piece, names.pattern)
    rooms = {line: line.room - 5 * _MM - text_width(line.text, SMALL_MM) for line in reversed(lines)}
    roomy = (one for one, room in rooms.items() if room >= text_width(whom, SMALL_MM))
    line = next(roomy, None) or max(rooms, key=rooms.__getitem__)
    content.begin_fingerprint()
    line.draw(content, line.start + line.room, short_of(whom, rooms[line]), anchor="end")
    content.end_fingerprint()


def for_whom(member: str) -> str:
    """Whom a sheet is for, in words."""
    return f"for {member}"


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


def _check_bar(content: Content, start: int, level: int, correction: Affine, *, long: bool, upright: bool) -> None:
    """A bar of 100 mm and 4 in, or of 50 mm and 2 in.

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


def _end_of_bar(start: int, correction: Affine, *, long: bool, upright: bool) -> int:
    """Where what follows a check bar may begin."""
    length = (4 if long else 2) * 25.4
    x, y = correction.point(0.0, length) if upright else correction.point(length, 0.0)
    after = start + to_units(y if upright else x) + 2 * _MM
    return round(after + text_width("100 mm", SMALL_MM)) + 5 * _MM


def _after_bar(start: int, *, long: bool) -> int:
    """Where what follows a bar may begin, within a hair: the correction of the bar's own length is left out."""
    length = to_units((4 if long else 2) * 25.4)
    return start + length + round(text_width("100 mm", SMALL_MM)) + 8 * _MM


def short_of(text: str, room: float) -> str:
    """A text in small letters, cut short to so much room (units)."""
    while len(text) > 3 and text_width(text, SMALL_MM) > room:
        text = text[:-4].rstrip() + "..."
    return text
