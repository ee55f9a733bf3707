"""Cuts from edge to edge: the line of a cut, which side of it falls away, and the outline that is left."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from patterns.affine import Affine, Points
from patterns.blank import Blank
from patterns.boundary import Place, curve_of, place_at_station, place_of, point_at, run_between
from patterns.crossings import between
from patterns.curve import Curve
from patterns.display import Display
from patterns.errors import PatternError, Problem
from patterns.fitting import TableError, through_points
from patterns.outline import Outline
from patterns.piece import CutSpec
from patterns.stretch import Stretch
from patterns.wording import key_in_words

MEETS_MM = 1e-4
"""A reflected cut reaches the outline if it ends this near to it: a part meant to be alike on both sides may differ by
the rounding of its spline."""

Line = list[Stretch]


def with_cut(stretches: Line, spec: CutSpec, key: str, blank: Blank, display: Display) -> Line:
    """The boundary after the cut, and after its reflection where there is one. Raises PatternError."""
    start, end = _ends(stretches, spec, blank, display)
    curve = _curve(spec, point_at(stretches, start), point_at(stretches, end), blank)
    left = _cut(stretches, curve, start, end, spec, key, blank, spec.waste, display)
    if not spec.mirror:
        return left
    twin = curve.transformed(Affine.reflection_x(blank.middle_x))
    places = [place_of(left, point, MEETS_MM) for point in (twin.start, twin.end)]
    for place, point in zip(places, (twin.start, twin.end), strict=True):
        if place is None:
            where = _words(point, display)
            raise PatternError.of(spec.place, f"the cut's reflection would end at {where}, which is not on the outline")
    waste = _mirrored_name(spec.waste, blank) if spec.waste else ""
    first, last = places
    if first is None or last is None:  # told above
        return left
    return _cut(left, twin, first, last, spec, f"{key}/mirror", blank, waste, display)


def _ends(stretches: Line, spec: CutSpec, blank: Blank, display: Display) -> tuple[Place, Place]:
    found: list[Place] = []
    problems: list[Problem] = []
    for name, station in ((spec.start_edge, spec.start_station), (spec.end_edge, spec.end_station)):
        edge = blank.edge(name)
        if edge is None:
            known = ", ".join(e.name for e in blank.edges)
            problems.append(Problem(station.place, f'the blank has no edge "{name}"; its edges are {known}'))
            continue
        place = place_at_station(stretches, blank, name, station.value)
        if place is not None:
            found.append(place)
        elif not 0.0 <= station.value <= edge.length:
            runs = f"edges.{name} runs from 0 to {display.at_most(edge.length)}"
            problems.append(Problem(station.place, f"{station.written} is beyond the edge: {runs}"))
        else:
            problems.append(Problem(station.place, f"{station.written}: nothing is left of edges.{name} there"))
    if problems:
        raise PatternError(problems)
    return found[0], found[1]


def _curve(spec: CutSpec, start: Sequence[float] | Points, end: Sequence[float] | Points, blank: Blank) -> Curve:
    if not spec.points and spec.ends == "natural":
        if math.dist(start, end) <= MEETS_MM:
            raise PatternError.of(
                spec.place, "the cut starts and ends at the same point; give it points to run through"
            )
        return Curve.line(start, end)
    points = np.array([tuple(start), *((x.value, y.value) for x, y in spec.points), tuple(end)])
    first, last = _directions(spec, blank)
    try:
        return through_points(points, first, last)
    except TableError as error:
        given = spec.points[min(max(error.index - 1, 0), len(spec.points) - 1)][0] if spec.points else None
        raise PatternError.of(given.place if given else spec.place, error.what) from error


def _directions(spec: CutSpec, blank: Blank) -> tuple[float | None, float | None]:
    """The directions at the cut's ends (radians): free, square to the edges, or as given."""
    if spec.ends == "natural":
        return None, None
    if spec.ends != "clamped":
        return spec.ends[0].value, spec.ends[1].value
    first, last = blank.edge(spec.start_edge), blank.edge(spec.end_edge)
    if first is None or last is None:
        return None, None
    outward = (-last.inward[0], -last.inward[1])
    return math.atan2(first.inward[1], first.inward[0]), math.atan2(outward[1], outward[0])


