"""The line of a router template, and what the bit that is guided by it reaches of the true line.

The *body* is the side of the true line where the template lies. It is the part itself, or, for a template that
surrounds the part, all that is round it: a window whose opening the router clears. An outline's curves have the part
on their left, so the body is on the left (+1), or on the right (-1).

The template is the true line moved into the body by d = (guide - bit) / 2. The bit's axis then keeps half the guide
from it, and the cut is the axis moved back by half the bit. So inside corners of the body, and curves tighter than the
bit, keep some wood. The bushing passes over exactly the same places, since its moved line is as much wider as the
bushing is. At an outer corner the guide swings round the template's corner, and the bit rounds the true corner with
radius d.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from msgspec import Struct

from patterns.affine import Points
from patterns.crossings import nearest, nearest_to_each
from patterns.curve import JOIN_MM, Curve
from patterns.errors import PatternError
from patterns.outline import Outline
from patterns.parallel import Trimmed, parallel
from patterns.routerguide import Guide

LEAST_MM = 0.05
"""Less than this left or lost is no more than a stroke of sandpaper."""

_SAMPLES = 65

Point = tuple[float, float]


class TightPlace(Struct, frozen=True, eq=False):
    """Where the bit can't follow the true line, at the point ``at`` (mm).

    ``inside``: it leaves wood, at most ``amount`` mm from the line, to be cleaned by hand. ``outer``: it takes off as
    much. ``hole``: it does not go into the hole at all. ``radius`` is that of the true line there (mm): 0 for a corner,
    infinite where the line comes too near to itself. ``cut`` is what the bit does there.
    """

    kind: Literal["inside", "outer", "hole"]
    at: Point
    radius: float
    amount: float
    cut: Curve | None = None


class RouterLines(Struct, frozen=True, eq=False):
    """The template's outline, the lines that the bit cuts to, and the places where these are not the true line.

    Holes are those that the router cuts; ``others`` are left to a drill.
    """

    template: Outline
    cuts: tuple[Curve, ...]
    places: tuple[TightPlace, ...]
    others: tuple[Curve, ...] = ()


def router_lines(outline: Outline, guide: Guide, around: bool) -> RouterLines:
    """The lines for a template of the part itself, or ``around`` it: then of its boundary alone.

    Raises PatternError, in words, where no template in one piece can be made.
    """
    body = -1.0 if around else 1.0
    moved = [_moved(outline.boundary, guide, body)]
    cuts = list(_cut(moved[0], guide, body))
    places = _places(outline.boundary, cuts, guide, body)
    others: list[Curve] = list(outline.holes) if around else []
    for hole in () if around else outline.holes:
        template = _moved(hole, guide, body)
        cut = _cut(template, guide, body)
        if cut:
            moved.append(template)
            cuts += cut
            places += _places(hole, list(cut), guide, body)
        else:
            others.append(hole)
            places.append(TightPlace("hole", _middle(hole), math.inf, 0.0))
    result = Outline(moved[0], tuple(moved[1:]))
    if result.problems():
        raise PatternError.of("", f"a hole would meet another, or the edge, in the template; {_REMEDY}")
    return RouterLines(result, tuple(cuts), tuple(places), tuple(others))


_REMEDY = "take a bushing that is nearer to its bit"


def _moved(curve: Curve, guide: Guide, body: float) -> Curve:
    found = [one for one in parallel(curve, body * guide.distance).curves if one.is_closed]
    if not found:
        raise PatternError.of("", f"nothing would be left of the template; {_REMEDY}")
    if len(found) > 1:
        what = f"the template would fall into {len(found)} pieces, or close up, where the part is narrow"
        raise PatternError.of("", f"{what}; {_REMEDY}")
    return found[0]


def _cut(template: Curve, guide: Guide, body: float) -> tuple[Curve, ...]:
    """What the bit cuts to, guided along one line of the template; nothing where the guide does not go in."""
    axes = [one for one in parallel(template, -body * guide.diameter / 2.0).curves if one.is_closed]
    return tuple(cut for axis in axes for cut in parallel(axis, body * guide.bit / 2.0).curves)


# -------------------------------------------------------------------- where it can't follow


def _places(curve: Curve, cuts: list[Curve], guide: Guide, body: float) -> list[TightPlace]:
    lost = [("inside", one) for one in parallel(curve, -body * guide.bit / 2.0).trimmed]
    if guide.distance > 0.0:
        lost += [("outer", one) for one in parallel(curve, body * guide.distance).trimmed]
    found = []
    for kind, one in lost:
        at, amount = _farthest(curve, one, cuts)
        if amount >= LEAST_MM:
            word: Literal["inside", "outer"] = "inside" if kind == "inside" else "outer"
            found.append(TightPlace(word, at, one.radius, amount, _stretch(curve, one, cuts)))
    return found


def _farthest(curve: Curve, lost: Trimmed, cuts: list[Curve]) -> tuple[Point, float]:
    """The point of a stretch that is farthest from what the bit cuts, and how far (mm)."""
    own = curve.point(np.linspace(lost.start, lost.end, _SAMPLES) % len(curve))
    points: Points = np.concatenate([np.array([lost.at]), own])
    if not cuts:
        return lost.at, math.inf
    away = np.min([nearest_to_each(cut, points)[1] for cut in cuts], axis=0)
    best = 0 if away[0] >= away.max() - 1e-6 else int(away.argmax())
    return (float(points[best, 0]), float(points[best, 1])), float(away[best])


def _stretch(curve: Curve, lost: Trimmed, cuts: list[Curve]) -> Curve | None:
    """What the bit cuts in the place of a stretch; None where the line is not one."""
    ends = [curve.point(t % len(curve)) for t in (lost.start, lost.end)]
    for cut in cuts:
        (first, off), (last, other) = (nearest(cut, end) for end in ends)
        if max(off, other) > LEAST_MM:
            continue
        if last - first > JOIN_MM:
            return cut.between(first, last)
        runs = [(first, float(len(cut))), (0.0, last)]
        return Curve.chain([cut.between(a, b) for a, b in runs if b - a > JOIN_MM]) if cut.is_closed else None
    return None


def _middle(curve: Curve) -> Point:
    x0, y0, x1, y1 = curve.bounds
    return (x0 + x1) / 2.0, (y0 + y1) / 2.0
