"""How the lines of two neighbouring edges meet at their corner.

A sweep that ends deep inside its edge moves the corner: the line beside it is shortened to where the two meet. Where a
sweep stops short of a sloping neighbour it is carried on straight, in its own direction.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from patterns.affine import Points
from patterns.blank import Blank
from patterns.crossings import between, may_reach, nearest
from patterns.curve import Curve
from patterns.errors import PatternError, Problem
from patterns.stretch import ON_CURVE_MM, Stretch

Line = list[Stretch]
Place = tuple[int, float]
"""A stretch's number in its line, and the parameter on it."""

CRUMB = 1e-7
"""A rest of a stretch shorter than this in parameter is nothing."""


def joined(lines: Sequence[Line], blank: Blank) -> Line:
    """One closed run of stretches from the lines of all edges, in order.

    Raises PatternError for edges that don't meet.
    """
    lines = [list(line) for line in lines]
    reach = math.dist(blank.bounds[:2], blank.bounds[2:])
    problems = []
    for k in range(len(lines)):
        before, after = (k - 1) % len(lines), k
        met = _met(lines[before], lines[after], reach)
        if met is None:
            names = f"edges.{blank.edges[before].name} and edges.{blank.edges[after].name}"
            problems.append(Problem(_place(lines[before], lines[after]), f"{names} don't meet at their corner"))
        else:
            lines[before], lines[after] = met
    if problems:
        raise PatternError(problems)
    return [stretch for line in lines for stretch in line]


def _place(before: Line, after: Line) -> str:
    return next((s.place for s in (*after, *before) if s.place), "")


def _met(before: Line, after: Line, reach: float) -> tuple[Line, Line] | None:
    """The two lines, trimmed or carried on to a shared point; None where they have none."""
    if not before or not after:
        return before, after
    end, start = before[-1].curve.end, after[0].curve.start
    if math.dist(end, start) <= ON_CURVE_MM:
        return before, after
    if (place := _on(after, end)) is not None:
        return before, _from(after, place)
    if (place := _on(before, start)) is not None:
        return _up_to(before, place), after
    return _trimmed_at_crossing(before, after) or _carried_on(before, after, reach)


def _on(line: Line, point: Sequence[float] | Points) -> Place | None:
    """Where on the line the point lies, if it does."""
    for number, stretch in enumerate(line):
        if may_reach(stretch.curve, point, ON_CURVE_MM):
            t, distance = nearest(stretch.curve, point)
            if distance <= ON_CURVE_MM:
                return number, t
    return None


def _from(line: Line, place: Place) -> Line:
    number, t = place
    first = line[number]
    rest = [] if t >= len(first.curve) - CRUMB else [first.trimmed(t, len(first.curve))]
    return rest + line[number + 1 :]


def _up_to(line: Line, place: Place) -> Line:
    number, t = place
    rest = [] if t <= CRUMB else [line[number].trimmed(0.0, t)]
    return line[:number] + rest


def _trimmed_at_crossing(before: Line, after: Line) -> tuple[Line, Line] | None:
    found = [
        ((i, t), (j, u))
        for i, stretch in enumerate(before)
        for j, other in enumerate(after)
        for t, u in between(stretch.curve, other.curve)
    ]
    if not found:
        return None
    first, second = max(found)
    return _up_to(before, first), _from(after, second)


def _carried_on(before: Line, after: Line, reach: float) -> tuple[Line, Line] | None:
    """Carries the end of the one, of the other, or of both, on straight until they meet."""
    onward = _ray(before[-1].curve, reach)
    backward = _ray(after[0].curve.reversed(), reach)
    if (hit := _first_hit(onward, after)) is not None:
        distance, place = hit
        return [*before, _run_on(before[-1], onward.between(0.0, distance), last=True)], _from(after, place)
    if (hit := _first_hit(backward, list(reversed([s.turned_round() for s in before])))) is not None:
        distance, (number, t) = hit
        number = len(before) - 1 - number
        run_on = _run_on(after[0], backward.between(0.0, distance).reversed(), last=False)
        return _up_to(before, (number, len(before[number].curve) - t)), [run_on, *after]
    crossing = between(onward, backward)
    if not crossing:
        return None
    t, u = crossing[0]
    first = _run_on(before[-1], onward.between(0.0, t), last=True)
    return [*before, first], [_run_on(after[0], backward.between(0.0, u).reversed(), last=False), *after]


def _ray(curve: Curve, reach: float) -> Curve:
    """The straight line of ``reach`` mm from the curve's end in its direction there."""
    last = curve.beziers[-1]
    handle = next((h for h in (last[2], last[1], last[0]) if math.dist(h, last[3]) > ON_CURVE_MM), last[0])
    step = last[3] - handle
    return Curve.line(last[3], last[3] + step * (reach / math.hypot(*step)))


def _first_hit(ray: Curve, line: Line) -> tuple[float, Place] | None:
    hits = [
        (t, (number, u)) for number, stretch in enumerate(line) for t, u in between(ray, stretch.curve) if t > CRUMB
    ]
    return min(hits) if hits else None


def _run_on(stretch: Stretch, curve: Curve, last: bool) -> Stretch:
    """The straight line that carries a stretch on beyond its first or its last point, going round."""
    return Stretch(
        f"edges.{stretch.edge}/run-on {2 if last else 1}",
        stretch.edge,
        "straight",
        curve,
        span=curve.length,
        allowance=stretch.allowance,
        place=stretch.place,
    )