def _cut(
    stretches: Line,
    curve: Curve,
    start: Place,
    end: Place,
    spec: CutSpec,
    key: str,
    blank: Blank,
    waste: str,
    display: Display,
) -> Line:
    """One cut: what is left of the boundary, closed by the cut's line."""
    _stays_inside(stretches, curve, spec, display)
    cut = Stretch(key, "", "cut", curve, span=math.dist(curve.start, curve.end), place=spec.place)
    sides = [
        [*run_between(stretches, start, end), cut.turned_round()],
        [*run_between(stretches, end, start), cut],
    ]
    areas = [abs(Outline(curve_of(side)).area) for side in sides]
    if not waste:
        return sides[0] if areas[0] >= areas[1] else sides[1]
    falls = _waste_side(sides, blank, waste, spec)
    return sides[1 - falls]


def _stays_inside(stretches: Line, curve: Curve, spec: CutSpec, display: Display) -> None:
    for stretch in stretches:
        for t, _ in between(curve, stretch.curve):
            point = curve.point(t)
            if min(math.dist(point, curve.start), math.dist(point, curve.end)) > 10 * MEETS_MM:
                where = _words(point, display)
                words = f"the cut runs into {key_in_words(stretch.key)} at {where}, before it reaches its end"
                raise PatternError.of(spec.place, words)
    middle = curve.point(len(curve) / 2)
    if not bool(Outline(curve_of(stretches)).contains(middle[None])[0]):
        raise PatternError.of(spec.place, f"the cut runs outside the part (at {_words(middle, display)})")


def _waste_side(sides: Sequence[Line], blank: Blank, waste: str, spec: CutSpec) -> int:
    """The number of the side that holds the edge or corner named as waste."""
    if waste in blank.spec.corner_names:
        k = blank.spec.corner_names.index(waste)
        pair = (blank.edges[k - 1].name, blank.edges[k].name)
        for number, side in enumerate(sides):
            edges = [stretch.edge for stretch in side]
            if pair in pairwise(edges):
                return number
        raise PatternError.of(spec.place, f"waste: the corner {waste} is gone already; name another corner or edge")
    holding = [number for number, side in enumerate(sides) if any(s.edge == waste for s in side)]
    if len(holding) == 1:
        return holding[0]
    if holding:
        raise PatternError.of(
            spec.place, f"waste: edges.{waste} is on both sides of the cut; name a corner or another edge"
        )
    known = ", ".join([*(edge.name for edge in blank.edges), *blank.spec.corner_names])
    raise PatternError.of(spec.place, f'waste: nothing is left of "{waste}" here; the blank has {known}')


def _mirrored_name(name: str, blank: Blank) -> str:
    """The edge or corner that ``name`` becomes when the blank is turned over left to right; itself if there is none."""
    over = Affine.reflection_x(blank.middle_x)

    def middle_of(edge_number: int) -> tuple[float, float]:
        edge = blank.edges[edge_number]
        return (edge.start[0] + edge.end[0]) / 2, (edge.start[1] + edge.end[1]) / 2

    corners = dict(zip(blank.spec.corner_names, blank.vertices, strict=True))
    edges = {edge.name: middle_of(k) for k, edge in enumerate(blank.edges)}
    for places in (edges, corners):
        if name in places:
            image = over.point(*places[name])
            return next((n for n, point in places.items() if math.dist(point, image) <= MEETS_MM), name)
    return name


def _words(point: Sequence[float] | Points, display: Display) -> str:
    return f"{display.length(float(point[0]))}, {display.length(float(point[1]))}"
