"""Corners rounded, chamfered or notched, between straight and curved sides alike."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from patterns.affine import Points
from patterns.arclength import parameters_at
from patterns.blank import Blank
from patterns.boundary import CRUMB, corner_between
from patterns.crossings import between
from patterns.curve import Curve
from patterns.display import Display
from patterns.errors import PatternError
from patterns.piece import CornerSpec, Given
from patterns.stretch import Stretch

Line = list[Stretch]

SETTLED_MM = 1e-9
"""The circle of a round touches both sides when its two centres agree this well."""

LARGEST_WITHIN_MM = 1e-3
"""The largest radius that would fit beside a curve is found this nearly: it is told, never drawn."""

STRAIGHT_ON = 1e-6
"""Sides whose directions differ by less than this sine make no corner."""


def with_corner(stretches: Line, spec: CornerSpec, blank: Blank, display: Display) -> Line:
    """The boundary with one corner worked. Raises PatternError where that can't be."""
    if spec.corner not in blank.spec.corner_names:
        known = ", ".join(blank.spec.corner_names)
        raise PatternError.of(spec.place, f'the blank has no corner "{spec.corner}"; its corners are {known}')
    for amount in spec.amounts:
        if amount.value <= 0.0:
            raise PatternError.of(amount.place, f"{amount.written}: has to be more than 0")
    found = corner_between(stretches, blank, spec.corner)
    if found is None:
        raise PatternError.of(spec.place, f"the corner {spec.corner} has been cut away; nothing is left to {spec.form}")
    i, j = found
    before, after = stretches[i], stretches[j]
    turn = _turn(before.curve, after.curve)
    if abs(math.sin(turn)) < STRAIGHT_ON and math.cos(turn) > 0:
        raise PatternError.of(spec.place, f"the sides run straight on here: there is no corner to {spec.form}")
    if spec.form == "notch" and turn < 0:
        raise PatternError.of(spec.place, "the corner turns inward: there is no wood in it to cut a notch out of")
    if spec.form == "round":
        t, u, curve = _round(before.curve, after.curve, spec, display)
    elif spec.form == "chamfer":
        t, u, curve = _chamfer(before.curve, after.curve, spec, display)
    else:
        t, u, curve = _notch(before.curve, after.curve, spec, display)
    worked = Stretch(f"corners.{spec.corner}", "", "corner", curve, span=curve.length, place=spec.place)
    return _replaced(stretches, i, j, t, u, worked)


def _replaced(stretches: Line, i: int, j: int, t: float, u: float, worked: Stretch) -> Line:
    """The boundary with ``worked`` between parameter t of stretch i and parameter u of stretch j; empty rests go."""
    shortened: dict[int, Line] = {}
    shortened[i] = [stretches[i].trimmed(0.0, t)] if t > CRUMB else []
    last = len(stretches[j].curve)
    shortened[j] = [stretches[j].trimmed(u, last)] if u < last - CRUMB else []
    result: Line = []
    for number, stretch in enumerate(stretches):
        result += shortened.get(number, [stretch])
        if number == i:
            result.append(worked)
    return result


# -------------------------------------------------------------------- round


def _round(before: Curve, after: Curve, spec: CornerSpec, display: Display) -> tuple[float, float, Curve]:
    amount = spec.amounts[0]
    turn = _turn(before, after)
    found = _touching(before, after, amount.value, turn)
    if found is None:
        raise PatternError.of(
            amount.place, _too_large(amount, _largest_round(before, after, amount.value, turn), display)
        )
    t, u = found
    centre = before.point(t) + math.copysign(amount.value, turn) * _left_normal(before, t)
    (ax, ay), (bx, by) = before.point(t) - centre, after.point(u) - centre
    start = math.atan2(ay, ax)
    sweep = math.remainder(math.atan2(by, bx) - start, 2 * math.pi)
    if sweep * turn < 0:
        sweep += math.copysign(2 * math.pi, turn)
    return t, u, Curve.arc((float(centre[0]), float(centre[1])), amount.value, start, start + sweep)


def _touching(before: Curve, after: Curve, radius: float, turn: float) -> tuple[float, float] | None:
    """Where a circle of ``radius`` touches both sides, by Newton's method on the meeting of their parallels."""
    setback = radius * _setback_share(turn)
    reach = min(before.length, after.length)
    if before.is_straight and after.is_straight and setback > reach + SETTLED_MM:
        return None
    side = math.copysign(radius, turn)
    for share in (1.0, 0.5, 1.5, 0.2, 2.5):
        step = min(setback * share, reach)
        start = np.array(
            [parameters_at(before, [before.length - step])[0], parameters_at(after, [step])[0]], dtype=np.float64
        )
        found = _newton(before, after, side, start)
        if found is not None:
            return found
    return None


