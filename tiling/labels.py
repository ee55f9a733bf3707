"""Where the words of a pattern stand on its sheets.

A place once printed is remembered and kept as long as it is free, so that a change elsewhere moves no word.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct

from patterns.affine import Affine
from patterns.lettering import CAP_HEIGHT, DESCENT
from patterns.outline import Outline
from patterns.pattern import Label, Pattern
from tiling.content import text_width
from tiling.room import Room, around, ring_shifts
from tiling.units import UNITS_PER_MM, Cell, Reals, to_units

Slots = Mapping[str, tuple[int, int]]
"""Remembered places: a label's key, and the middle of its box in the drawing (whole units, so that it is kept exactly)."""

LEADING = 1.75
"""From one line of a block to the next, in heights of a capital."""
BLOCK_HEIGHTS = (4.0, 3.5, 3.0, 2.5, 2.0)
"""Heights (mm) that the title block is tried in: the largest that fits inside the outline is used."""
_BLOCK_GRID_MM = 6.0
_SHIFTS = ring_shifts()
_LINE_BOX = (CAP_HEIGHT + DESCENT) / CAP_HEIGHT


class Placed(Struct, frozen=True):
    """A line of text on a sheet: the middle of its capitals' height and width in units, its angle in radians."""

    key: str
    text: str
    centre: tuple[int, int]
    height: float
    angle: float


class Placing(Struct, frozen=True):
    """All words of a pattern by sheet, the places to remember, and what could not be placed well."""

    by_cell: dict[Cell, list[Placed]]
    slots: Slots
    crowded: tuple[str, ...]
    """Texts that found no free place, or none inside the outline."""


def place_labels(
    pattern: Pattern,
    to_drawing: Affine,
    room: Room,
    cells: Sequence[Cell],
    remembered: Slots,
) -> Placing:
    """Places every label near where the drawing wants it, then the title block where there is room inside the outline."""
    by_cell: dict[Cell, list[Placed]] = {}
    slots: dict[str, tuple[int, int]] = {}
    crowded: list[str] = []
    for label in pattern.labels:
        if label.key.startswith("dimension"):
            continue
        found = _place_label(label, to_drawing, room, cells, remembered.get(label.key))
        if found is None:
            continue
        cell, one, free = found
        by_cell.setdefault(cell, []).append(one)
        slots[label.key] = one.centre
        if not free:
            crowded.append(label.text)
    block = _place_block(pattern, to_drawing, room, cells, remembered.get("title"))
    if block is None:
        crowded += pattern.title_block[:2]
    else:
        cell, placed, centre = block
        by_cell.setdefault(cell, []).extend(placed)
        slots["title"] = centre
    return Placing(by_cell, slots, tuple(crowded))


# ---------------------------------------------------------------- single labels


def _place_label(
    label: Label, to_drawing: Affine, room: Room, cells: Sequence[Cell], slot: tuple[int, int] | None
) -> tuple[Cell, Placed, bool] | None:
    """The label on the sheet where its wished-for place lies (the nearest one that is printed, if near at all)."""
    wish = to_drawing.point(*label.at)
    cell = _home(wish, room, cells)
    if cell is None:
        return None
    angle = _readable(label.angle + _turn_of(to_drawing))
    width, height = _box(text_width(label.text, label.height), label.height * UNITS_PER_MM * _LINE_BOX, angle)
    centres = around(_drawn_in(wish, room, cell, width, height), _SHIFTS)
    if slot is not None:
        centres = np.vstack([np.array(slot, dtype=np.float64), centres])
    best, crowd = room.first_free(cell, centres, width, height)
    if not math.isfinite(crowd):
        return None
    x, y = (int(v) for v in centres[best])
    room.take(cell, (x - width / 2, y - height / 2, x + width / 2, y + height / 2))
    return cell, Placed(label.key, label.text, (x, y), label.height, angle), crowd == 0.0


def _home(wish: tuple[float, float], room: Room, cells: Sequence[Cell]) -> Cell | None:
    cell = room.lattice.cell_at(*wish)
    if cell in cells:
        return cell

    def apart(other: Cell) -> float:
        x0, y0, x1, y1 = room.lattice.core(other)
        return math.hypot(max(x0 - wish[0], 0, wish[0] - x1), max(y0 - wish[1], 0, wish[1] - y1))

    nearest = min(cells, key=lambda other: (apart(other), other), default=None)
    return nearest if nearest is not None and apart(nearest) <= to_units(30.0) else None


def _drawn_in(wish: tuple[float, float], room: Room, cell: Cell, width: float, height: float) -> tuple[float, float]:
    """The wished-for place, moved just so far that the box lies whole in the sheet's core."""
    x0, y0, x1, y1 = room.lattice.core(cell)
    air = to_units(1.0)
    x = min(max(wish[0], x0 + width / 2 + air), x1 - width / 2 - air)
    y = min(max(wish[1], y0 + height / 2 + air), y1 - height / 2 - air)
    return x, y


def _turn_of(to_drawing: Affine) -> float:
    return math.pi / 2 if abs(to_drawing.b) > abs(to_drawing.a) else 0.0


