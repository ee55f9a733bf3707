"""One sheet: its window's piece of the drawing, and the marks, bars and words round it.

A sheet's content follows from its own window, form and cell alone. Nothing of the rest of the job is on it: no count of
sheets, no date, no revision, not even whether a neighbour exists; all of that is the cover's.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache

import numpy as np
from msgspec import Struct

from tiling.content import NARROW, WIDE, Content, text_width
from tiling.fingerprint import digest_of, word_of
from tiling.labels import Placed
from tiling.lattice import Lattice, cell_name
from tiling.room import PROOF_RADIUS, Room
from tiling.seams import BASE, MARK_RADIUS, TICK, SeamMarks, Seams, mark_arm
from tiling.segments import ROLES, Segments
from tiling.units import UNITS_PER_MM, Cell, to_units

DRAWING_VERSION = 1
"""Raised when the look of a sheet changes, so that sheets of different looks are never taped together unawares."""

_MM = to_units(1.0)
_BAND = to_units(8.0)
_SMALL = 2.3
_BASE_DASH, _BASE_PITCH = to_units(1.5), to_units(6.0)
_TRIM_DASH, _TRIM_GAP = to_units(4.0), to_units(2.5)
_BASE_NAME = "base line"
_WORD_ROOM = (to_units(30.0), to_units(4.5))


class SheetNames(Struct, frozen=True):
    """What stands on every sheet of a pattern: the piece's title, the pattern's name, the printer correction in words."""

    piece: str
    pattern: str
    correction: str = ""


class Sheet(Struct, frozen=True):
    """A finished sheet: its content, digest, and the word printed on it."""

    cell: Cell
    content: Content
    digest: str
    word: str


def draw_sheet(
    lattice: Lattice,
    cell: Cell,
    segments: Segments,
    seams: Seams,
    labels: Sequence[Placed],
    room: Room,
    names: SheetNames,
) -> Sheet:
    """Draws the sheet of ``cell``; ``segments`` are those in its window."""
    x0, y0, x1, y1 = lattice.window(cell)
    content = Content(lattice.form.corner)
    content.clip(0, 0, x1 - x0, y1 - y0)
    _draw_segments(content, segments, (x0, y0))
    _draw_frame(content, lattice)
    _draw_seams(content, lattice, cell, seams)
    content.unclip()
    for label in labels:
        _draw_label(content, label, (x0, y0))
    _draw_base_name(content, lattice, cell, room)
    word_place = _place_word(lattice, cell, room)
    _draw_band(content, lattice, cell, names)
    digest = digest_of(content.hashed() + f"\n{DRAWING_VERSION}".encode())
    word = word_of(digest)
    _draw_word(content, lattice, cell, word, word_place)
    return Sheet(cell, content, digest, word)


# ---------------------------------------------------------------- the drawing


def _draw_segments(content: Content, segments: Segments, corner: tuple[int, int]) -> None:
    for index, role in enumerate(ROLES):
        chosen = segments.taken(segments.role == index)
        if not len(chosen):
            continue
        content.width(WIDE if role.value == "cut" else NARROW)
        rows = (chosen.points - corner).reshape(-1, 8).tolist()
        path = []
        for row, straight in zip(rows, chosen.straight.tolist(), strict=True):
            if straight:
                path.append(f"{row[0]} {row[1]} m {row[6]} {row[7]} l\n")
            else:
                path.append("{} {} m {} {} {} {} {} {} c\n".format(*row))
        content.raw("".join(path) + "S\n")


def _draw_label(content: Content, label: Placed, corner: tuple[int, int]) -> None:
    """The text with the middle of its capitals at the label's centre."""
    drop = label.height * UNITS_PER_MM / 2
    x = label.centre[0] - corner[0] + drop * math.sin(label.angle)
    y = label.centre[1] - corner[1] - drop * math.cos(label.angle)
    content.text(x, y, label.text, label.height, angle=label.angle, anchor="middle")


# ---------------------------------------------------------------- seams and base lines


