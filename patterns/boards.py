"""Glue lines, and the boards of a part that is cut out before it is glued up.

Glue lines run with the grain: at heights where it runs along the part, at distances from the left where it runs across.
"""

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
from patterns.crossings import at_x, at_y
from patterns.curve import Curve
from patterns.display import Display
from patterns.errors import PatternError, Problem
from patterns.outline import Outline
from patterns.piece import Given, PartSpec
from patterns.stretch import Board, GlueRun, Hole, Stretch

SAME_MM = 1e-6
"""Points nearer than this are one: float noise of a crossing."""

THINNEST_MM = 1.0
"""A strip of wood thinner than this between glue lines, or at an edge, is a slip of the pen."""

Point = tuple[float, float]


def glue_runs(spec: PartSpec, outline: Outline, display: Display) -> tuple[GlueRun, ...]:
    """Where the glue lines run through the wood, in order. Raises PatternError for lines that can't be."""
    if not spec.glue_lines:
        if spec.shape == "before glue":
            raise PatternError.of(spec.place, 'shape = "before glue" needs glue_lines to say where the boards meet')
        return ()
    axis = _axis(spec)
    problems = _line_problems(spec, outline, axis, display)
    if problems:
        raise PatternError(problems)
    lines = sorted(line.value for line in spec.glue_lines)
    return tuple(run for k, line in enumerate(lines) for run in _runs(outline, line, axis, f"glue[{k}]"))


def _axis(spec: PartSpec) -> int:
    """The coordinate that is the same all along a glue line: 1 (y) with the grain along, 0 (x) across."""
    if isinstance(spec.grain, Given):
        for axis, angle in ((1, 0.0), (0, math.pi / 2)):
            if abs(math.remainder(spec.grain.value - angle, math.pi)) < 1e-9:
                return axis
        words = f"{spec.grain.written}: glue lines run with the grain, so it has to be along or across the part here"
        raise PatternError.of(spec.grain.place, words)
    return 0 if spec.grain == "across" else 1


def _line_problems(spec: PartSpec, outline: Outline, axis: int, display: Display) -> list[Problem]:
    low, high = outline.bounds[axis], outline.bounds[axis + 2]
    low, high = low + THINNEST_MM, high - THINNEST_MM
    where = "height" if axis else "distance from the left"
    limits = f"there is wood to joint from {display.at_least(low)} to {display.at_most(high)}"
    problems = []
    for given in spec.glue_lines:
        if not low - SAME_MM <= given.value <= high + SAME_MM:
            problems.append(Problem(given.place, f"{given.written}: no glue line fits at that {where}; {limits}"))
    ordered = sorted(spec.glue_lines, key=lambda given: given.value)
    for first, second in pairwise(ordered):
        if second.value - first.value < THINNEST_MM:
            words = f"{second.written} is as good as in the same place as {first.written}: each glue line stands once"
            problems.append(Problem(second.place, words))
    return problems


def _crossings(curve: Curve, line: float, axis: int) -> list[float]:
    return [float(t) for t in (at_y(curve, line) if axis else at_x(curve, line))]


def _point(along: float, line: float, axis: int) -> Point:
    return (along, line) if axis else (line, along)


def _runs(outline: Outline, line: float, axis: int, key: str) -> list[GlueRun]:
    """The stretches of the line that lie in the wood, from left to right (bottom to top)."""
    other = 1 - axis
    places = sorted(float(c.point(t)[other]) for c in outline.curves for t in _crossings(c, line, axis))
    found: list[GlueRun] = []
    for start, end in pairwise(places):
        if end - start > SAME_MM and _in_wood(outline, _point((start + end) / 2, line, axis)):
            suffix = f"/{len(found) + 1}" if found else ""
            found.append(GlueRun(f"{key}{suffix}", _point(start, line, axis), _point(end, line, axis)))
    return found


