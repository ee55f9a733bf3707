"""One sheet: its window's piece of the drawing, and the marks, bars and words round it.

A sheet's content follows from its own window, form and cell alone. Nothing of the rest of the job is on it: no count of
sheets, no date, no revision, not even whether a neighbour exists; all of that is the cover's.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from tiling.content import NARROW, WIDE, Content, text_width
from tiling.fingerprint import digest_of, word_of
from tiling.form import sheet_form
from tiling.frame import SMALL_MM, SheetNames, draw_member, for_whom, frame_of, registration_mark
from tiling.labels import Placed
from tiling.lattice import Lattice, cell_name
from tiling.room import AIR, Room
from tiling.seams import BASE, TICK, SeamMarks, Seams, mark_arm
from tiling.segments import ROLES, Segments
from tiling.units import UNITS_PER_MM, Cell, Reals, to_units

DRAWING_VERSION = 2
"""Raised when the look of a sheet changes, so that sheets of different looks are never taped together unawares."""

_MM = to_units(1.0)
_WHOLE = WIDE // 2 + 4
"""A line that runs along a window's edge is shown in its whole width."""
_BASE_NAME = "base line"
_WORD_MM = 3.0
_WORD_HEIGHTS_MM = (_WORD_MM, 2.3)
_LONGEST_NAME = to_units(62.0)


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
    content.raw(f"% {DRAWING_VERSION}\n")
    content.clip(-_WHOLE, -_WHOLE, x1 - x0 + _WHOLE, y1 - y0 + _WHOLE)
    draw_segments(content, segments, (x0, y0))
    content.unclip()
    content.show(frame_of(sheet_form(lattice.form), names))
    content.text(0, -6.3 * _MM, cell_name(cell), 5.0)
    _draw_seams(content, lattice, cell, seams)
    for label in labels:
        draw_label(content, label, (x0, y0))
    _draw_base_name(content, lattice, cell, room)
    said = f"{_short(names.pattern)} {cell_name(cell)}"
    word_place = _place_word(lattice, cell, room, said)
    digest = digest_of(content.hashed())
    word = word_of(digest)
    _draw_word(content, lattice, cell, f"{said}  {word}", word_place)
    if names.member:
        draw_member(content, sheet_form(lattice.form), names)
        _take_word(lattice, cell, room, said, word_place)
        _draw_member_inside(content, lattice, cell, room, for_whom(names.member), word_place)
    return Sheet(cell, content, digest, word)


# ---------------------------------------------------------------- the drawing


def draw_segments(content: Content, segments: Segments, corner: tuple[int, int]) -> None:
    """The lines, role by role; ``corner`` is the place in the drawing that the content's origin shows."""
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


def draw_label(content: Content, label: Placed, corner: tuple[int, int]) -> None:
    """The text with the middle of its capitals at the label's centre."""
    drop = label.height * UNITS_PER_MM / 2
    x = label.centre[0] - corner[0] + drop * math.sin(label.angle)
    y = label.centre[1] - corner[1] - drop * math.cos(label.angle)
    content.text(x, y, label.text, label.height, angle=label.angle, anchor="middle")


# ---------------------------------------------------------------- seams and base lines


def _draw_base_name(content: Content, lattice: Lattice, cell: Cell, room: Room) -> None:
    """``base line`` just above the level one, where there is room."""
    x0, y0, x1, _ = lattice.core(cell)
    width, height = text_width(_BASE_NAME, SMALL_MM), SMALL_MM * UNITS_PER_MM
    xs = np.arange(x0 + BASE + 5 * _MM + width / 2, x1 - width, 12 * _MM)
    level = y0 + BASE + 1.4 * _MM + height / 2
    place = room.first_free(cell, np.stack([xs, np.full(len(xs), level)], axis=1), width, height)
    if place is not None:
        half, x = lattice.form.overlap // 2, float(xs[place])
        room.take(cell, (x - width / 2, level - height / 2, x + width / 2, level + height / 2))
        content.text(x - x0 + half, level - y0 + half - height / 2, _BASE_NAME, SMALL_MM, anchor="middle")


def _draw_seams(content: Content, lattice: Lattice, cell: Cell, seams: Seams) -> None:
    half = lattice.form.overlap // 2
    across, up = lattice.form.step
    content.width(NARROW)
    mark = registration_mark(mark_arm(lattice))
    neighbours = {"left": (-1, 0), "right": (1, 0), "bottom": (0, -1), "top": (0, 1)}
    for side, (_, marks) in seams.of_sheet(cell).items():
        upright = side in ("left", "right")
        at = half + {"left": 0, "right": across, "bottom": 0, "top": up}[side]
        _draw_marks(content, marks, at, half, upright, mark)
        dx, dy = neighbours[side]
        other = cell_name((cell[0] + dx, cell[1] + dy))
        if marks.named[side in ("right", "top")]:
            _draw_neighbour(content, other, side, at, half + marks.name, half)


def _draw_marks(content: Content, marks: SeamMarks, at: int, half: int, upright: bool, mark: Content) -> None:
    for along in marks.marks:
        content.show(mark, *((at, half + along) if upright else (half + along, at)))
    ticks = [half + along for along in marks.ticks]
    content.lines((at, k - TICK, at, k + TICK) if upright else (k - TICK, at, k + TICK, at) for k in ticks)


