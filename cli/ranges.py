"""How a figure runs as one size goes through its range: samples, stretches without gaps, least and most, steps.

A figure may be undefined in places (the piece can't be made with such a size). Such places are gaps; the edge of each
is found, so that the figure is known right up to it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import groupby

from msgspec import Struct

from cli.trials import Untried

Function = Callable[[float], float]
"""A figure by its size; raises Untried in a gap."""

EDGE = 1e-9
"""The edge of a gap is found to this part of the range."""

MINIMUM = 1e-10
"""A least value is found to this part of the stretch it is looked for in."""


class Point(Struct, frozen=True):
    """A value of the size, and the figure there."""

    x: float
    y: float


class GapFound(Struct, frozen=True):
    """Where there is no figure: from ``low`` to ``high``, ends of the range or edges beyond which there is one; and why."""

    low: float
    high: float
    why: str


class Course(Struct, frozen=True):
    """What was found from ``low`` to ``high``: stretches of points in rising order, and the gaps between them."""

    low: float
    high: float
    stretches: tuple[tuple[Point, ...], ...]
    gaps: tuple[GapFound, ...]

    @property
    def points(self) -> list[Point]:
        """All of them, rising."""
        return [point for stretch in self.stretches for point in stretch]


def course_of(function: Function, low: float, high: float, count: int, also: Iterable[float] = ()) -> Course:
    """Samples the function at ``count`` even places and at those in ``also``, and finds the edges of gaps."""
    xs = sorted({*(low + (high - low) * k / (count - 1) for k in range(count)), low, high, *also})
    stretches: list[tuple[Point, ...]] = []
    gaps: list[GapFound] = []
    reach = EDGE * (high - low)
    runs = [list(run) for _, run in groupby(((x, _tried(function, x)) for x in xs), lambda one: type(one[1]))]
    for k, run in enumerate(runs):
        points = [there for _, there in run if isinstance(there, Point)]
        if not points:
            continue
        if k > 0:
            edge = _edge(function, points[0].x, runs[k - 1][-1][0], reach)
            points = [edge, *points] if edge.x < points[0].x else points
        if k < len(runs) - 1:
            edge = _edge(function, points[-1].x, runs[k + 1][0][0], reach)
            points = [*points, edge] if edge.x > points[-1].x else points
        if k > 0:
            before = stretches[-1][-1].x if stretches else low
            gaps.append(_gap(before, points[0].x, [why for _, why in runs[k - 1]], bool(stretches)))
        stretches.append(tuple(points))
    if runs and isinstance(runs[-1][0][1], str):
        before = stretches[-1][-1].x if stretches else low
        gaps.append(_gap(before, high, [why for _, why in runs[-1]], bool(stretches)))
    return Course(low, high, tuple(stretches), tuple(gaps))


def _gap(low: float, high: float, whys: Sequence[Point | str], by_first: bool) -> GapFound:
    """A gap, with the reason that is nearest to a figure."""
    return GapFound(low, high, str(whys[0 if by_first else -1]))


def _tried(function: Function, x: float) -> Point | str:
    try:
        return Point(x, function(x))
    except Untried as gap:
        return gap.why


def _edge(function: Function, inside: float, outside: float, reach: float) -> Point:
    """The last place, on the way from ``inside`` to ``outside``, where there is a figure."""
    point = Point(inside, function(inside))
    while abs(outside - point.x) > reach:
        middle = (point.x + outside) / 2
        there = _tried(function, middle)
        if isinstance(there, Point):
            point = there
        else:
            outside = middle
    return point


# -------------------------------------------------------------------- least and most


def least_of(function: Function, stretches: Iterable[tuple[Point, ...]]) -> Point:
    """Where the function is least: the least sample, and what lies lower beside it."""
    best: Point | None = None
    for stretch in stretches:
        k = min(range(len(stretch)), key=lambda j: stretch[j].y)
        found = lowest_beside(function, stretch, k)
        best = found if best is None or found.y < best.y else best
    if best is None:
        raise ValueError("a course without a point has no least")
    return best


def lowest_beside(function: Function, stretch: tuple[Point, ...], k: int) -> Point:
    """The lowest place between the neighbours of sample ``k``, which is no higher than they are."""
    from scipy.optimize import minimize_scalar  # late: only where a figure is solved for

    left, here, right = stretch[max(k - 1, 0)], stretch[k], stretch[min(k + 1, len(stretch) - 1)]
    if left.x == right.x or not _may_fall(function, left, here, right):
        return here
    try:
        options = {"xatol": MINIMUM * (right.x - left.x)}
        found = minimize_scalar(function, bounds=(left.x, right.x), method="bounded", options=options)
    except Untried:
        return here
    return min(here, Point(float(found.x), float(found.fun)), key=lambda point: point.y)


def _may_fall(function: Function, left: Point, here: Point, right: Point) -> bool:
    """Whether it is worth a look: always inside; at an end only if the function falls from there."""
    if left.x < here.x < right.x:
        return True
    other = left if here.x == right.x else right
    near = here.x + (other.x - here.x) / 1000
    there = _tried(function, near)
    return isinstance(there, Point) and there.y < here.y


def negative(function: Function) -> Function:
    """Its negative: what is least is then most."""
    return lambda x: -function(x)


# -------------------------------------------------------------------- steps


class Reach(Struct, frozen=True):
    """A range of the size over which a count holds: at both ends it was seen to hold."""

    low: float
    high: float

    def nearest_to(self, x: float) -> float:
        """The value in it that is nearest to ``x``."""
        return min(max(x, self.low), self.high)


def reaches(function: Function, course: Course, wanted: float, fine: float) -> list[Reach]:
    """The ranges over which the function is ``wanted``, their ends found to ``fine``."""
    found: list[Reach] = []
    for stretch in course.stretches:
        runs: list[list[int]] = []
        for k, point in enumerate(stretch):
            if point.y != wanted:
                continue
            if runs and runs[-1][-1] == k - 1:
                runs[-1].append(k)
            else:
                runs.append([k])
        found += [_reach(function, stretch, run[0], run[-1], wanted, fine) for run in runs]
    return found


def _reach(function: Function, stretch: tuple[Point, ...], first: int, last: int, wanted: float, fine: float) -> Reach:
    low, high = stretch[first].x, stretch[last].x
    if first > 0:
        low = _last_with(function, low, stretch[first - 1].x, wanted, fine)
    if last < len(stretch) - 1:
        high = _last_with(function, high, stretch[last + 1].x, wanted, fine)
    return Reach(low, high)


def _last_with(function: Function, inside: float, outside: float, wanted: float, fine: float) -> float:
    """How far from ``inside`` towards ``outside`` the function stays as it is wanted."""
    while abs(outside - inside) > fine:
        middle = (inside + outside) / 2
        there = _tried(function, middle)
        if isinstance(there, Point) and there.y == wanted:
            inside = middle
        else:
            outside = middle
    return inside
