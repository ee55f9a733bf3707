"""Where the words of a pattern stand on its sheets.

A place once printed is remembered and kept as long as it is free, so that a change elsewhere moves no word.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from patterns.affine import Affine
from patterns.lettering import CAP_HEIGHT, DESCENT
from patterns.outline import Outline
from patterns.pattern import Label, Pattern
from tiling.content import text_width
from tiling.room import Room, around, ring_shifts
from tiling.units import UNITS_PER_MM, Cell, Flags, Reals, to_units
from tiling.wrap import wrapped

Place = tuple[int, int]
Slots = Mapping[str, tuple[Place, Place]]
"""Remembered places by a label's key: the middle of its box, and where it was wished for, in the drawing (whole units, so
that they are kept exactly)."""

Version = tuple[tuple[str, ...], tuple[float, ...], bool]
"""Lines of a block, the heights (mm) that they are tried in, and whether they may be joined into fewer and longer ones."""

LEADING = 1.75
"""From one line of a block to the next, in heights of a capital."""
BLOCK_HEIGHTS = (4.0, 3.5, 3.0, 2.5, 2.0)
"""Heights (mm) that the title block is tried in: the largest that fits inside the outline is used."""
NARROW_WIDTH_MM, NARROW_HEIGHT_MM = 30.0, 2.5
"""The title block of a small part is broken into lines of this width, reckoned at this height."""
NOTE_WIDTH_MM, NOTE_HEIGHT_MM = 80.0, 3.5
"""Notes are broken into lines of this width, reckoned at this height."""
SMALLEST_MM = 2.5
"""A label that finds no room is tried once more in figures of this height."""
_BLOCK_AIR = to_units(3.0)
"""A block's width is reckoned this much larger, so that its lines stand apart from other words."""
_BLOCK_GRID_MM = 6.0
_STAYS = to_units(10.0)
"""A label that is wished for so near to where it was stays where it stood, as long as there is room."""
_OPTIONAL = ("blank.note", "walls", "inside")
"""Words that are left off rather than moved away from what they speak of."""
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
    left_off: tuple[str, ...]
    """Texts for which there is no free place, or none inside the outline."""


def place_labels(
    pattern: Pattern,
    to_drawing: Affine,
    room: Room,
    cells: Sequence[Cell],
    remembered: Slots,
) -> Placing:
    """Places every label near where the drawing wants it, then the title block where there is room inside the outline."""
    by_cell: dict[Cell, list[Placed]] = {}
    slots: dict[str, tuple[Place, Place]] = {}
    left_off: list[str] = []
    outline = Inside(pattern.outline, to_drawing, to_drawing.inverse())
    labels = [label for label in pattern.labels if not label.key.startswith("dimension")]
    wishes = [(round(x), round(y)) for x, y in (to_drawing.point(*label.at) for label in labels)]
    in_wood = outline.contains(np.array(wishes, dtype=np.float64).reshape(-1, 2)).tolist()
    for label, wish, keeps_in in zip(labels, wishes, in_wood, strict=True):
        for height in (label.height, SMALLEST_MM):  # small figures are better than none
            smaller = replace(label, height=min(height, label.height))
            found = _place_label(smaller, wish, keeps_in, outline, room, cells, remembered.get(label.key))
            if found is not None or label.key.startswith(_OPTIONAL):
                break
        if found is None:
            if not label.key.startswith(_OPTIONAL):
                left_off.append(label.text)
            continue
        cell, one = found
        by_cell.setdefault(cell, []).append(one)
        slots[label.key] = (one.centre, wish)
    inside = partial(_place_block, pattern.outline, to_drawing, room, cells)
    for key, versions in (("title", _title_versions(pattern.title_block)), ("notes", _note_versions(pattern.notes))):
        for lines, heights, may_join in versions:
            block = inside(lines, heights, may_join, remembered.get(key))
            if block is not None:
                cell, placed, centre = block
                by_cell.setdefault(cell, []).extend(replace(one, key=f"{key}.{k}") for k, one in enumerate(placed))
                slots[key] = (centre, centre)
                break
        else:
            lines = ()
        if key == "title":
            short = lines in ((), *_shortened(pattern.title_block))
            left_off += [line for line in pattern.title_block if short and line not in lines]
    return Placing(by_cell, slots, tuple(left_off))