def _draw_neighbour(content: Content, other: str, side: str, at: int, along: int, half: int) -> None:
    """``A2 joins here``, or on the sides that are trimmed ``trim to join A1``: in the outer half of the overlap."""
    height = min(2.5, half / UNITS_PER_MM - 2.0)
    letters = height * UNITS_PER_MM
    inset = (half - letters) / 2
    text = f"trim to join {other}" if side in ("left", "bottom") else f"{other} joins here"
    if side == "right":
        content.text(at + half - inset, along, text, height, angle=math.pi / 2, anchor="middle")
    elif side == "left":
        content.text(at - inset, along, text, height, angle=math.pi / 2, anchor="middle")
    else:
        content.text(along, at + inset if side == "top" else at - half + inset, text, height, anchor="middle")


# ---------------------------------------------------------------- the fingerprint


def _short(name: str) -> str:
    """A pattern's name, cut short in its middle to what fits beside a sheet's name: its end may say which half it is."""
    short, left = name, len(name)
    while left > 6 and text_width(short, _WORD_MM) > _LONGEST_NAME:
        left -= 1
        short = f"{name[: left - left // 2].rstrip()}...{name[len(name) - left // 2 :].lstrip()}"
    return short


def _place_word(lattice: Lattice, cell: Cell, room: Room, said: str) -> tuple[float, float, float]:
    """Where in the core the sheet's name and word stand (units, middle of the box), and how high (mm).

    The first free of a fixed list of places, then of a grid, then the same in smaller letters; the least crowded of the
    list where there is none.
    """
    for height_mm in _WORD_HEIGHTS_MM:
        width, height = text_width(f"{said}  mmmmm", height_mm), 1.4 * height_mm * UNITS_PER_MM
        centres = _word_places(lattice, cell, width, height)
        place = room.first_free(cell, centres, width, height)
        if place is None:
            centres = _word_grid(lattice, cell)
            centres = centres[room.is_free(cell, centres, width, height)]
        if len(centres):
            x, y = centres[place or 0].tolist()
            return x, y, height_mm
    width, height = text_width(f"{said}  mmmmm", _WORD_MM), 1.4 * _WORD_MM * UNITS_PER_MM
    centres = _word_places(lattice, cell, width, height)
    x, y = centres[room.least_crowded(cell, centres, width, height)].tolist()
    return x, y, _WORD_MM


def _word_places(lattice: Lattice, cell: Cell, width: float, height: float) -> Reals:
    """Corners, middles and quarters of the core, the lower right first."""
    x0, y0, x1, y1 = lattice.core(cell)
    inset = 6 * _MM
    left, right = x0 + BASE + inset + width / 2, x1 - inset - width / 2
    low, high = y0 + BASE + inset, y1 - inset - height / 2
    xs = (right, left, (left + right) / 2, right - 0.25 * (right - left), left + 0.25 * (right - left))
    ys = (low, high, (low + high) / 2, low + 0.25 * (high - low), high - 0.25 * (high - low))
    return np.array([(x, y) for y in ys for x in xs])


def _word_grid(lattice: Lattice, cell: Cell) -> Reals:
    """Places all over the core, row by row from below."""
    x0, y0, x1, y1 = lattice.core(cell)
    xs, ys = np.arange(x0, x1, 6 * _MM), np.arange(y0, y1, 4 * _MM)
    grid: Reals = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2).astype(np.float64)
    return grid


def _draw_word(content: Content, lattice: Lattice, cell: Cell, text: str, place: tuple[float, float, float]) -> None:
    """Which sheet of which part this is, and its word, where trimming leaves it."""
    x0, y0, _, _ = lattice.window(cell)
    x, y, height = place
    content.begin_fingerprint()
    content.text(x - x0, y - y0 - height / 2 * UNITS_PER_MM, text, height, anchor="middle")
    content.end_fingerprint()


def _take_word(lattice: Lattice, cell: Cell, room: Room, said: str, place: tuple[float, float, float]) -> None:
    x, y, height_mm = place
    width, height = text_width(f"{said}  mmmmm", height_mm), 1.4 * height_mm * UNITS_PER_MM
    room.take(cell, (x - width / 2, y - height / 2, x + width / 2, y + height / 2))


def _draw_member_inside(
    content: Content, lattice: Lattice, cell: Cell, room: Room, text: str, word: tuple[float, float, float]
) -> None:
    """Whom the sheet is for, where trimming leaves it: above or below the sheet's word, or else where there is room.

    The digest does not tell of it, so nothing gives way to it.
    """
    x0, y0, _, _ = lattice.window(cell)
    x, y, word_mm = word
    height_mm = _WORD_HEIGHTS_MM[-1]
    width, height = text_width(text, height_mm), 1.4 * height_mm * UNITS_PER_MM
    apart = 0.7 * (word_mm + height_mm) * UNITS_PER_MM + 2 * AIR
    centres = np.concatenate([[(x, y + apart), (x, y - apart)], _word_grid(lattice, cell)])
    free = centres[room.is_free(cell, centres, width, height)]
    if not len(free):
        return
    content.begin_fingerprint()
    drop = height_mm / 2 * UNITS_PER_MM
    content.text(free[0, 0] - x0, free[0, 1] - y0 - drop, text, height_mm, anchor="middle")
    content.end_fingerprint()
