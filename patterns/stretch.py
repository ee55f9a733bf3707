"""The pieces a part's outline is made of: stretches of its boundary, holes, and the boards it is glued up from."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from patterns.affine import Affine
from patterns.crossings import nearest_to_each
from patterns.curve import Curve
from patterns.outline import Outline
from patterns.piece import AllowanceSpec, Given, HoleSpec

if TYPE_CHECKING:
    from patterns.arches import Arch
    from patterns.measured import Fitted

StretchKind = Literal["straight", "arch", "spline", "cut", "corner", "step", "glue"]

ON_CURVE_MM = 1e-6
"""A mark this near to a curve lies on it: the precision to which a given point is passed."""


class StationMark(Struct, frozen=True):
    """A point of a sweep that the maker gave or can check: a table's station, a springing, a crown.

    ``point`` is on the curve, in the part's coordinates (mm). ``tick`` is the unit vector along its tick: into the
    blank, square to the edge; at a springing along the springing line to the middle of the arch. ``depth`` is how far
    it lies inside the edge (mm). ``text`` is what is written beside it.
    """

    kind: Literal["station", "springing", "crown"]
    point: tuple[float, float]
    tick: tuple[float, float]
    depth: float
    text: str

    def transformed(self, affine: Affine) -> StationMark:
        """The mark under an affine map that keeps lengths; its figures stay."""
        (x, y), (dx, dy) = self.point, self.tick
        tick = (affine.a * dx + affine.c * dy, affine.b * dx + affine.d * dy)
        return replace(self, point=affine.point(x, y), tick=tick)


class Stretch(Struct, frozen=True, eq=False):
    """One run of the boundary, counter-clockwise, in the part's coordinates (mm).

    ``key`` says where it comes from and stays the same while sizes change ("edges.top", "cut[0]", "corners.top_left");
    ``edge`` is the blank's edge that it belongs to, empty for cuts and corners. ``span`` and ``rise`` (mm) are those
    of an arch, or of a table: the length of edge that it covers, and the most less the least depth on it. ``reach`` is
    the value that sets how far it goes into the blank (an arch's rise, a table's deepest row), where one is given.
    """

    key: str
    edge: str
    kind: StretchKind
    curve: Curve
    span: float = 0.0
    rise: float = 0.0
    arch: Arch | None = None
    fitted: Fitted | None = None
    allowance: AllowanceSpec = field(default_factory=AllowanceSpec)
    marks: tuple[StationMark, ...] = ()
    place: str = ""
    reach: Given | None = None

    def trimmed(self, t0: float, t1: float) -> Stretch:
        """The part of it between two parameters of its curve, with the marks that are still on it."""
        if t0 <= 0.0 and t1 >= len(self.curve):
            return self
        curve = self.curve.between(max(t0, 0.0), t1)
        if not self.marks:
            return replace(self, curve=curve)
        _, away = nearest_to_each(curve, np.array([mark.point for mark in self.marks]))
        marks = tuple(self.marks[k] for k in np.flatnonzero(away <= ON_CURVE_MM))
        return replace(self, curve=curve, marks=marks)

    def turned_round(self) -> Stretch:
        """The same stretch, run the other way."""
        return replace(self, curve=self.curve.reversed())

    def transformed(self, affine: Affine) -> Stretch:
        """The stretch under an affine map that keeps lengths."""
        marks = tuple(mark.transformed(affine) for mark in self.marks)
        return replace(self, curve=self.curve.transformed(affine), marks=marks)


class Hole(Struct, frozen=True, eq=False):
    """A hole, clockwise. ``centre`` (mm) is that of a circle or an elongated hole, else of the hole's box."""

    key: str
    spec: HoleSpec
    curve: Curve
    centre: tuple[float, float]


class GlueRun(Struct, frozen=True):
    """Where a glue line runs through the wood: its ends in the part's coordinates, and its length (mm)."""

    key: str
    start: tuple[float, float]
    end: tuple[float, float]

    @property
    def length(self) -> float:
        """Its length in mm."""
        return math.dist(self.start, self.end)


class Board(Struct, frozen=True, eq=False):
    """One piece of wood of a part that is cut out before it is glued up; it keeps the part's coordinates (mm).

    ``number`` counts from 1 at the bottom (at the left where the grain runs across). ``strip`` are the two heights
    (distances from the left) between which it lies.
    """

    number: int
    outline: Outline
    stretches: tuple[Stretch, ...]
    holes: tuple[Hole, ...]
    strip: tuple[float, float]
    glue: tuple[GlueRun, ...]
