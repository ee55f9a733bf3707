"""A ring of walls: what a box and a vessel have in common. Each wall is a board that meets the one before and the one after.

Walls run counter-clockwise seen from above, so the wall after is at the right-hand end for whoever looks at a wall from
outside. A joint settles where each of its two boards ends; everything else follows from the planes.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from patterns.carcass.board import Board, Side
from patterns.carcass.planes import Plane, Vector, common_direction, cross, dot, meet, plus, scaled, unit

JointKind = Literal["finger", "rabbet", "butt", "mitre"]

BOTTOM, RIGHT, TOP, LEFT = "bottom", "right", "top", "left"


class Wall(Struct, frozen=True):
    """A wall before its ends are settled: its outside plane, its thickness, the plane of its bottom edge, and the edges
    above from its right end to its left, as one looks at its outside."""

    name: str
    outside: Plane
    thickness: float
    bottom: Plane
    over: tuple[Side, ...]

    @property
    def top_right(self) -> Plane:
        """The plane that ends it above at its right end."""
        return self.over[0].plane

    @property
    def top_left(self) -> Plane:
        """The same at its left end."""
        return self.over[-1].plane

    @property
    def inside(self) -> Plane:
        """The plane of its inside face."""
        return self.outside.moved(-self.thickness)


class Joint(Struct, frozen=True):
    """How a wall meets the one after it. ``long`` is "this" or "next", the board that reaches the outside at a butt or a
    rabbet. ``rabbet`` is how deep (mm) the rabbet is cut into the long board; ``proud`` how far fingers stand out."""

    kind: JointKind
    long: Literal["this", "next"] = "this"
    rabbet: float = 0.0
    proud: float = 0.0


class Corner(Struct, frozen=True):
    """The line where the outside planes of two walls meet: the point at z of the bottom planes, and its way up."""

    start: Vector
    direction: Vector


def corner_of(wall: Wall, following: Wall) -> Corner:
    """The outside corner line of two walls, from where both bottoms have been met. Raises ValueError where there is none.

    It starts at the higher of the two bottoms.
    """
    along = common_direction(wall.outside, following.outside)
    if along[2] < 0.0:
        along = scaled(along, -1.0)
    starts = [meet(wall.outside, following.outside, plane) for plane in (wall.bottom, following.bottom)]
    return Corner(max(starts, key=lambda point: dot(point, along)), along)


def mitre_plane(wall: Wall, other: Wall) -> Plane:
    """The plane through the outside and the inside corner line, whatever the thicknesses; the wood of ``wall`` inside.

    The two lines are parallel, since the faces of each board are. With equal thicknesses it halves the angle.
    """
    along = common_direction(wall.outside, other.outside)
    across = Plane(along, 0.0)
    outer, inner = meet(wall.outside, other.outside, across), meet(wall.inside, other.inside, across)
    normal = cross(along, plus(inner, outer, -1.0))
    if dot(normal, plus(other.outside.normal, wall.outside.normal, -1.0)) < 0.0:
        normal = scaled(normal, -1.0)
    return Plane.through(outer, normal)


def end_plane(wall: Wall, other: Wall, joint: Joint, is_long: bool) -> Plane:
    """Where ``wall`` ends at its joint with ``other``, tips of fingers and all."""
    if joint.kind == "mitre":
        return mitre_plane(wall, other)
    if joint.kind == "finger":
        return other.outside.moved(joint.proud)
    if is_long:
        return other.outside
    return other.inside.moved(joint.rabbet) if joint.kind == "rabbet" else other.inside


def boards_of(walls: Sequence[Wall], joints: Sequence[Joint]) -> tuple[Board, ...]:
    """The boards; joint k is that of wall k with the next. Raises ValueError where planes do not meet."""
    boards = []
    count = len(walls)
    for k, wall in enumerate(walls):
        before, after = walls[k - 1], walls[(k + 1) % count]
        left, right = joints[k - 1], joints[k]
        boards.append(
            Board(
                wall.name,
                wall.outside,
                wall.thickness,
                (
                    Side(BOTTOM, wall.bottom),
                    Side(RIGHT, end_plane(wall, after, right, right.long == "this"), "joint", after.name),
                    *wall.over,
                    Side(LEFT, end_plane(wall, before, left, left.long == "next"), "joint", before.name),
                ),
            )
        )
    return tuple(boards)


# -------------------------------------------------------------------- planes of a wall's faces and free edges

Bevel = Literal["level", "square", "plumb"]


def wall_plane(plan_normal: Vector, foot: Vector, splay_sin: float, splay_cos: float) -> Plane:
    """The plane that leans out of plumb by a splay through a level line: ``plan_normal`` is level and points outwards, and
    ``foot`` is a point of the line."""
    return Plane.through(foot, (plan_normal[0] * splay_cos, plan_normal[1] * splay_cos, -splay_sin))


def edge_plane(face: Plane, at: Vector, along: Vector, bevel: Bevel | float, outward: Vector, normal: Vector) -> Plane:
    """The plane of a free edge whose arris runs along ``along`` through ``at`` on a face.

    ``level``: level across the board; ``square``: square to the faces; ``plumb``: upright; a number: so many radians from
    square, positive where the outside face is the short one. ``outward`` is any direction that leads out of the wood
    there, ``normal`` that of the outside face. Raises ValueError where the edge would run along the face.
    """
    if bevel == "square" or isinstance(bevel, float):
        out = unit(cross(along, normal))
        out = out if dot(out, outward) > 0.0 else scaled(out, -1.0)
        if isinstance(bevel, float):
            import math

            out = plus(scaled(out, math.cos(bevel)), normal, math.sin(bevel))
        return Plane.through(at, out)
    across = (face.normal[0], face.normal[1], 0.0) if bevel == "level" else (0.0, 0.0, 1.0)
    out = unit(cross(along, across))
    return Plane.through(at, out if dot(out, outward) > 0.0 else scaled(out, -1.0))
