"""Centre marks and figures of holes, and the marks and notes that the maker asks for."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from patterns.display import Display
from patterns.freespace import Point
from patterns.outline import Outline
from patterns.pattern import Role
from patterns.piece import MarkSpec
from patterns.sketch import FIGURE_MM, Place, Sketch, moved, readable, ring, text_width
from patterns.stretch import Hole

SPOT_MM = 1.2
"""Half of the small slanting cross at the point that a note is about, either way."""
CROSS_MM = 6.0
"""Half of a centre mark: an arm is no longer than a long dash, so that its middle is always ink."""
RIM_MM = 3.0
"""How far a tick at a large hole's rim reaches to either side of it."""
LARGE_MM = 24.0
"""Holes from this size on have ticks at their rim too."""

ASIDE_MM = 3.5
"""From a line to the middle of the words along it."""
AROUND = (7.0, 11.0, 16.0, 22.0, 30.0)


def draw_hole_centres(sketch: Sketch, holes: Sequence[Hole]) -> None:
    """A cross at the centre of each hole that has one, and ticks at the rim of large round ones."""
    for hole in holes:
        if hole.spec.form == "points":
            continue
        x0, y0, x1, y1 = hole.curve.bounds
        key = f"{hole.key}.centre"
        _cross(sketch, hole.centre, key)
        if min(x1 - x0, y1 - y0) >= LARGE_MM and hole.spec.form == "circle":
            cx, cy = hole.centre
            for start, end in (
                ((x0 - RIM_MM, cy), (x0 + RIM_MM, cy)),
                ((x1 - RIM_MM, cy), (x1 + RIM_MM, cy)),
                ((cx, y0 - RIM_MM), (cx, y0 + RIM_MM)),
                ((cx, y1 - RIM_MM), (cx, y1 + RIM_MM)),
            ):
                sketch.line(Role.CENTRE, start, end, key)


def draw_hole_words(sketch: Sketch, holes: Sequence[Hole], outline: Outline, display: Display) -> None:
    """The figure and name of each hole, in the wood where there is room: what lies outside is cut away."""
    for hole in holes:
        if text := _hole_words(hole, display):
            places = _places(hole, text)
            half = text_width(text) / 2
            ends = np.array([[(x - half, y), (x, y), (x + half, y)] for (x, y), _ in places])
            inside = np.flatnonzero(np.all(outline.contains(ends), axis=1)).tolist()
            rest = [k for k in range(len(places)) if k not in inside]
            sketch.label(f"{hole.key}.figure", text, [places[k] for k in (*inside, *rest)])


def _cross(sketch: Sketch, centre: Point, key: str) -> None:
    x, y = centre
    sketch.line(Role.CENTRE, (x - CROSS_MM, y), (x + CROSS_MM, y), key)
    sketch.line(Role.CENTRE, (x, y - CROSS_MM), (x, y + CROSS_MM), key)


def _hole_words(hole: Hole, display: Display) -> str:
    spec, name = hole.spec, f"{hole.spec.name}: " if hole.spec.name else ""
    if spec.form == "circle" and spec.diameter is not None:
        return f"{name}hole {display.both(spec.diameter.value)}"
    if spec.form == "elongated" and spec.length is not None and spec.width is not None:
        return f"{name}hole {display.length(spec.length.value)} × {display.length(spec.width.value)}"
    return hole.spec.name


def _places(hole: Hole, text: str) -> list[Place]:
    """Under the centre if the words fit into the hole, else under, above and beside it."""
    x0, y0, x1, y1 = hole.curve.bounds
    cx, cy = hole.centre
    width = text_width(text)
    inside = [((cx, cy - CROSS_MM - FIGURE_MM), 0.0)]
    gap = FIGURE_MM / 2 + 2.0
    outside = [((cx, y0 - gap), 0.0), ((cx, y1 + gap), 0.0)]
    outside += [((x1 + gap + width / 2, cy), 0.0), ((x0 - gap - width / 2, cy), 0.0)]
    further = [((x, y0 - gap - step), 0.0) for step in (6.0, 12.0) for x in (cx, x0, x1)]
    level = gap + FIGURE_MM
    shifted = [((cx + side * width / 2, y + up * gap), 0.0) for up, y in ((1, y1), (-1, y0)) for side in (1, -1)]
    shifted += [((cx + side * (width / 2 + gap), cy + up * level), 0.0) for up in (1, -1) for side in (1, -1)]
    return inside + outside + further + shifted


def draw_marks(sketch: Sketch, marks: Sequence[MarkSpec]) -> None:
    """Centre marks and lines, as given, and a small cross where a note points, unless a centre mark is there."""
    for number, mark in enumerate(marks):
        key = f"mark[{number}]"
        points = [(x.value, y.value) for x, y in mark.points]
        if not points:
            continue
        if mark.form == "centre":
            _cross(sketch, points[0], key)
        elif mark.form == "line" and len(points) > 1:
            sketch.line(Role.MARK, points[0], points[1], key)
        elif mark.form == "note" and not _on_centre(points[0], marks):
            x, y = points[0]
            for side in (SPOT_MM, -SPOT_MM):
                sketch.line(Role.MARK, (x - SPOT_MM, y - side), (x + SPOT_MM, y + side), key)


def _on_centre(point: Point, marks: Sequence[MarkSpec]) -> bool:
    centres = [(x.value, y.value) for mark in marks if mark.form == "centre" for x, y in mark.points]
    return any(math.dist(point, centre) <= SPOT_MM for centre in centres)


def draw_mark_words(sketch: Sketch, marks: Sequence[MarkSpec]) -> None:
    """The notes, and the words of marks that have any."""
    for number, mark in enumerate(marks):
        points = [(x.value, y.value) for x, y in mark.points]
        if mark.text and points:
            arm = CROSS_MM if _on_centre(points[0], marks) else SPOT_MM
            sketch.label(f"mark[{number}].text", mark.text, _word_places(mark, points, arm))


def _word_places(mark: MarkSpec, points: Sequence[Point], arm: float) -> list[Place]:
    """Beside, above and below the cross at the point, whose arms are that long (mm)."""
    half = text_width(mark.text) / 2
    if mark.form == "line" and len(points) > 1:
        return _along(points[0], points[1])
    x, y = points[0]
    beside, above = half + arm + 1.5, arm + 1.5 + FIGURE_MM / 2
    places = [((x + side * beside, y), 0.0) for side in (1, -1)]
    places += [((x + side * (half - arm), y + step), 0.0) for step in (above, -above) for side in (1, 0, -1)]
    places += [((x + side * beside, y + step), 0.0) for step in (above, -above) for side in (1, -1)]
    return places + ring((x, y), 0.0, AROUND)


def _along(start: Point, end: Point) -> list[Place]:
    """Beside a line, at its middle and to either side of that."""
    length = math.dist(start, end) or 1.0
    direction = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    angle = readable(direction)
    up = (-math.sin(angle), math.cos(angle))
    return [
        (moved(moved(start, direction, share * length), up, step), angle)
        for step in (ASIDE_MM, -ASIDE_MM)
        for share in (0.5, 0.25, 0.75, 0.15, 0.85)
    ]
