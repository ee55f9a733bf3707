"""What is left on an edge, said along it: to plane to, to fit, to round over."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from patterns.affine import Points
from patterns.blank import Blank, Edge
from patterns.boundary import place_at_station, point_at
from patterns.display import Display
from patterns.freespace import Point
from patterns.pattern import Role
from patterns.piece import AllowanceSpec, EdgeSpec, RoundOverSpec
from patterns.sketch import Place, Places, Sketch, moved, readable
from patterns.stretch import Stretch

TICK_MM = 8.0
"""A tick across an edge where a round-over begins or ends."""
INSIDE_MM = (5.0, 9.5, 14.0)
"""From an edge to the middle of the words along it: on the piece, where they stay when the paper is cut."""


def words(allowance: AllowanceSpec, display: Display) -> list[tuple[str, str]]:
    """What an edge's allowance says, each with a short key."""
    said = []
    if allowance.leave is not None:
        said.append(("leave", f"leave {display.length(allowance.leave.value)} outside the line"))
    if allowance.fit:
        said.append(("fit", "leave long, fit to the piece"))
    if allowance.round_over is not None:
        said.append(("round_over", _round_over_words(allowance.round_over, display)))
    return said


def _round_over_words(spec: RoundOverSpec, display: Display) -> str:
    faces = {"both": "both faces", "outside": "outside face", "inside": "inside face"}[spec.faces]
    where = " between the ticks" if spec.start is not None or spec.end is not None else ""
    return f"round over {display.length(spec.radius.value)}, {faces}{where}"


def draw_allowances(
    sketch: Sketch, edges: Sequence[EdgeSpec], stretches: Sequence[Stretch], blank: Blank, display: Display
) -> None:
    """Words along each edge that has an allowance, and ticks where a round-over ends."""
    for spec in edges:
        said = words(spec.allowance, display)
        edge = blank.edge(spec.name)
        if not said or edge is None:
            continue
        if spec.allowance.round_over is not None:
            _draw_limits(sketch, spec.allowance.round_over, stretches, blank, edge)
        places = Places(_places(stretches, blank, edge))
        for name, text in said:
            if places:
                sketch.label(f"edges.{spec.name}.{name}", text, places)


def _places(stretches: Sequence[Stretch], blank: Blank, edge: Edge) -> Iterator[Place]:
    """Inside the line, along it: half-way along the edge, then to either side; a row further in where that is taken.

    Half-way along the blank's edge, which stays where it is when a curve beside it changes.
    """
    found = []
    for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8):
        place = place_at_station(stretches, blank, edge.name, share * edge.length)
        if place is not None:
            curve = stretches[place.number].curve
            dx, dy = curve.derivative(place.t)
            speed = math.hypot(dx, dy)
            found.append((curve.point(place.t), (float(dx / speed), float(dy / speed))))
            yield _inside(*found[-1], INSIDE_MM[0])
    yield from (_inside(point, direction, distance) for distance in INSIDE_MM[1:] for point, direction in found)


def _inside(point: Points, direction: Point, distance: float) -> Place:
    return moved(point, (-direction[1], direction[0]), distance), readable(direction)


def _draw_limits(sketch: Sketch, spec: RoundOverSpec, stretches: Sequence[Stretch], blank: Blank, edge: Edge) -> None:
    for name, given in (("from", spec.start), ("to", spec.end)):
        if given is None:
            continue
        place = place_at_station(stretches, blank, edge.name, given.value)
        if place is not None:
            point = point_at(stretches, place)
            key = f"edges.{edge.name}.round_over.{name}"
            sketch.line(Role.MARK, point, moved(point, edge.inward, TICK_MM), key)