def _draw_frame(content: Content, lattice: Lattice) -> None:
    """Base lines through the whole window, the proof point, and the trim lines at the left and the bottom."""
    half = lattice.form.overlap // 2
    width, height = lattice.form.window
    x, y = half + BASE, half + BASE
    content.width(NARROW)
    rows = [(x, k, x, min(k + _BASE_DASH, height)) for k in range(y % _BASE_PITCH, height, _BASE_PITCH)]
    rows += [(k, y, min(k + _BASE_DASH, width), y) for k in range(x % _BASE_PITCH, width, _BASE_PITCH)]
    arm = 2 * PROOF_RADIUS
    content.lines([*rows, (x - arm, y, x + arm, y), (x, y - arm, x, y + arm)])
    content.circle(x, y, PROOF_RADIUS)
    pitch = _TRIM_DASH + _TRIM_GAP
    dashes = [(half, k, half, min(k + _TRIM_DASH, height)) for k in range(0, height, pitch)]
    content.lines(dashes + [(k, half, min(k + _TRIM_DASH, width), half) for k in range(0, width, pitch)])


def _draw_base_name(content: Content, lattice: Lattice, cell: Cell, room: Room) -> None:
    """``base line`` just above the level one, where there is room."""
    x0, y0, x1, _ = lattice.core(cell)
    width, height = text_width(_BASE_NAME, _SMALL), _SMALL * UNITS_PER_MM
    xs = np.arange(x0 + BASE + 5 * _MM + width / 2, x1 - width, 12 * _MM)
    level = y0 + BASE + 1.4 * _MM + height / 2
    place, crowd = room.first_free(cell, np.stack([xs, np.full(len(xs), level)], axis=1), width, height)
    if crowd == 0.0:
        half = lattice.form.overlap // 2
        content.text(xs[place] - x0 + half, level - y0 + half - height / 2, _BASE_NAME, _SMALL, anchor="middle")


def _draw_seams(content: Content, lattice: Lattice, cell: Cell, seams: Seams) -> None:
    half = lattice.form.overlap // 2
    across, up = lattice.form.step
    content.width(NARROW)
    neighbours = {"left": (-1, 0), "right": (1, 0), "bottom": (0, -1), "top": (0, 1)}
    for side, (_, marks) in seams.of_sheet(cell).items():
        upright = side in ("left", "right")
        at = half + {"left": 0, "right": across, "bottom": 0, "top": up}[side]
        _draw_marks(content, marks, at, half, upright, mark_arm(lattice))
        dx, dy = neighbours[side]
        other = cell_name((cell[0] + dx, cell[1] + dy))
        _draw_neighbour(content, other, side, at, half + marks.name, half)


def _draw_marks(content: Content, marks: SeamMarks, at: int, half: int, upright: bool, arm: int) -> None:
    for along in marks.marks:
        x, y = (at, half + along) if upright else (half + along, at)
        content.circle(x, y, min(MARK_RADIUS, arm - to_units(0.5)))
        content.lines([(x - arm, y, x + arm, y), (x, y - arm, x, y + arm)])
    for along in marks.ticks:
        place = half + along
        tick = (at, place - TICK, at, place + TICK) if upright else (place - TICK, at, place + TICK, at)
        content.lines([tick])


def _draw_neighbour(content: Content, other: str, side: str, at: int, along: int, half: int) -> None:
    """``joins A2`` in the outer half of the overlap, reading along the seam."""
    height = min(2.5, half / UNITS_PER_MM - 2.0)
    letters = height * UNITS_PER_MM
    inset = (half - letters) / 2
    text = f"joins {other}"
    if side == "right":
        content.text(at + half - inset, along, text, height, angle=math.pi / 2, anchor="middle")
    elif side == "left":
        content.text(at - inset, along, text, height, angle=math.pi / 2, anchor="middle")
    else:
        content.text(along, at + inset if side == "top" else at - half + inset, text, height, anchor="middle")


# ---------------------------------------------------------------- the band


