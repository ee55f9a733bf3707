"""Centre marks and figures of holes, and the marks and notes that the maker asks for."""

from __future__ import annotations

from collections.abc import Sequence

from patterns.display import Display
from patterns.freespace import Point
from patterns.pattern import Role
from patterns.piece import MarkSpec
from patterns.sketch import FIGURE_MM, Place, Sketch, ring, text_width
from patterns.stretch import Hole

CROSS_MM = 6.0
"""Half of a centre mark: an arm is no longer than a long dash, so that its middle is always ink."""
RIM_MM = 3.0
"""How far a tick at a large hole's rim reaches to either side of it."""
LARGE_MM = 24.0
"""Holes from this size on have ticks at their rim too."""

AROUND = (7.0, 11.0, 16.0, 22.0, 30.0)


def draw_holes(sketch: Sketch, holes: Sequence[Hole], display: Display) -> None:
    """A cross at each centre, ticks at the rim of large holes, and the hole's figure."""
    for hole in holes:
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
        text = _hole_words(hole, display)
        if text:
            sketch.label(f"{hole.key}.figure", text, _places(hole, text))


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
    return inside + outside + further


def draw_marks(sketch: Sketch, marks: Sequence[MarkSpec]) -> None:
    """Centre marks, lines and notes, as given."""
    for number, mark in enumerate(marks):
        key = f"mark[{number}]"
        points = [(x.value, y.value) for x, y in mark.points]
        if not points:
            continue
        if mark.form == "centre":
            _cross(sketch, points[0], key)
        elif mark.form == "line" and len(points) > 1:
            sketch.line(Role.MARK, points[0], points[1], key)
        if mark.text:
            at = points[0] if mark.form != "line" else _middle(points[0], points[1])
            _words(sketch, mark, key, at)


def _middle(start: Point, end: Point) -> Point:
    return (start[0] + end[0]) / 2, (start[1] + end[1]) / 2


def _words(sketch: Sketch, mark: MarkSpec, key: str, at: Point) -> None:
    if mark.form == "note":
        places = ring(at, 0.0, AROUND[:3])
    else:
        beside = CROSS_MM + 1.5 + text_width(mark.text) / 2
        places = [((at[0] + beside, at[1]), 0.0), ((at[0] - beside, at[1]), 0.0), *ring(at, 0.0, AROUND)[1:]]
    sketch.label(f"{key}.text", mark.text, places)