def _readable(angle: float) -> float:
    """The same direction turned so that the text reads from below or from the right."""
    angle = math.remainder(angle, 2 * math.pi)
    if angle > math.pi / 2 + 1e-6:
        return angle - math.pi
    if angle <= -math.pi / 2 + 1e-6:
        return angle + math.pi
    return angle


def _box(width: float, height: float, angle: float) -> tuple[float, float]:
    """Width and height of the upright box round a turned one."""
    cos, sin = abs(math.cos(angle)), abs(math.sin(angle))
    return width * cos + height * sin, width * sin + height * cos


# ---------------------------------------------------------------- the block inside the outline


def _place_block(
    pattern: Pattern,
    to_drawing: Affine,
    room: Room,
    cells: Sequence[Cell],
    slot: tuple[int, int] | None,
) -> tuple[Cell, list[Placed], tuple[int, int]] | None:
    """The title block in the largest size that fits inside the outline, as near its middle as there is room."""
    x0, y0, x1, y1 = pattern.outline.bounds
    middle = to_drawing.point((x0 + x1) / 2, (y0 + y1) / 2)
    for height in BLOCK_HEIGHTS:
        for lines, angle in _block_shapes(pattern.title_block):
            width = max(text_width(line, height) for line in lines)
            tall = len(lines) * height * LEADING * UNITS_PER_MM
            size = _box(width, tall, angle)
            wishes = [slot, middle] if slot is not None else [middle]
            found = _block_place(pattern.outline, to_drawing, room, cells, wishes, size)
            if found is not None:
                cell, centre = found
                room.take(cell, _box_at(centre, size))
                return cell, _block_lines(lines, centre, height, angle), centre
    return None


def _block_shapes(lines: tuple[str, ...]) -> list[tuple[tuple[str, ...], float]]:
    """The block as it is, in fewer and longer lines, and both turned upright."""
    joined = tuple(" · ".join(lines[k : k + 2]) for k in range(0, len(lines), 2))
    single = (" · ".join(lines),)
    return [(shape, angle) for shape in (lines, joined, single) for angle in (0.0, math.pi / 2)]


def _box_at(centre: tuple[float, float], size: tuple[float, float]) -> tuple[float, float, float, float]:
    return centre[0] - size[0] / 2, centre[1] - size[1] / 2, centre[0] + size[0] / 2, centre[1] + size[1] / 2


def _block_place(
    outline: Outline,
    to_drawing: Affine,
    room: Room,
    cells: Sequence[Cell],
    wishes: Sequence[tuple[float, float]],
    size: tuple[float, float],
) -> tuple[Cell, tuple[int, int]] | None:
    back = to_drawing.inverse()
    for wish in wishes[:-1]:
        cell = room.lattice.cell_at(*wish)
        spot = np.array([wish])
        if cell in cells and room.free(cell, spot, *size)[0] == 0.0 and outline.contains(back.apply(spot)).all():
            return cell, (int(wish[0]), int(wish[1]))
    middle = wishes[-1]
    for cell in sorted(cells, key=lambda cell: (_distance(room, cell, middle), cell)):
        centres = _grid(room, cell, to_drawing)
        centres = centres[np.argsort(np.hypot(*(centres - np.array(middle)).T), kind="stable")]
        for some in np.array_split(centres, max(1, len(centres) // 60)):
            free = some[room.free(cell, some, *size) == 0.0]
            inside = free[outline.contains(back.apply(free))] if len(free) else free
            if len(inside):
                return cell, (int(inside[0, 0]), int(inside[0, 1]))
    return None


def _distance(room: Room, cell: Cell, point: tuple[float, float]) -> float:
    x0, y0, x1, y1 = room.lattice.core(cell)
    return math.hypot((x0 + x1) / 2 - point[0], (y0 + y1) / 2 - point[1])


def _grid(room: Room, cell: Cell, to_drawing: Affine) -> Reals:
    """Places to try in a core: a grid counted from the part's datum, so that it does not move with the outline."""
    x0, y0, x1, y1 = room.lattice.core(cell)
    pitch = _BLOCK_GRID_MM * UNITS_PER_MM
    xs = np.arange(math.ceil((x0 - to_drawing.e) / pitch), (x1 - to_drawing.e) / pitch) * pitch + to_drawing.e
    ys = np.arange(math.ceil((y0 - to_drawing.f) / pitch), (y1 - to_drawing.f) / pitch) * pitch + to_drawing.f
    return np.rint(np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2))


def _block_lines(lines: tuple[str, ...], centre: tuple[int, int], height: float, angle: float) -> list[Placed]:
    """The block's lines about its centre, from the top down."""
    placed = []
    for k, line in enumerate(lines):
        up = ((len(lines) - 1) / 2 - k) * height * LEADING * UNITS_PER_MM
        at = (round(centre[0] - up * math.sin(angle)), round(centre[1] + up * math.cos(angle)))
        placed.append(Placed(f"title.{k}", line, at, height, angle))
    return placed