def _newton(before: Curve, after: Curve, side: float, start: Points) -> tuple[float, float] | None:
    top = np.array([len(before), len(after)], dtype=np.float64)
    place = start
    for _ in range(40):
        t, u = float(place[0]), float(place[1])
        miss = before.point(t) + side * _left_normal(before, t) - after.point(u) - side * _left_normal(after, u)
        if math.hypot(*miss) <= SETTLED_MM:
            return t, u
        matrix = np.stack([_parallel_slope(before, t, side), -_parallel_slope(after, u, side)], axis=1)
        if abs(np.linalg.det(matrix)) < 1e-12:
            return None
        following = np.clip(place - np.linalg.solve(matrix, miss), 0.0, top)
        if np.array_equal(following, place):
            return None  # it would leave a side, and is held at its end
        place = following
    return None


def _parallel_slope(curve: Curve, t: float, side: float) -> Points:
    """d/dt of P + side n, with n the unit normal to the left: P' (1 - side κ)."""
    d, dd = curve.derivative(t), curve.second_derivative(t)
    speed = math.hypot(*d)
    curvature = (d[0] * dd[1] - d[1] * dd[0]) / speed**3
    result: Points = d * (1.0 - side * curvature)
    return result


def _left_normal(curve: Curve, t: float) -> Points:
    x, y = curve.derivative(t)
    return np.array([-y, x]) / math.hypot(x, y)


def _turn(before: Curve, after: Curve) -> float:
    """The angle the boundary turns by at the corner (radians), positive to the left."""
    (ax, ay), (bx, by) = before.derivative(len(before)), after.derivative(0.0)
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


def _setback_share(turn: float) -> float:
    """How far from a straight-sided corner a circle of radius 1 touches its sides; steadied for a turn right back."""
    return math.tan(min(abs(turn), math.radians(170)) / 2)


def _largest_round(before: Curve, after: Curve, radius: float, turn: float) -> float:
    if before.is_straight and after.is_straight:
        return min(before.length, after.length) / _setback_share(turn)
    low, high = 0.0, radius
    while high - low > LARGEST_WITHIN_MM:
        middle = (low + high) / 2
        low, high = (middle, high) if _touching(before, after, middle, turn) else (low, middle)
    return low


def _too_large(amount: Given, most: float, display: Display) -> str:
    limit = f"; {display.at_most(most)} is the most" if display.at_most(most) != display.length(0.0) else ""
    return f"{amount.written} is larger than the sides beside the corner allow{limit}"


# -------------------------------------------------------------------- chamfer and notch


def _chamfer(before: Curve, after: Curve, spec: CornerSpec, display: Display) -> tuple[float, float, Curve]:
    amount = spec.amounts[0]
    most = min(before.length, after.length)
    if amount.value > most + SETTLED_MM:
        raise PatternError.of(amount.place, _too_large(amount, most, display))
    t = float(parameters_at(before, [before.length - amount.value])[0])
    u = float(parameters_at(after, [amount.value])[0])
    return t, u, Curve.line(before.point(t), after.point(u))


def _notch(before: Curve, after: Curve, spec: CornerSpec, display: Display) -> tuple[float, float, Curve]:
    """Two lines from an inner corner, each parallel to one side, to where they meet the other."""
    if len(spec.amounts) != 2:
        raise PatternError.of(spec.place, 'a notch needs two sizes: notch = ["1/2", "3/4"]')
    along_after, along_before = spec.amounts
    for amount, curve in ((along_after, after), (along_before, before)):
        if amount.value > curve.length + SETTLED_MM:
            raise PatternError.of(amount.place, _too_large(amount, curve.length, display))
    back, onward = _unit(before.derivative(len(before))), _unit(after.derivative(0.0))
    inner = after.start - back * along_before.value + onward * along_after.value
    t = _met(inner, -onward, before, last=True)
    u = _met(inner, back, after, last=False)
    if t is None or u is None:
        raise PatternError.of(spec.place, "the notch does not come out on both sides of the corner; make it smaller")
    return t, u, Curve.polyline([before.point(t), inner, after.point(u)])


def _met(start: Points, direction: Points, curve: Curve, last: bool) -> float | None:
    """The parameter where the line from ``start`` meets the curve, nearest to the corner."""
    reach = 2 * (math.dist(start, curve.start) + math.dist(start, curve.end))
    found = [u for _, u in between(Curve.line(start, start + direction * reach), curve)]
    if not found:
        return None
    return max(found) if last else min(found)


def _unit(vector: Sequence[float] | Points) -> Points:
    array = np.asarray(vector, dtype=np.float64)
    result: Points = array / math.hypot(*array)
    return result
