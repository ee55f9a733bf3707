"""A hood over the head end of a box: sloped upper edges, a front board, and roof boards, each settled by its planes.

The roof is a row of planes over the walls, from the left eaves to the right ones: the undersides of its boards. The ridge is
level and runs along the piece. Whatever carries the roof ends at those planes, so what meets there meets by itself. With the
head board's normal (0, cos e, -sin e) and an underside's (sin r, 0, cos r) the tilt of the head board's sloped edge has the
sine sin(e) cos(r), and its line on the face rises by tan(r) / cos(e): the same problem as the backing of a hip rafter.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from patterns.carcass.board import Board, Side
from patterns.carcass.planes import UP, Plane, Vector, angle_between, common_direction, cross, dot, meet, plus, scaled

if TYPE_CHECKING:
    from patterns.carcass.ring import Wall

RoofJoint = Literal["mitre", "lap"]

ROOF, FRONT, RAIL = "roof", "front", "top"
_DOWN: Vector = (0.0, 0.0, -1.0)


class Hood(Struct, frozen=True, dict=True):
    """The figures of a hood in millimetres and radians.

    ``depth`` is level along the piece at the eaves, from the outside of the head board to that of the front. ``eaves`` is
    the height of the arris where the roof's underside leaves the outside of the sides. ``slopes`` rise from the eaves, one
    or two a side; with two, ``break_height`` is that of the line where they meet, above the eaves. ``flat`` is the width of
    a level top, None where there is a ridge; a single slope of 0 is one level board. ``front_lean`` is how far the front
    leans out of plumb towards the foot, None where it is parallel to the head board. The overhang at the eaves is level,
    those at the ends are square to the front and to the head board. Where the joint is a lap, the upper board reaches
    ``lap`` beyond the lower one's face, and ``lap_flat`` is left of the lower one's thin arris.
    """

    depth: float
    eaves: float
    slopes: tuple[float, ...]
    thickness: float
    front_thickness: float
    front_bottom: float
    break_height: float = 0.0
    flat: float | None = None
    front_lean: float | None = None
    eaves_overhang: float = 0.0
    front_overhang: float = 0.0
    back_overhang: float = 0.0
    joint: RoofJoint = "mitre"
    lap: float = 0.0
    lap_flat: float = 0.0

    @property
    def is_level(self) -> bool:
        """Whether the roof is one level board."""
        return len(self.slopes) == 1 and self.slopes[0] == 0.0

    # ---------------------------------------------------------------- planes

    def undersides(self, left: Plane, right: Plane) -> tuple[Plane, ...]:
        """The undersides of the roof boards from the left eaves to the right ones, over these outsides of the sides."""
        if self.is_level:
            return (Plane(UP, self.eaves),)
        rows = [self._slopes(side, sign) for side, sign in ((left, -1.0), (right, 1.0))]
        top = () if self.flat is None else (Plane(UP, self.flat_height(rows[0][-1], rows[1][-1])),)
        return (*rows[0], *top, *reversed(rows[1]))

    def _slopes(self, side: Plane, sign: float) -> list[Plane]:
        """The undersides over one side, from the eaves up."""
        x, z = _reach(side, self.eaves), self.eaves
        found = []
        for number, slope in enumerate(self.slopes):
            normal = (sign * math.sin(slope), 0.0, math.cos(slope))
            found.append(Plane.through((x, 0.0, z), normal))
            if number == 0 and len(self.slopes) > 1:
                x, z = x - sign * self.break_height / math.tan(slope), z + self.break_height
        return found

    def flat_height(self, left: Plane, right: Plane) -> float:
        """The height at which two slopes are ``flat`` apart."""
        run = _run(left) + _run(right)
        apart = _x_at(right, 0.0) - _x_at(left, 0.0)
        return (apart - (self.flat or 0.0)) / run

    def front_plane(self, head: Plane) -> Plane:
        """The outside of the front, which the sides' front edges lie in."""
        _, y, z = head.normal
        at: Vector = (0.0, (head.offset - z * self.eaves) / y - self.depth, self.eaves)
        if self.front_lean is None:
            return Plane.through(at, (0.0, -y, -z))
        return Plane.through(at, (0.0, -math.cos(self.front_lean), -math.sin(self.front_lean)))

    # ---------------------------------------------------------------- what carries it

    def over(self, name: str, plain: tuple[Side, ...], outsides: Mapping[str, Plane]) -> tuple[Side, ...]:
        """The edges above of a wall, from its right end to its left; ``plain`` are those without a hood."""
        if name == "foot_board":
            return plain
        roof = self.undersides(outsides["left_side"], outsides["right_side"])
        if name == "head_board":  # seen from outside, the left side is at its right
            return _named(roof)
        front = Side(FRONT, self.front_plane(outsides["head_board"]))
        if name == "right_side":
            return (Side(ROOF, roof[-1], meets="roof"), front, *plain)
        return (*plain, front, Side(ROOF, roof[0], meets="roof"))

    def boards(self, walls: Sequence[Wall]) -> tuple[Board, ...]:
        """The front board, then the roof boards from the left eaves to the right."""
        by_name = {wall.name: wall for wall in walls}
        left, right = by_name["left_side"], by_name["right_side"]
        head = by_name["head_board"].outside
        roof = self.undersides(left.outside, right.outside)
        front = self.front_plane(head)
        front_board = Board(
            "front_board",
            front,
            self.front_thickness,
            (
                Side("bottom", Plane(_DOWN, -self.front_bottom)),
                Side("right", right.inside, "joint", right.name),
                *_named(tuple(reversed(roof))),
                Side("left", left.inside, "joint", left.name),
            ),
        )
        return (front_board, *self._roof_boards(roof, left.outside, right.outside, front, head))

    def _roof_boards(
        self, roof: Sequence[Plane], left: Plane, right: Plane, front: Plane, head: Plane
    ) -> tuple[Board, ...]:
        ends = front.moved(self.front_overhang), head.moved(self.back_overhang)
        found = []
        for k, under in enumerate(roof):
            before = self._edge(roof, k, k - 1, left)
            after = self._edge(roof, k, k + 1, right)
            outside = under.moved(self.thickness)
            leans_right = under.normal[0] > 1e-12
            # Seen from above with the lower edge along the bottom: the front is at the right of a slope to the left.
            low, high = (after, before) if leans_right else (before, after)
            first, last = (ends[1], ends[0]) if leans_right else (ends[0], ends[1])
            found.append(
                Board(
                    roof_name(k, len(roof)),
                    outside,
                    self.thickness,
                    (Side("bottom", low), Side("right", first), Side("top", high), Side("left", last)),
                    self._trims(under, high, roof),
                )
            )
        return tuple(found)

    def _edge(self, roof: Sequence[Plane], number: int, beside: int, side: Plane) -> Plane:
        """The plane of a roof board's edge towards the board ``beside`` it, or towards the eaves."""
        under = roof[number]
        if not 0 <= beside < len(roof):
            return self._eaves_edge(under, side)
        other = roof[beside]
        if self.joint == "mitre":
            return _mitre(under, other, self.thickness)
        is_upper = abs(under.normal[0]) < abs(other.normal[0])
        if abs(under.normal[0]) == abs(other.normal[0]):  # at a ridge the two are alike, and are mitred
            return _mitre(under, other, self.thickness)
        if not is_upper:
            return other  # it ends under the upper board
        line = common_direction(under, other)
        out = _across(under, line, other.normal)
        beyond = other.moved(self.thickness)  # the lower board's upper face
        corner = meet(under, beyond, Plane(line, 0.0))
        return Plane(out, dot(out, corner) + self.lap)

    def _trims(self, under: Plane, high: Plane, roof: Sequence[Plane]) -> tuple[Plane, ...]:
        """Where the thin arris of a board under a lap is taken off, so that a flat is left on it."""
        if not self.lap_flat or high not in roof:
            return ()
        line = common_direction(under, high)
        out = _across(under, line, high.normal)
        lean = angle_between(under.normal, high.normal)  # between the bevel and the board's face
        arris = meet(under, high, Plane(line, 0.0))
        return (Plane(out, dot(out, arris) - self.lap_flat / math.tan(lean)),)

    def _eaves_edge(self, under: Plane, side: Plane) -> Plane:
        """Square to the board, so far beyond the side's outside that its underside overhangs level."""
        sign = math.copysign(1.0, side.normal[0])
        x = _reach(side, self.eaves) + sign * self.eaves_overhang
        at = (x, 0.0, (under.offset - under.normal[0] * x) / under.normal[2])
        out = (sign * under.normal[2], 0.0, -abs(under.normal[0]))
        return Plane.through(at, out)