def _title_versions(lines: tuple[str, ...]) -> Iterator[Version]:
    """The title block, and for small parts narrower and shorter ones: in the end just the part's name."""
    yield lines, BLOCK_HEIGHTS[:-1], True
    narrow = tuple(part for line in lines for part in wrapped(line, NARROW_WIDTH_MM, NARROW_HEIGHT_MM))
    yield narrow, BLOCK_HEIGHTS[1:], False
    yield lines, BLOCK_HEIGHTS[-1:], True
    for shorter in _shortened(lines):
        yield shorter, BLOCK_HEIGHTS, True


def _shortened(lines: tuple[str, ...]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The part's name with the face that is up, and the name alone."""
    return lines[1:3], lines[1:2]


def _note_versions(notes: tuple[str, ...]) -> Iterator[Version]:
    if notes:
        yield note_lines(notes), BLOCK_HEIGHTS, False


def note_lines(notes: tuple[str, ...]) -> tuple[str, ...]:
    """The notes in lines narrow enough to find room on a sheet; the cover has them too."""
    return tuple(line for note in notes for line in wrapped(note, NOTE_WIDTH_MM, NOTE_HEIGHT_MM))


# ---------------------------------------------------------------- single labels


def _place_label(
    label: Label,
    wish: Place,
    keeps_in: bool,
    inside: Inside,
    room: Room,
    cells: Sequence[Cell],
    remembered: tuple[Place, Place] | None,
) -> tuple[Cell, Placed] | None:
    """The label in a free place on the sheet where it is wished for, else on the nearest others; None if there is none.

    A remembered place comes first as long as the label is wished for near where it was. What ``keeps_in``, being wished
    for inside the outline, stands there if it can, so that it is not cut away.
    """
    angle = _readable(label.angle + _turn_of(inside.to_drawing))
    size = _box(text_width(label.text, label.height), label.height * UNITS_PER_MM * _LINE_BOX, angle)
    for cell in _sheets_near(wish, room, cells):
        centres = around(_drawn_in(wish, room, cell, *size), _SHIFTS)
        if remembered is not None and math.dist(remembered[1], wish) <= _STAYS:
            centres = np.concatenate([np.array([remembered[0]], dtype=np.float64), centres])
        free = room.free_places(cell, centres.tolist(), *size)
        best = next(free, None)
        if best is None:
            continue
        if keeps_in and not inside.holds(centres[best].tolist(), size, angle):
            best = next((k for k in free if inside.holds(centres[k].tolist(), size, angle)), best)
        strays = label.key.startswith(_OPTIONAL) and math.dist(centres[best], wish) > _STAYS
        if not strays:
            x, y = (int(v) for v in centres[best])
            room.take(cell, _box_at((x, y), size))
            return cell, Placed(label.key, label.text, (x, y), label.height, angle)
    return None


class Inside(Struct, frozen=True, eq=False):
    """The outline, asked in the drawing's units."""

    outline: Outline
    to_drawing: Affine
    back: Affine

    def contains(self, points: Reals) -> Flags:
        """Which points (m, 2) of the drawing lie in the wood."""
        return self.outline.contains(self.back.apply(points))

    def holds(self, centre: Iterable[float], size: tuple[float, float], angle: float) -> bool:
        """Whether a line of text lies in the wood: looked at in its middle and both its ends."""
        x, y = centre
        cos, sin = math.cos(angle), math.sin(angle)
        reach = abs(size[0] * cos) / 2 + abs(size[1] * sin) / 2
        places = [self.back.point(x + k * cos * reach, y + k * sin * reach) for k in (-1.0, 0.0, 1.0)]
        return bool(self.outline.contains(np.array(places)).all())


def _sheets_near(wish: tuple[float, float], room: Room, cells: Sequence[Cell]) -> list[Cell]:
    """The printed sheets whose cores come within 15 mm of a place, the nearest first."""

    def apart(cell: Cell) -> float:
        x0, y0, x1, y1 = room.lattice.core(cell)
        return math.hypot(max(x0 - wish[0], 0, wish[0] - x1), max(y0 - wish[1], 0, wish[1] - y1))

    c, r = room.lattice.cell_at(*wish)
    beside = [(c + i, r + j) for i in (-1, 0, 1) for j in (-1, 0, 1)]
    near = [(apart(cell), cell) for cell in beside if cell in cells]
    return [cell for distance, cell in sorted(near) if distance <= to_units(15.0)]


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
    outline: Outline,
    to_drawing: Affine,
    room: Room,
    cells: Sequence[Cell],
    lines: tuple[str, ...],
    heights: tuple[float, ...],
    may_join: bool,
    remembered: tuple[Place, Place] | None,
) -> tuple[Cell, list[Placed], Place] | None:
    """A block of lines in the largest size that fits inside the outline: where it stood before, if it still fits there
    in any size, else as near the middle as there is room."""
    x0, y0, x1, y1 = outline.bounds
    middle = to_drawing.point((x0 + x1) / 2, (y0 + y1) / 2)
    turn = _turn_of(to_drawing)
    shapes = [(height, *shape) for height in heights for shape in _block_shapes(lines, may_join, turn)]
    searches = [partial(_kept_place, remembered[0])] if remembered is not None else []
    for search in (*searches, partial(_new_place, middle)):
        for height, shaped, angle in shapes:
            width = max(text_width(line, height) for line in shaped)
            size = _box(width + _BLOCK_AIR, len(shaped) * height * LEADING * UNITS_PER_MM, angle)
            found = search(outline, to_drawing, room, cells, size)
            if found is not None:
                cell, centre = found
                room.take(cell, _box_at(centre, size))
                return cell, _block_lines(shaped, centre, height, angle), centre
    return None


