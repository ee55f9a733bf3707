"""The inside face of a panel as it comes out: each stretch of the outline where the saw leaves it on the far side.

A straight edge keeps the plane of its bevel. A curve, a cut, a corner and a hole go through square, unless a curve is said
to be level. Where a square curve adjoins a bevelled edge the inside face has a step between them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from patterns import crossings
from patterns.affine import Affine
from patterns.carcass.board import Board
from patterns.carcass.panel import Panel
from patterns.carcass.planes import dot, plus, scaled
from patterns.curve import Curve
from patterns.freespace import Point
from patterns.stretch import Stretch

SAME_MM = 1e-6
LEAST_TURN = math.radians(5)
"""Lines that leave a corner at less than this angle to each other are parallel for the saw: there is a step."""


class Step(Struct, frozen=True):
    """Where the inside face jumps between a bevelled edge and a curve: the place on the outside line, and by how much
    (mm)."""

    at: Point
    amount: float
    key: str


class InnerFace(Struct, frozen=True, eq=False):
    """The inside face's boundary: a curve for each stretch that leaves anything on it, with the stretch's key, the steps
    between them as curves of their own, and what they are."""

    curves: tuple[tuple[str, Curve], ...]
    steps: tuple[Step, ...]


def inner_face(panel: Panel, stretches: Sequence[Stretch]) -> InnerFace:
    """Works it out in the coordinates of the board's drawing (not mirrored)."""
    moved = [_moved(panel, stretch) for stretch in stretches]
    count = len(moved)
    ends: list[tuple[float, float]] = [(0.0, float(len(curve))) for curve in moved]
    joins: list[Curve | None] = [None] * count
    steps: list[Step] = []
    for k in range(count):
        n = (k + 1) % count
        corner = stretches[k].curve.end
        if math.dist(moved[k].end, moved[n].start) <= SAME_MM:
            continue
        same_edge = stretches[k].edge and stretches[k].edge == stretches[n].edge  # a bevel stops where the curve begins
        meeting = None if same_edge else _meeting(moved[k], moved[n], panel.board.thickness)
        if meeting is not None:
            before, after = meeting
            ends[k] = (ends[k][0], before)
            ends[n] = (after, ends[n][1])
            continue
        joins[k] = Curve.line(moved[k].end, moved[n].start)
        amount = math.dist(moved[k].end, moved[n].start)
        steps.append(Step((float(corner[0]), float(corner[1])), amount, stretches[k].key))
    found: list[tuple[str, Curve]] = []
    for k in range(count):
        start, end = ends[k]
        piece = _between(moved[k], start, end)
        if piece is not None:
            found.append((stretches[k].key, piece))
        join = joins[k]
        if join is not None:
            found.append((f"{stretches[k].key}.step", join))
    return InnerFace(tuple(found), tuple(steps))


def _moved(panel: Panel, stretch: Stretch) -> Curve:
    """The stretch's line on the inside face, as long as on the outside one."""
    board = panel.board
    if stretch.kind == "straight":
        dx, dy = edge_shift(board, board.number_of(stretch.edge))
    elif stretch.edge and dict(panel.curves).get(stretch.edge) == "level" and stretch.kind in ("arch", "spline"):
        dx, dy = level_shift(board)
    else:
        return stretch.curve
    return stretch.curve.transformed(Affine.translation(dx, dy)) if math.hypot(dx, dy) > SAME_MM else stretch.curve


def edge_shift(board: Board, number: int) -> Point:
    """How far an edge's line on the inside face lies from that on the outside one, square to it."""
    normal = board.sides[number].plane.normal
    out = plus(normal, board.outside.normal, -dot(normal, board.outside.normal))
    size = math.sqrt(dot(out, out))
    away = board.thickness * dot(normal, board.outside.normal) / size**2
    frame = board.frame
    return dot(out, frame.x) * away, dot(out, frame.y) * away


def level_shift(board: Board) -> Point:
    """How a level line through the board comes out on the inside face."""
    x, y, _ = board.outside.normal
    away = scaled((-x, -y, 0.0), board.thickness / (x * x + y * y))
    in_face = plus(away, board.outside.normal, board.thickness)
    return dot(in_face, board.frame.x), dot(in_face, board.frame.y)


# -------------------------------------------------------------------- where two lines meet


def _meeting(before: Curve, after: Curve, thickness: float) -> tuple[float, float] | None:
    """The parameters at which a line ends and the next one begins, past their ends where need be (as straight lines); None
    where they run beside each other or meet too far off."""
    ahead, back = before.tangent(float(len(before))), after.tangent(0.0)
    turn = abs(math.atan2(ahead[0] * back[1] - ahead[1] * back[0], ahead[0] * back[0] + ahead[1] * back[1]))
    if min(turn, math.pi - turn) < LEAST_TURN:
        return None
    reach = 8.0 * thickness
    first = Curve.chain([before, Curve.line(before.end, before.end + reach * ahead)])
    second = Curve.chain([Curve.line(after.start - reach * back, after.start), after])
    found = crossings.between(first, second)
    near = [(t, u) for t, u in found if np.hypot(*(first.point(t) - before.end)) <= reach]
    if not near:
        return None
    t, u = min(near, key=lambda pair: float(np.hypot(*(first.point(pair[0]) - before.end))))
    count = float(len(before))
    end = t if t <= count else count + (t - count) * reach
    start = u - 1.0 if u >= 1.0 else (u - 1.0) * reach
    return end, start


def _between(curve: Curve, start: float, end: float) -> Curve | None:
    """A stretch of a curve; beyond its ends ``start`` and ``end`` count millimetres along the tangent."""
    count = float(len(curve))
    pieces = []
    low, high = max(start, 0.0), min(end, count)
    if start < 0.0:
        pieces.append(Curve.line(curve.start + start * curve.tangent(0.0), curve.start))
    if high - low > 1e-9:
        pieces.append(curve.between(low, high) if (low, high) != (0.0, count) else curve)
    if end > count:
        pieces.append(Curve.line(curve.end, curve.end + (end - count) * curve.tangent(count)))
    return Curve.chain(pieces) if pieces else None
