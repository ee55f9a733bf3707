"""A blank: the straight-sided shape a part is cut from, and the frame of each of its edges.

An edge measures in stations (mm along it) and depths (mm square to it, into the blank).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

from msgspec import Struct

from patterns.affine import Affine
from patterns.curve import Curve
from patterns.errors import Problem
from patterns.outline import Outline
from patterns.piece import BlankSpec

LONGEST_MM = 12_000.0
"""No part is longer: beyond this the unit is far likelier wrong than the part."""

PARALLEL = 1e-9
"""Two edges whose directions differ by less than this sine are parallel."""

RUNS_BACK = frozenset({"top", "left"})
"""Edges of a four-sided blank whose stations run against the boundary: left to right on top, bottom to top on left."""

Point = tuple[float, float]


class Edge(Struct, frozen=True, dict=True):
    """One side of a blank. ``start`` and ``end`` follow its stations; ``forward``: the boundary does too."""

    name: str
    start: Point
    end: Point
    forward: bool

    @property
    def length(self) -> float:
        """Its length in mm."""
        return math.dist(self.start, self.end)

    @property
    def direction(self) -> Point:
        """The unit vector along its stations."""
        length = self.length
        return (self.end[0] - self.start[0]) / length, (self.end[1] - self.start[1]) / length

    @property
    def inward(self) -> Point:
        """The unit vector square to it, into the blank."""
        x, y = self.direction
        return (-y, x) if self.forward else (y, -x)

    @cached_property
    def to_part(self) -> Affine:
        """The map from (station, depth) to the part's coordinates."""
        (ux, uy), (nx, ny) = self.direction, self.inward
        return Affine(ux, uy, nx, ny, *self.start)

    @cached_property
    def from_part(self) -> Affine:
        """The map from the part's coordinates to (station, depth)."""
        return self.to_part.inverse()

    def runs_beside(self, other: Edge) -> bool:
        """Whether the two are parallel."""
        (ax, ay), (bx, by) = self.direction, other.direction
        return abs(ax * by - ay * bx) <= PARALLEL


class Blank(Struct, frozen=True, dict=True):
    """The straight-sided shape: ``edges[k]`` runs from ``vertices[k]`` to the next, counter-clockwise."""

    spec: BlankSpec
    vertices: tuple[Point, ...]
    edges: tuple[Edge, ...]

    @classmethod
    def of(cls, spec: BlankSpec) -> Blank:
        """The blank as described; see ``problems`` for whether it can be worked from."""
        corners = spec.vertices
        edges = []
        for k, name in enumerate(spec.edge_names):
            start, end = corners[k], corners[(k + 1) % len(corners)]
            back = (
                name not in ("bottom", "right")
                if spec.kind == "panel"
                else spec.kind != "polygon" and name in RUNS_BACK
            )
            edges.append(Edge(name, end, start, False) if back else Edge(name, start, end, True))
        return cls(spec, corners, tuple(edges))

    def edge(self, name: str) -> Edge | None:
        """The edge of that name."""
        return next((edge for edge in self.edges if edge.name == name), None)

    def opposite(self, edge: Edge) -> Edge | None:
        """The edge across from ``edge`` where the blank has four sides and the two are parallel, else None."""
        if self.spec.kind == "polygon" or len(self.edges) != 4:
            return None
        other = self.edges[(self.edges.index(edge) + 2) % 4]
        return other if edge.runs_beside(other) else None

    def neighbours(self, edge: Edge) -> tuple[Edge, Edge]:
        """The edges that meet ``edge`` at its first and at its last station."""
        k, n = self.edges.index(edge), len(self.edges)
        before, after = self.edges[k - 1], self.edges[(k + 1) % n]
        return (before, after) if edge.forward else (after, before)

    def far_end(self, edge: Edge) -> str:
        """What the end is called to which the stations of ``edge`` run."""
        if self.spec.kind == "polygon":
            return "end"
        return "right" if edge.name in ("bottom", "top") else "top"

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """(least x, least y, greatest x, greatest y) in mm."""
        xs, ys = zip(*self.vertices, strict=True)
        return min(xs), min(ys), max(xs), max(ys)

    @property
    def middle_x(self) -> float:
        """x of the upright line half-way along it (mm)."""
        return (self.bounds[0] + self.bounds[2]) / 2.0

    @cached_property
    def is_convex(self) -> bool:
        """Whether no corner turns inward."""
        return all(turn >= -PARALLEL for turn in _turns(self.vertices))

    @cached_property
    def outline(self) -> Outline:
        """The blank as an outline."""
        return Outline(self.boundary)

    @cached_property
    def boundary(self) -> Curve:
        """Its straight boundary, counter-clockwise."""
        return Curve.polyline(self.vertices, closed=True)


def problems(spec: BlankSpec) -> list[Problem]:
    """What makes the blank impossible to work from: sizes that are not positive, an unlikely length, a bad polygon."""
    found = [
        Problem(given.place, f"{given.written}: the blank's {key} has to be more than 0")
        for key, given in spec.figures
        if _must_be_positive(spec, key) and given.value <= 0.0
    ]
    if found:
        return found
    if spec.kind == "polygon" and (words := _polygon_trouble(spec.vertices)):
        return [Problem(spec.place, words)]
    xs, ys = zip(*spec.vertices, strict=True)
    longest = max(max(xs) - min(xs), max(ys) - min(ys))
    if longest > LONGEST_MM:
        figures = [given for _, given in spec.figures if given.value > LONGEST_MM]
        place = figures[0].place if figures else spec.place
        written = f"{figures[0].written} is " if figures else "the blank is "
        return [Problem(place, f"{written}{longest / 1000:.4g} m long: is the unit right? A part is at most 12 m")]
    return []


def _must_be_positive(spec: BlankSpec, key: str) -> bool:
    return spec.kind != "polygon" and key != "overhang_left"


def _turns(corners: Sequence[Point]) -> list[float]:
    """At each corner the sine of the angle the boundary turns by; positive to the left."""
    result = []
    for k, (x, y) in enumerate(corners):
        (ax, ay), (bx, by) = corners[k - 1], corners[(k + 1) % len(corners)]
        ux, uy, vx, vy = x - ax, y - ay, bx - x, by - y
        size = math.hypot(ux, uy) * math.hypot(vx, vy)
        result.append((ux * vy - uy * vx) / size if size else 0.0)
    return result


def _polygon_trouble(corners: Sequence[Point]) -> str:
    count = len(corners)
    if count < 3:
        return f"a blank needs at least three vertices, not {count}"
    for k, corner in enumerate(corners):
        if math.dist(corner, corners[(k + 1) % count]) < 1e-6:
            return f"vertices {k + 1} and {(k + 1) % count + 1} are the same point"
    for k in range(count):
        for m in range(k + 2, count - (k == 0)):
            if _sides_cross(corners[k], corners[k + 1], corners[m], corners[(m + 1) % count]):
                sides = f"the side after vertex {k + 1} crosses the side after vertex {m + 1}"
                return f"{sides}: list the vertices in order round the blank"
    area = (
        sum(x * corners[(k + 1) % count][1] - corners[(k + 1) % count][0] * y for k, (x, y) in enumerate(corners)) / 2
    )
    if abs(area) < 1e-6:
        return "the vertices lie on one line: the blank has no area"
    if area < 0:
        return "the vertices run clockwise: list them counter-clockwise (to the right along the bottom, then up)"
    return ""


def _sides_cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0
