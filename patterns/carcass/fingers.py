"""Finger joints on sloped corners: where the fingers lie along the true corner line, and the boards with them.

The cheeks are square to the corner line: those are the only planes that are square to the outside faces of both boards,
so a finger of the one slides into the gap of the other. The first and the last finger are bounded by the boards' level
edges instead, and take what is left over.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from patterns.carcass.board import Board, Side
from patterns.carcass.planes import Plane, Vector, cross, dot, meet, scaled, unit
from patterns.carcass.ring import BOTTOM, LEFT, RIGHT, Joint, Wall, corner_of, end_plane

Remainder = Literal["both ends", "bottom", "top"]
CutWay = Literal["tilted", "square"]
Owner = Literal["this", "next"]

LEAST_SHARE = 0.5
"""An end finger that would be thinner than this share of a width is joined to the one beside it."""


class Layout(Struct, frozen=True):
    """How fingers are laid out: the width of one (mm), or how many fingers and gaps there are; which board has the one at
    the bottom (at the top, if ``start`` says so); where what is left over goes; how much wider a gap is than its finger
    (mm), and how they are cut."""

    first: Owner
    width: float = 0.0
    count: int = 0
    remainder: Remainder = "both ends"
    play: float = 0.0
    cut: CutWay = "tilted"
    start: Literal["bottom", "top"] = "bottom"


class Comb(Struct, frozen=True):
    """The fingers of one corner. ``cheeks`` are distances (mm) along the corner line from its outside point at the bottom;
    ``length`` is how far both boards stand there. The board ``first`` has the finger below the first cheek, and so on in
    turn. ``width`` is that of a whole finger, ``thinnest`` the least thickness of the end ones anywhere."""

    first: Owner
    cheeks: tuple[float, ...]
    length: float
    width: float
    thinnest: float

    def owner(self, number: int) -> Owner:
        """Which board has the finger in interval ``number``, counted from the bottom."""
        return self.first if number % 2 == 0 else other_of(self.first)


def other_of(owner: Owner) -> Owner:
    """The other of a joint's two boards."""
    return "next" if owner == "this" else "this"


def comb_of(wall: Wall, following: Wall, layout: Layout) -> Comb:
    """Lays the fingers out along the corner of two walls. Raises ValueError where there is no room for two."""
    corner = corner_of(wall, following)
    low, high = _reach(wall, following, corner.start, corner.direction)
    length = min(
        _along(wall.outside, following.outside, top, corner.start, corner.direction) for top in _tops(wall, following)
    )
    width = length / layout.count if layout.count else layout.width
    cheeks = _spaced(length, width, layout)
    while cheeks and cheeks[0] - low < LEAST_SHARE * width:
        cheeks = cheeks[1:]
    while cheeks and high - cheeks[-1] < LEAST_SHARE * width:
        cheeks = cheeks[:-1]
    if not cheeks:
        raise ValueError("there is no room for two fingers")
    turned = layout.start == "top" and len(cheeks) % 2 == 1
    first = other_of(layout.first) if turned else layout.first
    return Comb(first, tuple(cheeks), length, width, min(cheeks[0] - low, high - cheeks[-1]))


def _tops(wall: Wall, following: Wall) -> tuple[Plane, Plane]:
    return wall.top_right, following.top_left


def _along(a: Plane, b: Plane, plane: Plane, start: Vector, direction: Vector) -> float:
    point = meet(a, b, plane)
    return sum((p - s) * d for p, s, d in zip(point, start, direction, strict=True))


def _reach(wall: Wall, following: Wall, start: Vector, direction: Vector) -> tuple[float, float]:
    """Between which distances along the corner line the joint is whole: above the highest place where one of its four
    lines (outside and inside of both boards) leaves the bottoms, and below the lowest where one reaches a top."""
    pairs = [(a, b) for a in (wall.outside, wall.inside) for b in (following.outside, following.inside)]
    bottoms = [_along(a, b, one.bottom, start, direction) for a, b in pairs for one in (wall, following)]
    tops = [_along(a, b, top, start, direction) for a, b in pairs for top in _tops(wall, following)]
    return max(bottoms), min(tops)


