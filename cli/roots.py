"""Where a figure is as it is wanted: every size within a range, by bracketing and Brent's method.

What lies between two samples is told from how the figure runs there: a crossing, a touch, or two crossings with a turn
between them. A curve that turns twice between two neighbouring samples may hide roots there.

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

PROBE = 1e-3
"""How far on the way to the next sample it is told whether a curve falls or rises."""

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
        for k in _dips(off, shifted):
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


def _dips(off: Function, stretch: tuple[Point, ...]) -> list[int]:
    """The samples after which the curve turns towards 0, and away from it before the next one, both being on one side.

    Looked at only where 0 is nearer than twice what the samples near by differ: a dip between them goes no deeper.
    """
    found = []
    pairs = list(pairwise(stretch))
    for k, (left, right) in enumerate(pairs):
        heights = (abs(left.y), abs(right.y))
        if max(heights) <= EXACT or (min(heights) > EXACT and (left.y < 0.0) != (right.y < 0.0)):
            continue
        near_by = max(abs(after.y - before.y) for before, after in pairs[max(k - 1, 0) : k + 2])
        if min(heights) <= 2.0 * near_by and _falls(off, left, right) and _falls(off, right, left):
            found.append(k)
    return found


def _falls(off: Function, start: Point, end: Point) -> bool:
    """Whether the curve sets out towards 0, on the way from one sample to another."""
    try:
        there = off(start.x + (end.x - start.x) * PROBE)
    except Untried:
        return False
    return (there - start.y) * _side(start, end) < 0.0


def _side(left: Point, right: Point) -> float:
    """The side of 0 on which two samples are; one of them may be at 0."""
    return 1.0 if max(left.y, right.y, key=abs) > 0.0 else -1.0


def _touching(off: Function, stretch: tuple[Point, ...], k: int) -> list[float]:
    """The roots between two samples on one side of 0: one where the curve only touches it, or two."""
    left, right = stretch[k], stretch[k + 1]
    side = _side(left, right)
    upright: Function = off if side > 0.0 else negative(off)
    lifted = (Point(left.x, left.y * side), Point(right.x, right.y * side))
    lowest = lowest_beside(upright, lifted, 0 if lifted[0].y < lifted[1].y else 1)
    if lowest.y > MET or lowest.x in (left.x, right.x):
        return []
    if abs(lowest.y) <= EXACT or lowest.y > 0.0:
        return [lowest.x]
    found: list[float] = []
    _crossing(upright, lifted[0], lowest, found, [])
    _crossing(upright, lowest, lifted[1], found, [])
    return found


def _apart(roots: list[float], near: float) -> list[float]:
    """The roots, rising, each once."""
    found: list[float] = []
    for root in sorted(roots):
        if not found or root - found[-1] > near:
            found.append(root)
    return found
