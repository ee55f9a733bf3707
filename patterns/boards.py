"""The boards of a part that is cut out before it is glued up: its outline, divided along its glue lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from patterns.affine import Points
from patterns.blank import Blank
from patterns.boundary import curve_of
from patterns.curve import Curve
from patterns.errors import PatternError
from patterns.gluelines import ON_LINE_MM, SAME_MM, axis_of, joints_of, meets, point_on
from patterns.outline import Outline, signed_area
from patterns.piece import PartSpec
from patterns.stretch import Board, GlueRun, Hole, Stretch

SLIVER_MM2 = 1e-3
"""What the line of an edge that all but touches a glue line cuts off there is no board."""

BACK_AGAIN = 1e-6
"""A turn this near to half a turn (radians) runs back along where it came from, with the wood on the left between."""

Loop = list[Stretch]


class _Strip(Struct, frozen=True):
    """What lies between two lines of constant x or y (axis 0 or 1); ``keys`` name the glue lines at either."""

    axis: int
    low: float
    high: float
    keys: tuple[str, str]

    def holds(self, curve: Curve) -> bool:
        """Whether a curve that crosses neither line belongs to the strip; one that runs along a line does where the
        wood on its left is inside."""
        least, most = curve.bounds[self.axis], curve.bounds[self.axis + 2]
        if max(abs(least - self.low), abs(most - self.low)) <= ON_LINE_MM:
            return self._ahead(curve) > 0
        if max(abs(least - self.high), abs(most - self.high)) <= ON_LINE_MM:
            return self._ahead(curve) < 0
        return bool(self.low < curve.point(len(curve) / 2)[self.axis] < self.high)

    def _ahead(self, curve: Curve) -> float:
        """Progress in the direction in which the lower line has the strip on its left."""
        step = float((curve.end - curve.start)[1 - self.axis])
        return step if self.axis else -step

    def glue(self, part: Outline) -> Loop:
        """The stretches of both lines that have wood on both sides, each run with the strip on its left."""
        found = []
        for line, key, upper in zip((self.low, self.high), self.keys, (False, True), strict=True):
            for joint in joints_of(part, line, self.axis) if math.isfinite(line) else ():
                start, end = joint if upper != bool(self.axis) else joint[::-1]
                ends = point_on(start, line, self.axis), point_on(end, line, self.axis)
                found.append(_glue(key, ends[0], ends[1]))
        return found


def _glue(key: str, start: Sequence[float] | Points, end: Sequence[float] | Points) -> Stretch:
    curve = Curve.line(start, end)
    return Stretch(key, "", "glue", curve, span=curve.length)


def boards_of(spec: PartSpec, blank: Blank, stretches: Sequence[Stretch], holes: Sequence[Hole]) -> tuple[Board, ...]:
    """One board for each piece of wood, from the bottom up (from the left), each with its own outline.

    Raises PatternError where a line touches the outline so nearly that the boards can't be told apart.
    """
    axis = axis_of(spec)
    lines = sorted(line.value for line in spec.glue_lines)
    limits = [-math.inf, *lines, math.inf]
    whole = Outline(curve_of(stretches), tuple(hole.curve for hole in holes))
    boards: list[Board] = []
    by_key = {hole.key: hole for hole in holes}
    closed = [Stretch(hole.key, "", "cut", hole.curve, place=hole.spec.place) for hole in holes]
    room = wood_bounds(spec, blank)
    for k in range(len(limits) - 1):
        strip = _Strip(axis, limits[k], limits[k + 1], (f"glue[{k - 1}]", f"glue[{k}]"))
        low, high = max(strip.low, room[axis]), min(strip.high, room[axis + 2])
        try:
            pieces = _pieces_of_wood(strip, stretches, closed, whole)
        except ValueError as error:
            place = sorted(spec.glue_lines, key=lambda line: line.value)[min(k, len(lines) - 1)].place
            words = "the line all but touches the outline; move it a little, so that it is plain where the boards part"
            raise PatternError.of(place, words) from error
        for loop, inner in pieces:
            outline = Outline(curve_of(loop), tuple(hole.curve for hole in inner))
            glue = tuple(_run(stretch, axis) for stretch in loop if stretch.kind == "glue")
            own = tuple(by_key[hole.key] for hole in inner)
            boards.append(Board(len(boards) + 1, outline, tuple(loop), own, (low, high), glue))
    return tuple(boards)


def wood_bounds(spec: PartSpec, blank: Blank) -> tuple[float, float, float, float]:
    """(least x, least y, greatest x, greatest y) of the wood: of a panel both faces, since its edges lean."""
    if spec.panel is None:
        return blank.bounds
    board = spec.panel.board
    corners = (*board.outline, *board.inside_outline)
    xs, ys = zip(*(_over(point, spec.panel.mirrored, blank) for point in corners), strict=True)
    x0, y0, x1, y1 = blank.bounds
    return min(x0, *xs), min(y0, *ys), max(x1, *xs), max(y1, *ys)


def _over(point: tuple[float, float], mirrored: bool, blank: Blank) -> tuple[float, float]:
    return (2.0 * blank.middle_x - point[0], point[1]) if mirrored else point


def wood_before(
    line: float, axis: int, stretches: Sequence[Stretch], holes: Sequence[Stretch]
) -> list[tuple[Loop, list[Stretch]]]:
    """The pieces of an outline on the near side of a line of constant x or y (axis 0 or 1), in mm.

    Each is a closed loop, in which the stretches of kind "glue" run along the line, with the holes that lie whole in
    it. Raises ValueError where the line touches the outline so nearly that the pieces can't be told apart.
    """
    whole = Outline(curve_of(stretches), tuple(hole.curve for hole in holes))
    return _pieces_of_wood(_Strip(axis, -math.inf, line, ("", "line")), stretches, holes, whole)


def _run(stretch: Stretch, axis: int) -> GlueRun:
    ends = [tuple(map(float, point)) for point in (stretch.curve.start, stretch.curve.end)]
    (x0, y0), (x1, y1) = sorted(ends, key=lambda point: point[1 - axis])
    return GlueRun(stretch.key, (x0, y0), (x1, y1))


def _pieces_of_wood(
    strip: _Strip, stretches: Sequence[Stretch], holes: Sequence[Stretch], part: Outline
) -> list[tuple[Loop, list[Stretch]]]:
    """The closed loops of a strip with the holes in each, from left to right (bottom to top)."""
    pieces = [piece for stretch in stretches for piece in _split(stretch, strip)]
    whole: list[Stretch] = []
    for hole in holes:
        parts = _split(hole, strip)
        if len(parts) == 1 and parts[0].curve.is_closed:
            whole.append(hole)
        else:
            pieces += parts
    loops = [loop for loop in _loops(pieces, strip.glue(part)) if signed_area(curve_of(loop)) > SLIVER_MM2]
    loops.sort(key=lambda loop: min(s.curve.bounds[1 - strip.axis] for s in loop))
    if len(loops) == 1:  # there is no other piece of wood for the holes to be in
        return [(_with_keys_apart(loops[0]), whole)]
    result = []
    for loop in loops:
        inside = Outline(curve_of(loop))
        inner = [hole for hole in whole if inside.contains(hole.curve.start[None])[0]]
        result.append((_with_keys_apart(loop), inner))
    return result


def _split(stretch: Stretch, strip: _Strip) -> list[Stretch]:
    """The pieces of a stretch that belong to the strip, in order."""
    least, most = stretch.curve.bounds[strip.axis], stretch.curve.bounds[strip.axis + 2]
    if most < strip.low - ON_LINE_MM or least > strip.high + ON_LINE_MM:
        return []
    if strip.low + ON_LINE_MM < least and most < strip.high - ON_LINE_MM:
        return [stretch]
    limits = [line for line in (strip.low, strip.high) if math.isfinite(line)]
    cuts = sorted(t for line in limits for t in meets(stretch.curve, line, strip.axis))
    count = float(len(stretch.curve))
    edges = [0.0, *(t for t in cuts if SAME_MM < t < count - SAME_MM), count]
    pieces = [stretch.trimmed(a, b) for a, b in pairwise(edges) if b - a > SAME_MM]
    kept = [piece for piece in pieces if strip.holds(piece.curve)]
    if len(kept) > 1 and stretch.curve.is_closed and math.dist(kept[-1].curve.end, kept[0].curve.start) <= SAME_MM:
        first = kept.pop(0)
        kept[-1] = replace(kept[-1], curve=Curve.chain([kept[-1].curve, first.curve]))
    return kept


# -------------------------------------------------------------------- loops


def _loops(pieces: Sequence[Stretch], glue: Sequence[Stretch]) -> list[Loop]:
    """Closed runs of the pieces and the stretches of glue line between them, the wood on their left.

    Raises ValueError for a run that does not close.
    """
    every = [*pieces, *glue]
    starts = np.array([stretch.curve.start for stretch in every]).reshape(-1, 2)
    left = set(range(len(every)))
    loops = []
    while any(number < len(pieces) for number in left):
        first = number = min(left)
        loop: Loop = []
        while True:
            loop.append(every[number])
            left.discard(number)
            following = _next(number, every, starts, left | {first})
            if following == first:
                break
            number = following
        loops.append(_joined_glue(loop))
    return loops


def _next(number: int, every: Sequence[Stretch], starts: Points, left: set[int]) -> int:
    """What follows a stretch: of those that begin where it ends, the one furthest to the left, where the wood is."""
    end = every[number].curve.end
    near = np.flatnonzero(np.hypot(*(starts - end).T) <= 2 * ON_LINE_MM)
    open_ = [int(k) for k in near if int(k) in left]
    if not open_:
        raise ValueError("a board's line does not close")
    return max(open_, key=lambda k: (_turn(every[number].curve, every[k].curve), -k))


def _turn(before: Curve, after: Curve) -> float:
    """How far one turns to the left on going from one curve to the next (radians); straight back is half a turn."""
    (ax, ay), (bx, by) = _direction(before.reversed()), _direction(after)
    turn = math.atan2(-ax * by + ay * bx, -ax * bx - ay * by)
    return turn if turn > BACK_AGAIN - math.pi else math.pi


def _direction(curve: Curve) -> tuple[float, float]:
    """The direction at the start: where the first handle that is apart from it lies."""
    handle = next((p for p in curve.beziers[0, 1:] if math.dist(p, curve.start) > SAME_MM), curve.end)
    x, y = handle - curve.start
    return float(x), float(y)


def _joined_glue(loop: Loop) -> Loop:
    """The loop with one stretch of glue line where nothing of the board comes between two."""
    result: Loop = []
    for stretch in loop:
        if result and stretch.kind == "glue" and result[-1].key == stretch.key:
            result[-1] = _glue(stretch.key, result[-1].curve.start, stretch.curve.end)
        else:
            result.append(stretch)
    return result


def _with_keys_apart(loop: Loop) -> Loop:
    """The loop with a number after a key that has been before."""
    seen: dict[str, int] = {}
    result = []
    for stretch in loop:
        count = seen[stretch.key] = seen.get(stretch.key, 0) + 1
        result.append(stretch if count == 1 else replace(stretch, key=f"{stretch.key}/{count}"))
    return result
