"""The straight lines of the blank, where the cut line leaves them, and words that tell them from lines to cut."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from patterns.affine import Points
from patterns.answers import kept
from patterns.blank import Blank, Edge
from patterns.curve import Curve
from patterns.freespace import Point
from patterns.gluemarks import uncovered
from patterns.outline import Outline
from patterns.pattern import Role
from patterns.sketch import SMALL_MM, Place, Sketch, moved, readable, text_width
from patterns.stretch import Board, Stretch

ON_EDGE_MM = 1e-6
NOTE = "do not cut"
MOST_NOTES = 2
AWAY_MM = 2.7
"""From a line to the middle of the words along it."""
CLEAR_MM = 6.0
"""From the middle of the words to the cut line at least: twice as far as from the line that they are about."""
SHARES = (0.5, 0.25, 0.75, 0.1, 0.9, 0.04, 0.96)
"""Places tried for the words, along the whole edge: they stay when a curve beside it changes."""


class BlankLine(Struct, frozen=True):
    """An edge of the blank, from ``start`` to ``end`` (mm); ``free`` are the stretches of it that no cut line covers."""

    key: str
    start: Point
    end: Point
    free: tuple[tuple[float, float], ...]

    @property
    def direction(self) -> Point:
        """The unit vector along it."""
        length = math.dist(self.start, self.end)
        return (self.end[0] - self.start[0]) / length, (self.end[1] - self.start[1]) / length


def blank_lines(blank: Blank, stretches: Sequence[Stretch]) -> list[BlankLine]:
    """The edges of a whole part's blank."""
    lines = []
    for edge in blank.edges:
        covered = [pair for stretch in stretches if (pair := _along(stretch.curve, edge)) is not None]
        free = tuple(uncovered(0.0, edge.length, covered))
        lines.append(BlankLine(f"blank.{edge.name}", edge.start, edge.end, free))
    return lines


def _along(curve: Curve, edge: Edge) -> tuple[float, float] | None:
    """The stations between which a straight curve runs along the edge, if it does."""
    if not curve.is_straight:
        return None
    (a, da), (b, db) = (edge.from_part.point(float(x), float(y)) for x, y in (curve.start, curve.end))
    return (a, b) if max(abs(da), abs(db)) <= ON_EDGE_MM else None


def board_ends(board: Board, room: tuple[float, float, float, float], axis: int) -> list[BlankLine]:
    """The ends of a board's blank, square to its straight edges, at which ``axis`` (0: x, 1: y) stays the same."""
    low, high = room[1 - axis], room[3 - axis]
    near, far = board.strip
    lines = []
    for number, at in enumerate((low, high)):
        covered = []
        for stretch in board.stretches:
            start, end = stretch.curve.start, stretch.curve.end
            if stretch.curve.is_straight and max(abs(start[1 - axis] - at), abs(end[1 - axis] - at)) <= ON_EDGE_MM:
                covered.append((float(start[axis]) - near, float(end[axis]) - near))
        ends = ((at, near), (at, far)) if axis else ((near, at), (far, at))
        lines.append(BlankLine(f"blank.end[{number}]", *ends, tuple(uncovered(0.0, far - near, covered))))
    return lines


def draw_blank(sketch: Sketch, lines: Sequence[BlankLine]) -> None:
    """The lines, where the cut line does not run along them."""
    for line in lines:
        for a, b in line.free:
            ends = moved(line.start, line.direction, a), moved(line.start, line.direction, b)
            sketch.line(Role.BLANK, *ends, line.key)


def draw_blank_notes(sketch: Sketch, lines: Sequence[BlankLine], wood: Outline, outline: Outline) -> None:
    """A few small words in the waste beside the lines, where there is room for them.

    The longest edges come first, and each once before any has them a second time.
    """
    longest = sorted(enumerate(lines), key=lambda each: -math.dist(each[1].start, each[1].end))
    keys = [(f"blank.note[{number}]{again}", line) for again in ("", "/2") for number, line in longest]
    count = 0
    places: dict[str, list[Place]] = {}
    for key, line in keys:
        if count == MOST_NOTES:
            break
        if line.key not in places:
            places[line.key] = _in_waste(_places(line), wood, outline)
        if sketch.label(key, NOTE, places[line.key], needed=False, height=SMALL_MM):
            count += 1


def _places(line: BlankLine) -> list[Place]:
    """Along the free stretches of a line, to either side of it."""
    half, length = text_width(NOTE, SMALL_MM) / 2 + 1.0, math.dist(line.start, line.end)
    x, y = direction = line.direction
    return [
        (moved(moved(line.start, direction, share * length), side, AWAY_MM), readable(direction))
        for share in SHARES
        if any(a <= share * length - half and share * length + half <= b for a, b in line.free)
        for side in ((-y, x), (y, -x))
    ]


def _in_waste(places: Sequence[Place], wood: Outline, outline: Outline) -> list[Place]:
    """Those where words lie on wood that falls away, well off the line that is cut: they don't speak of that one."""
    if not places:
        return []
    half = text_width(NOTE, SMALL_MM) / 2
    along = np.array([(math.cos(angle), math.sin(angle)) for _, angle in places])
    points = np.array([at for at, _ in places])[:, None] + np.array([-half, 0.0, half])[:, None] * along[:, None]
    waste = np.flatnonzero((wood.contains(points) & ~outline.contains(points)).all(axis=-1))
    if not len(waste):
        return []
    clear = (_from_line(points[waste], outline) > CLEAR_MM).all(axis=-1)
    return [places[int(k)] for k in waste[clear]]


@kept
def _chords(curve: Curve) -> Points:
    return curve.flattened(0.1)


def _from_line(points: Points, outline: Outline) -> Points:
    """About how far points (..., 2) are from the outline's boundary (mm): from its chords, a tenth of a millimetre off."""
    corners = _chords(outline.boundary)
    start, side = corners[:-1], np.diff(corners, axis=0)
    away = points[..., None, :] - start
    share = np.clip((away * side).sum(axis=-1) / np.maximum((side * side).sum(axis=-1), 1e-12), 0.0, 1.0)
    apart = away - share[..., None] * side
    nearest: Points = np.hypot(apart[..., 0], apart[..., 1]).min(axis=-1)
    return nearest