def _draw_band(content: Content, lattice: Lattice, cell: Cell, names: SheetNames) -> None:
    """The sheet's name, check bars both ways and what it is, in the band that the scissors take off."""
    width, height = lattice.form.window
    name_width = content.text(0, -6.3 * _MM, cell_name(cell), 5.0)
    start = round(name_width) + 6 * _MM
    end = _check_bar(content, start, -round(_BAND / 2), width - start, upright=False)
    _fitted(content, end, -3.4 * _MM, f"{names.pattern}  ·  outside face up", width - end)
    _fitted(content, end, -7.0 * _MM, "Print at actual size (100 %)" + names.correction, width - end)
    end = _check_bar(content, 6 * _MM, -round(_BAND / 2), height - 6 * _MM, upright=True)
    words = f"{names.piece}  ·  {names.pattern}  ·  sheet {cell_name(cell)}  ·  outside face up"
    _fitted(content, end, -3.2 * _MM, words, height - end, upright=True)


def _check_bar(content: Content, start: int, level: int, room: int, *, upright: bool) -> int:
    """A bar of 100 mm and 4 in (50 mm and 2 in where there is no room); returns where what follows may begin."""
    tens, inches = (10, 4) if room > 150 * _MM else (5, 2)
    content.width(NARROW)
    content.lines(_bar_lines(start, level, tens, inches, upright))
    after = start + to_units(inches * 25.4) + 2 * _MM
    for text, off in ((f"{tens * 10} mm", 0.6 * _MM), (f"{inches} in", -2.9 * _MM)):
        x, y = (level - off, after) if upright else (after, level + off)
        content.text(x, y, text, _SMALL, angle=math.pi / 2 if upright else 0.0)
    return round(after + text_width("100 mm", _SMALL)) + 5 * _MM


@cache
def _bar_lines(start: int, level: int, tens: int, inches: int, upright: bool) -> tuple[tuple[int, ...], ...]:
    """The bar with a tick every 10 mm on one side and every inch on the other."""
    tick = -2 * _MM if upright else 2 * _MM
    lines = [(start, level, start + to_units(inches * 25.4), level)]
    lines += [(at, level, at, level + tick) for at in (start + to_units(10.0 * k) for k in range(tens + 1))]
    lines += [(at, level, at, level - tick) for at in (start + to_units(25.4 * k) for k in range(inches + 1))]
    return tuple((b, a, d, c) if upright else (a, b, c, d) for a, b, c, d in lines)


def _fitted(content: Content, x: float, y: float, text: str, room: float, *, upright: bool = False) -> None:
    """The text, cut short to the room there is."""
    while len(text) > 3 and text_width(text, _SMALL) > room:
        text = text[:-4].rstrip() + "..."
    place = (y + _SMALL * UNITS_PER_MM, x) if upright else (x, y)
    content.text(*place, text, _SMALL, angle=math.pi / 2 if upright else 0.0)


# ---------------------------------------------------------------- the fingerprint


def _place_word(lattice: Lattice, cell: Cell, room: Room) -> tuple[float, float]:
    """The first free of a fixed list of places in the core for the sheet's name and word (units, middle of the box)."""
    x0, y0, x1, y1 = lattice.core(cell)
    width, height = _WORD_ROOM
    inset = 6 * _MM
    left, right = x0 + BASE + inset + width / 2, x1 - inset - width / 2
    low, high = y0 + BASE + inset, y1 - inset - height / 2
    xs = (right, left, (left + right) / 2, right - 0.25 * (right - left), left + 0.25 * (right - left))
    ys = (low, high, (low + high) / 2, low + 0.25 * (high - low), high - 0.25 * (high - low))
    centres = np.array([(x, y) for y in ys for x in xs])
    x, y = centres[room.first_free(cell, centres, width, height)[0]]
    return float(x), float(y)


def _draw_word(content: Content, lattice: Lattice, cell: Cell, word: str, place: tuple[float, float]) -> None:
    x0, y0, _, _ = lattice.window(cell)
    text = f"{cell_name(cell)}  {word}"
    content.begin_fingerprint()
    content.text(place[0] - x0, place[1] - y0 - 1.6 * UNITS_PER_MM, text, 3.2, anchor="middle")
    content.end_fingerprint()