def _block_shapes(lines: tuple[str, ...], may_join: bool, turn: float) -> list[tuple[tuple[str, ...], float]]:
    """The block as it is, and if it may in fewer and longer lines; each along the part, then across it."""
    shapes = [lines]
    if may_join:
        shapes += [tuple(" · ".join(lines[k : k + 2]) for k in range(0, len(lines), 2)), (" · ".join(lines),)]
    return [(shape, angle) for shape in shapes for angle in (turn, math.pi / 2 - turn)]


def _box_at(centre: tuple[float, float], size: tuple[float, float]) -> tuple[float, float, float, float]:
    return centre[0] - size[0] / 2, centre[1] - size[1] / 2, centre[0] + size[0] / 2, centre[1] + size[1] / 2


def _kept_place(
    centre: Place,
    outline: Outline,
    to_drawing: Affine,
    room: Room,
    cells: Sequence[Cell],
    size: tuple[float, float],
) -> tuple[Cell, Place] | None:
    """The place where a block stood before, if it is still free and inside the outline."""
    cell = room.lattice.cell_at(*centre)
    if cell not in cells or not room.is_free_at(cell, *centre, *size):
        return None
    return (cell, centre) if outline.contains(np.array([to_drawing.inverse().point(*centre)])).all() else None


def _new_place(
    middle: tuple[float, float],
    outline: Outline,
    to_drawing: Affine,
    room: Room,
    cells: Sequence[Cell],
    size: tuple[float, float],
) -> tuple[Cell, Place] | None:
    """The free place inside the outline that is nearest its middle, the sheets near the middle first."""
    back = to_drawing.inverse()
    for cell in sorted(cells, key=lambda cell: (_distance(room, cell, middle), cell)):
        centres = _grid(room, cell, to_drawing)
        centres = centres[np.argsort(np.hypot(*(centres - np.array(middle)).T), kind="stable")]
        centres = centres[room.is_free(cell, centres, *size)]
        for some in np.array_split(centres, max(1, len(centres) // 60)):
            inside = some[outline.contains(back.apply(some))] if len(some) else some
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
    """The block's lines about its centre, from the top down; as yet without keys."""
    placed = []
    for k, line in enumerate(lines):
        up = ((len(lines) - 1) / 2 - k) * height * LEADING * UNITS_PER_MM
        at = (round(centre[0] - up * math.sin(angle)), round(centre[1] + up * math.cos(angle)))
        placed.append(Placed("", line, at, height, angle))
    return placed
