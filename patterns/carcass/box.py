"""A box: four walls that lean, each by its own splay, on a rectangular plan."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cached_property
from typing import Literal

from msgspec import Struct, field

from patterns.carcass.board import Board, Side
from patterns.carcass.hood import Hood
from patterns.carcass.planes import UP, Plane, Vector, common_direction, meet, plus, scaled, unit
from patterns.carcass.ring import TOP, Bevel, Corner, Joint, Wall, boards_of, corner_of, edge_plane, wall_plane

WallName = str
"""One of ``WALLS``."""

WALLS: tuple[WallName, ...] = ("foot_board", "right_side", "head_board", "left_side")
"""Counter-clockwise seen from above, from the end where one stands."""

SIDES: tuple[WallName, ...] = ("left_side", "right_side")
ENDS: tuple[WallName, ...] = ("foot_board", "head_board")

_OUT: dict[WallName, Vector] = {
    "foot_board": (0.0, -1.0, 0.0),
    "right_side": (1.0, 0.0, 0.0),
    "head_board": (0.0, 1.0, 0.0),
    "left_side": (-1.0, 0.0, 0.0),
}
_DOWN: Vector = (0.0, 0.0, -1.0)

Face = Literal["outside", "inside"]


class Box(Struct, frozen=True, dict=True):
    """The figures of a box in millimetres and radians.

    ``length`` (foot to head) and ``width`` are those of the plan at the bottom, of the outside or the inside faces (``at``).
    ``heights`` are square to the bottom, to the arris of the face that ``height_to`` names: for each wall one at the end
    that is at its left (seen from outside) and one at its right. ``bevels`` is how a free edge is cut across the thickness,
    by wall and edge; level where nothing is said.
    """

    length: float
    width: float
    heights: Mapping[WallName, tuple[float, float]]
    splays: Mapping[WallName, float]
    thicknesses: Mapping[WallName, float]
    joint: Joint
    long_boards: Literal["sides", "ends"] = "sides"
    at: Face = "outside"
    height_to: Face = "outside"
    bevels: Mapping[tuple[WallName, str], Bevel | float | WallName] = field(default_factory=dict)
    hood: Hood | None = None

    @cached_property
    def walls(self) -> tuple[Wall, ...]:
        """The walls, in the order of ``WALLS``. Raises ValueError where two planes that should meet do not."""
        outsides = {name: self._outside(name) for name in WALLS}
        tops = {name: self._top(name, outsides) for name in WALLS}
        for (name, edge), bevel in self.bevels.items():
            if edge == "top" and bevel in WALLS:
                tops[name] = tops[bevel]
        return tuple(
            Wall(
                name,
                outsides[name],
                self.thicknesses[name],
                self._bottom(name, outsides[name]),
                self._over(name, tops[name], outsides),
            )
            for name in WALLS
        )

    def _over(self, name: WallName, top: Plane, outsides: Mapping[WallName, Plane]) -> tuple[Side, ...]:
        """The edges above, from the right end to the left."""
        plain = (Side(TOP, top),)
        return plain if self.hood is None else self.hood.over(name, plain, outsides)

    def _outside(self, name: WallName) -> Plane:
        out = _OUT[name]
        half = (self.width if name in SIDES else self.length) / 2
        splay = self.splays[name]
        plane = wall_plane(out, scaled(out, half), math.sin(splay), math.cos(splay))
        return plane.moved(self.thicknesses[name]) if self.at == "inside" else plane

    def _face(self, name: WallName, outside: Plane) -> Plane:
        return outside.moved(-self.thicknesses[name]) if self.height_to == "inside" else outside

    def _bottom(self, name: WallName, outside: Plane) -> Plane:
        """The edge that stands at z = 0: its outside arris is there, however it is cut."""
        bevel = self.bevels.get((name, "bottom"), "level")
        if bevel == "level":
            return Plane(_DOWN, 0.0)
        along = common_direction(outside, Plane(UP, 0.0))
        at = meet(outside, Plane(UP, 0.0), Plane.through((0.0, 0.0, 0.0), along))
        return edge_plane(outside, at, along, bevel, _DOWN, outside.normal)  # type: ignore[arg-type]

    def _arris(self, name: WallName, outsides: Mapping[WallName, Plane]) -> list[Vector]:
        """The ends of the top arris, at the corner lines and the wall's heights."""
        k = WALLS.index(name)
        face = self._face(name, outsides[name])
        return [
            meet(face, self._face(other, outsides[other]), Plane(UP, height))
            for other, height in zip((WALLS[k - 1], WALLS[(k + 1) % 4]), self.heights[name], strict=True)
        ]

    def off_its_top(self, name: WallName) -> float:
        """How far (mm) a wall's top, cut in the plane of another's, is from where its own height says."""
        outsides = {wall.name: wall.outside for wall in self.walls}
        top = self.walls[WALLS.index(name)].over[0].plane
        return max(abs(top.height_of(end)) for end in self._arris(name, outsides))

    def _top(self, name: WallName, outsides: Mapping[WallName, Plane]) -> Plane:
        """The edge through the arris at the wall's heights, from one corner line to the other."""
        face, ends = self._face(name, outsides[name]), self._arris(name, outsides)
        along = unit(plus(ends[1], ends[0], -1.0))
        bevel = self.bevels.get((name, "top"), "level")
        own = "level" if isinstance(bevel, str) and bevel in WALLS else bevel
        return edge_plane(face, ends[0], along, own, UP, outsides[name].normal)  # type: ignore[arg-type]

    @cached_property
    def joints(self) -> tuple[Joint, ...]:
        """The joint of each wall with the one after it."""
        is_side = [name in SIDES for name in WALLS]
        first = [side == (self.long_boards == "sides") for side in is_side]
        return tuple(
            Joint(self.joint.kind, "this" if this else "next", self.joint.rabbet, self.joint.proud) for this in first
        )

    @cached_property
    def corners(self) -> tuple[Corner, ...]:
        """The outside corner line of each wall with the one after it."""
        return tuple(corner_of(wall, self.walls[(k + 1) % 4]) for k, wall in enumerate(self.walls))

    @cached_property
    def boards(self) -> tuple[Board, ...]:
        """The walls as boards, without their fingers: as far as the tips reach."""
        return boards_of(self.walls, self.joints)

    @cached_property
    def hood_boards(self) -> tuple[Board, ...]:
        """The front board and the roof boards of a hood; none where there is none."""
        return self.hood.boards(self.walls) if self.hood is not None else ()