def _in_wood(outline: Outline, point: Point) -> bool:
    return bool(outline.contains(np.array([point]))[0])


# -------------------------------------------------------------------- boards


class _Strip(Struct, frozen=True):
    """What lies between two lines of constant x or y (axis 0 or 1); ``keys`` name the glue lines at either."""

    axis: int
    low: float
    high: float
    keys: tuple[str, str]

    def holds(self, curve: Curve) -> bool:
        """Whether a curve that crosses neither line belongs to the strip; one that lies on a line does where the wood
        on its left is inside."""
        middle = curve.point(len(curve) / 2)[self.axis]
        if abs(middle - self.low) <= SAME_MM:
            return self._ahead(curve) > 0
        if abs(middle - self.high) <= SAME_MM:
            return self._ahead(curve) < 0
        return bool(self.low < middle < self.high)

    def _ahead(self, curve: Curve) -> float:
        """Progress in the direction in which the lower line has the strip on its left."""
        step = float((curve.end - curve.start)[1 - self.axis])
        return step if self.axis else -step

    def line_at(self, point: Sequence[float] | Points) -> int | None:
        """0 for a point on the lower line, 1 for one on the upper, None for any other."""
        for number, line in enumerate((self.low, self.high)):
            if abs(point[self.axis] - line) <= SAME_MM:
                return number
        return None

    def following(self, point: Sequence[float] | Points, number: int, others: Sequence[Point]) -> int | None:
        """Which of the points on line ``number`` comes next, going with the strip on the left."""
        sign = (1.0 if self.axis else -1.0) * (1.0 if number == 0 else -1.0)
        along = 1 - self.axis
        ahead = [
            (sign * (other[along] - point[along]), k)
            for k, other in enumerate(others)
            if self.line_at(other) == number and sign * (other[along] - point[along]) > SAME_MM
        ]
        return min(ahead)[1] if ahead else None


def boards_of(
    spec: PartSpec, blank: Blank, stretches: Sequence[Stretch], holes: Sequence[Hole], runs: Sequence[GlueRun]
) -> tuple[Board, ...]:
    """One board for each piece of wood, from the bottom up (from the left), each with its own outline."""
    axis = _axis(spec)
    lines = sorted(line.value for line in spec.glue_lines)
    limits = [-math.inf, *lines, math.inf]
    whole = Outline(curve_of(stretches), tuple(hole.curve for hole in holes))
    boards: list[Board] = []
    for k in range(len(limits) - 1):
        strip = _Strip(axis, limits[k], limits[k + 1], (f"glue[{k - 1}]", f"glue[{k}]"))
        low = max(strip.low, blank.bounds[axis])
        high = min(strip.high, blank.bounds[axis + 2])
        for loop, inner in _pieces_of_wood(strip, stretches, holes, whole):
            outline = Outline(curve_of(loop), tuple(hole.curve for hole in inner))
            glue = tuple(_run(stretch, axis) for stretch in loop if stretch.kind == "glue")
            boards.append(Board(len(boards) + 1, outline, tuple(loop), tuple(inner), (low, high), glue))
    return tuple(boards)


def _run(stretch: Stretch, axis: int) -> GlueRun:
    ends = [tuple(map(float, point)) for point in (stretch.curve.start, stretch.curve.end)]
    (x0, y0), (x1, y1) = sorted(ends, key=lambda point: point[1 - axis])
    return GlueRun(stretch.key, (x0, y0), (x1, y1))


