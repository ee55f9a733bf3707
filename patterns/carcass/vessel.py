"""A vessel of equal staves on a regular plan: planters and tubs."""

from __future__ import annotations

import math
from functools import cached_property
from typing import Literal

from msgspec import Struct

from patterns.carcass.board import Board, Side
from patterns.carcass.planes import UP, Vector, scaled
from patterns.carcass.ring import TOP, Bevel, Joint, Wall, boards_of, edge_plane, wall_plane

Across = Literal["flats", "corners"]

_DOWN: Vector = (0.0, 0.0, -1.0)


class Vessel(Struct, frozen=True, dict=True):
    """The figures of a vessel in millimetres and radians. ``across`` is the distance across its plan at the bottom, over
    the flats or over the corners, of the outside or the inside faces (``at``); an odd number of staves is measured as twice
    the distance from the middle."""

    count: int
    across: float
    height: float
    splay: float
    thickness: float
    joint: Joint
    over: Across = "flats"
    at: Literal["outside", "inside"] = "outside"
    height_to: Literal["outside", "inside"] = "outside"
    top: Bevel | float = "level"
    bottom: Bevel | float = "level"

    @property
    def apothem(self) -> float:
        """From the middle of the plan to the outside of a stave at the bottom (mm)."""
        half = self.across / 2 * (math.cos(math.pi / self.count) if self.over == "corners" else 1.0)
        return half + self.thickness / math.cos(self.splay) if self.at == "inside" else half

    @cached_property
    def walls(self) -> tuple[Wall, ...]:
        """The staves, the first towards who stands before it."""
        return tuple(self._wall(k) for k in range(self.count))

    def _wall(self, number: int) -> Wall:
        turn = -math.pi / 2 + 2 * math.pi * number / self.count
        out: Vector = (math.cos(turn), math.sin(turn), 0.0)
        along: Vector = (-out[1], out[0], 0.0)
        foot = scaled(out, self.apothem)
        outside = wall_plane(out, foot, math.sin(self.splay), math.cos(self.splay))
        bottom = edge_plane(outside, foot, along, self.bottom, _DOWN, outside.normal)
        face = outside.moved(-self.thickness) if self.height_to == "inside" else outside
        reach = (face.offset + self.height * math.sin(self.splay)) / math.cos(self.splay)
        at = (out[0] * reach, out[1] * reach, self.height)
        return Wall(
            f"stave {number + 1}",
            outside,
            self.thickness,
            bottom,
            (Side(TOP, edge_plane(face, at, along, self.top, UP, outside.normal)),),
        )

    @property
    def joints(self) -> tuple[Joint, ...]:
        """Each stave with the next: at a butt it runs up to the next one's inside face, and covers the one before."""
        return tuple(Joint(self.joint.kind, "next", self.joint.rabbet, self.joint.proud) for _ in range(self.count))

    @cached_property
    def boards(self) -> tuple[Board, ...]:
        """The staves as boards."""
        return boards_of(self.walls, self.joints)