def roof_name(number: int, count: int) -> str:
    """What roof board ``number`` of so many is called, counted from the left eaves."""
    if count == 1:
        return "roof_top"
    middle = (count - 1) / 2
    if number == middle:
        return "roof_top"
    side = "left" if number < middle else "right"
    each = count // 2
    place = number if number < middle else count - 1 - number
    level = "" if each == 1 else "lower_" if place == 0 else "upper_"
    return f"{level}roof_{side}"


def _named(roof: Sequence[Plane]) -> tuple[Side, ...]:
    """Edges under the roof, from the right end of a board to its left one."""
    count = len(roof)
    sides = []
    for k, plane in enumerate(roof):
        middle = (count - 1) / 2
        if count == 1:
            name = "top"
        elif k == middle:
            name = "flat"
        else:
            side = "right" if k < middle else "left"
            each = count // 2
            place = k if k < middle else count - 1 - k
            name = f"{'slope' if each == 1 else 'lower' if place == 0 else 'upper'}_{side}"
        sides.append(Side(name, plane, meets="roof"))
    return tuple(sides)


def _reach(side: Plane, z: float) -> float:
    """x of a side's outside at a height."""
    return (side.offset - side.normal[2] * z) / side.normal[0]


def _run(under: Plane) -> float:
    """How far a slope comes in for each mm that it rises."""
    return under.normal[2] / abs(under.normal[0])


def _x_at(under: Plane, z: float) -> float:
    return (under.offset - under.normal[2] * z) / under.normal[0]


def _across(face: Plane, line: Vector, towards: Vector) -> Vector:
    """The direction in a face square to a line, on the side where ``towards`` points."""
    out = cross(face.normal, line)
    return out if dot(out, towards) > 0.0 else scaled(out, -1.0)


def _mitre(under: Plane, other: Plane, thickness: float) -> Plane:
    """Through the lines where the undersides and where the upper faces of two boards meet."""
    line = common_direction(under, other)
    across = Plane(line, 0.0)
    low = meet(under, other, across)
    high = meet(under.moved(thickness), other.moved(thickness), across)
    normal = cross(line, plus(high, low, -1.0))
    out = _across(under, line, other.normal)
    return Plane.through(low, normal if dot(normal, out) > 0.0 else scaled(normal, -1.0))
