"""Where a figure is as it is wanted: every size within a range, by bracketing and Brent's method.

Brent's method: R. P. Brent, Algorithms for Minimization without Derivatives (1973), chapter 4, as SciPy has it.
"""

from __future__ import annotations

from itertools import pairwise

from msgspec import Struct

from cli.ranges import Course, Function, Point, lowest_beside, negative
from cli.trials import Untried

EXACT = 1e-9
"""A figure this near to what is wanted (mm, degrees or a number) is there: the last bits of its arithmetic."""

MET = 1e-6
"""A root of a curve that only touches what is wanted, or that ends there, meets it to this; and no root misses by more."""

PLACE = 1e-12
"""A size is found to this (mm, degrees or a number)."""

SAME = 1e-6
"""Two roots nearer to one another than this part of the range are one."""


class Jump(Struct, frozen=True):
    """Where the figure jumps past what is wanted: from ``before`` to ``after``, without being there."""

    x: float
    before: float
    after: float


class Found(Struct, frozen=True):
    """The sizes at which the figure is as wanted, and where it jumps past it."""

    roots: tuple[float, ...]
    jumps: tuple[Jump, ...]


def roots_of(function: Function, course: Course, wanted: float) -> Found:
    """Every size in the course at which the function is ``wanted``, rising."""

    def off(x: float) -> float:
        return function(x) - wanted

    roots: list[float] = []
    jumps: list[Jump] = []
    for stretch in course.stretches:
        shifted = tuple(Point(point.x, point.y - wanted) for point in stretch)
        roots += [point.x for point in shifted if abs(point.y) <= EXACT]
        for left, right in pairwise(shifted):
            if min(abs(left.y), abs(right.y)) > EXACT and (left.y < 0.0) != (right.y < 0.0):
                _crossing(off, left, right, roots, jumps)
        for k in range(len(shifted)):
            roots += _touching(off, shifted, k)
        roots += [end.x for end in (shifted[0], shifted[-1]) if EXACT < abs(end.y) <= MET]
    return Found(tuple(_apart(roots, SAME * (course.high - course.low))), tuple(jumps))


def _crossing(off: Function, left: Point, right: Point, roots: list[float], jumps: list[Jump]) -> None:
    """Adds the root between two points on either side, or the jump that there is in its place."""
    from scipy.optimize import brentq  # late: only where a figure is solved for

    try:
        x = float(brentq(off, left.x, right.x, xtol=PLACE))
        at = off(x)
    except Untried:
        return
    if abs(at) <= MET:
        roots.append(x)
        return
    step = 2 * PLACE
    try:
        before, after = off(max(x - step, left.x)), off(min(x + step, right.x))
    except Untried:
        return
    if (before < 0.0) != (after < 0.0) and abs(after - before) > MET:
        jumps.append(Jump(x, before, after))
    else:  # steep, not broken
        roots.append(x)


def _touching(off: Function, stretch: tuple[Point, ...], k: int) -> list[float]:
    """Roots near a sample that comes nearest to 0 without reaching it: one where the curve touches, or two."""
    beside = [stretch[j].y for j in (k - 1, k + 1) if 0 <= j < len(stretch)]
    here = stretch[k].y
    side = 1.0 if here > 0.0 else -1.0
    if abs(here) <= EXACT or any(y * side < abs(here) for y in beside):
        return []
    if abs(here) > 2.0 * max((y * side - abs(here) for y in beside), default=0.0):
        return []  # too far off: a turn between samples goes no deeper than they differ
    upright: Function = off if side > 0.0 else negative(off)
    lifted = tuple(Point(point.x, point.y * side) for point in stretch)
    lowest = lowest_beside(upright, lifted, k)
    if lowest.y > EXACT:
        return [lowest.x] if lowest.y <= MET and lowest.x != stretch[k].x else []
    if lowest.y >= -EXACT:
        return [lowest.x]
    found: list[float] = []
    for j in (k - 1, k + 1):
        if 0 <= j < len(stretch):
            ends = sorted((lowest, lifted[j]), key=lambda point: point.x)
            _crossing(upright, ends[0], ends[1], found, [])
    if k in (0, len(stretch) - 1) and len(stretch) > 1:
        ends = sorted((lowest, lifted[k]), key=lambda point: point.x)
        _crossing(upright, ends[0], ends[1], found, [])
    return found


def _apart(roots: list[float], near: float) -> list[float]:
    """The roots, rising, each once."""
    found: list[float] = []
    for root in sorted(roots):
        if not found or root - found[-1] > near:
            found.append(root)
    return found