def _pieces_of_wood(
    strip: _Strip, stretches: Sequence[Stretch], holes: Sequence[Hole], part: Outline
) -> list[tuple[list[Stretch], list[Hole]]]:
    """The closed loops of a strip with the holes in each, from left to right (bottom to top)."""
    pieces = [piece for stretch in stretches for piece in _split(stretch, strip)]
    whole: list[Hole] = []
    for hole in holes:
        parts = _split(Stretch(hole.key, "", "cut", hole.curve, place=hole.spec.place), strip)
        if len(parts) == 1 and parts[0].curve.is_closed:
            whole.append(hole)
        else:
            pieces += parts
    loops = _loops(pieces, strip, part)
    loops.sort(key=lambda loop: min(s.curve.bounds[1 - strip.axis] for s in loop))
    result = []
    for loop in loops:
        inside = Outline(curve_of(loop))
        inner = [hole for hole in whole if _in_wood(inside, (float(hole.curve.start[0]), float(hole.curve.start[1])))]
        result.append((_with_keys_apart(loop), inner))
    return result


def _split(stretch: Stretch, strip: _Strip) -> list[Stretch]:
    """The pieces of a stretch that belong to the strip, in order."""
    limits = [line for line in (strip.low, strip.high) if math.isfinite(line)]
    cuts = sorted(t for line in limits for t in _crossings(stretch.curve, line, strip.axis))
    count = float(len(stretch.curve))
    edges = [0.0, *(t for t in cuts if SAME_MM < t < count - SAME_MM), count]
    pieces = [stretch.trimmed(a, b) for a, b in pairwise(edges) if b - a > SAME_MM]
    kept = [piece for piece in pieces if strip.holds(piece.curve)]
    if len(kept) > 1 and stretch.curve.is_closed and math.dist(kept[-1].curve.end, kept[0].curve.start) <= SAME_MM:
        first = kept.pop(0)
        kept[-1] = replace(kept[-1], curve=Curve.chain([kept[-1].curve, first.curve]))
    return kept


def _loops(pieces: Sequence[Stretch], strip: _Strip, part: Outline) -> list[list[Stretch]]:
    """Closed runs of the pieces; where one ends on a glue line, along that line to the next."""
    starts, ends = ([(float(x), float(y)) for x, y in points] for points in _ends_of(pieces))
    left = set(range(len(pieces)))
    loops = []
    while left:
        first = number = min(left)
        loop: list[Stretch] = []
        while True:
            left.discard(number)
            loop.append(pieces[number])
            end = pieces[number].curve.end
            following, glue = _next(end, starts, ends, strip, part)
            if glue is not None:
                loop.append(glue)
            if following == first or following not in left:
                break
            number = following
        loops.append(loop)
    return loops


def _ends_of(pieces: Sequence[Stretch]) -> tuple[list[Points], list[Points]]:
    return [piece.curve.start for piece in pieces], [piece.curve.end for piece in pieces]


def _next(
    end: Sequence[float] | Points, starts: Sequence[Point], ends: Sequence[Point], strip: _Strip, part: Outline
) -> tuple[int | None, Stretch | None]:
    """The piece that follows a point, and the stretch of glue line that leads to it, if one does.

    Where a hole or a hollow touches the line from inside the strip, there is wood ahead on the line: it is followed.
    """
    direct = next((k for k, start in enumerate(starts) if math.dist(start, end) <= 10 * SAME_MM), None)
    number = strip.line_at(end)
    following = None if number is None else strip.following(end, number, starts)
    if number is None or following is None:
        return direct, None
    if direct is not None:
        places = [*starts, *ends]
        ahead = strip.following(end, number, places)
        x, y = places[ahead or 0]
        if not _in_wood(part, ((float(end[0]) + x) / 2, (float(end[1]) + y) / 2)):
            return direct, None
    curve = Curve.line(end, starts[following])
    return following, Stretch(strip.keys[number], "", "glue", curve, span=curve.length)


def _with_keys_apart(loop: Sequence[Stretch]) -> list[Stretch]:
    """The loop with a number after a key that has been before."""
    seen: dict[str, int] = {}
    result = []
    for stretch in loop:
        count = seen[stretch.key] = seen.get(stretch.key, 0) + 1
        result.append(stretch if count == 1 else replace(stretch, key=f"{stretch.key}/{count}"))
    return result