def _spaced(length: float, width: float, layout: Layout) -> list[float]:
    """The cheeks by the rule for what is left over."""
    if layout.count:
        return [width * k for k in range(1, layout.count)]
    whole = int(length / width + 1e-9)
    rest = length - whole * width
    if whole < 2 or (layout.remainder == "both ends" and whole < 1):
        return [length / 2] if length > width else []
    if layout.remainder == "top":
        return [width * k for k in range(1, whole + (rest > 1e-9 * width))]
    if layout.remainder == "bottom":
        return [length - width * k for k in range(whole - (rest <= 1e-9 * width), 0, -1)]
    first = (rest + width) / 2 if rest > 1e-9 * width else width
    return [first + width * k for k in range(whole if rest > 1e-9 * width else whole - 1)]


# -------------------------------------------------------------------- boards with their fingers


def boards_with_fingers(walls: Sequence[Wall], joints: Sequence[Joint], layouts: Sequence[Layout]) -> tuple[Board, ...]:
    """The boards of a ring whose joints are all fingered, tips, cheeks and roots as the planes that are cut."""
    count = len(walls)
    combs = [comb_of(wall, walls[(k + 1) % count], layouts[k]) for k, wall in enumerate(walls)]
    boards = []
    for k, wall in enumerate(walls):
        before, after = walls[k - 1], walls[(k + 1) % count]
        right = fingered_end(wall, after, joints[k], layouts[k], combs[k], "this")
        left = fingered_end(wall, before, joints[k - 1], layouts[k - 1], combs[k - 1], "next")
        sides = (Side(BOTTOM, wall.bottom), *right, *wall.over, *reversed(left))
        boards.append(Board(wall.name, wall.outside, wall.thickness, sides))
    return tuple(boards)


def fingered_end(wall: Wall, other: Wall, joint: Joint, layout: Layout, comb: Comb, own: Owner) -> tuple[Side, ...]:
    """The edge planes of one end, from the bottom up. ``own`` is which of the joint's two boards the wall is."""
    this, following = (wall, other) if own == "this" else (other, wall)
    corner = corner_of(this, following)
    edge = RIGHT if own == "this" else LEFT
    tip = end_plane(wall, other, joint, True)
    root = other.inside
    if layout.cut == "square":
        tip, root = (squared(wall, plane, corner.direction) for plane in (tip, root))
    start = dot(corner.direction, corner.start)
    sides: list[Side] = []
    for number in range(len(comb.cheeks) + 1):
        is_finger = comb.owner(number) == own
        if number:
            place = start + comb.cheeks[number - 1]
            was_finger = not is_finger
            plane = (
                Plane(corner.direction, place - layout.play / 4)
                if was_finger
                else Plane(scaled(corner.direction, -1.0), -(place + layout.play / 4))
            )
            sides.append(Side(edge, plane, "cheek", other.name))
        sides.append(Side(edge, tip if is_finger else root, "tip" if is_finger else "root", other.name))
    tops = (wall.top_right, other.top_left) if own == "this" else (wall.top_left, other.top_right)
    own_top, others_top = (_along(wall.outside, other.outside, top, corner.start, corner.direction) for top in tops)
    if sides[-1].kind == "root" and own_top > others_top + 1e-9:  # the wall goes on above the other
        sides += [Side(edge, tops[1].reversed(), "cheek", other.name), Side(edge, tip, "tip", other.name)]
    return tuple(sides)


def squared(wall: Wall, plane: Plane, along: Vector) -> Plane:
    """The plane square to the wall's faces, parallel to the corner line, that takes away no less than ``plane`` does."""
    out = unit(cross(along, wall.outside.normal))
    out = out if dot(out, plane.normal) > 0.0 else scaled(out, -1.0)
    across = Plane(along, 0.0)
    return Plane(out, min(dot(out, meet(face, plane, across)) for face in (wall.outside, wall.inside)))


def square_gap(wall: Wall, other: Wall) -> float:
    """How far (mm) a root that is cut square stands off the other board's inside face at its open side, square to that
    face: the thickness times the sine of the tilt that a true root has, which is the product of the two normals."""
    return wall.thickness * abs(dot(wall.outside.normal, other.outside.normal))
