"""Holes: circles, elongated holes and closed curves through points."""

from __future__ import annotations

import math

from patterns.affine import Affine
from patterns.blank import Blank
from patterns.crossings import nearest_to_each
from patterns.curve import Curve
from patterns.errors import PatternError, Problem
from patterns.fitting import TableError, closed_through
from patterns.outline import signed_area
from patterns.piece import Given, HoleSpec
from patterns.stretch import Hole

SAME_PLACE_MM = 1e-6
"""A hole whose reflection is this near to it is its own twin."""


def holes_of(spec: HoleSpec, key: str, blank: Blank) -> list[Hole]:
    """The hole and, where it is mirrored, its twin; one hole if the two are the same. Raises PatternError."""
    curve = _curve(spec)
    if signed_area(curve) > 0.0:
        curve = curve.reversed()
    hole = Hole(key, spec, curve, _centre(spec, curve))
    if not spec.mirror:
        return [hole]
    over = Affine.reflection_x(blank.middle_x)
    centre = over.point(*hole.centre)
    if abs(centre[0] - hole.centre[0]) <= SAME_PLACE_MM and _is_own_twin(curve, over):
        return [hole]
    return [hole, Hole(f"{key}/mirror", spec, curve.transformed(over).reversed(), centre)]


def _curve(spec: HoleSpec) -> Curve:
    problems = [
        Problem(given.place, f"{given.written}: has to be more than 0")
        for given in (spec.diameter, spec.length, spec.width)
        if given is not None and given.value <= 0.0
    ]
    if problems:
        raise PatternError(problems)
    if spec.form == "circle":
        (x, y), diameter = _wanted(spec.at, spec, "at"), _one(spec.diameter, spec, "circle")
        return Curve.circle((x.value, y.value), diameter / 2)
    if spec.form == "elongated":
        return _elongated(spec)
    try:
        return closed_through([(x.value, y.value) for x, y in spec.points])
    except TableError as error:
        row = spec.points[min(error.index, len(spec.points) - 1)] if spec.points else None
        raise PatternError.of(row[0].place if row else spec.place, error.what) from error


def _elongated(spec: HoleSpec) -> Curve:
    """Two straight sides and two half circles, by overall length and width."""
    x, y = _wanted(spec.at, spec, "at")
    length, width = _one(spec.length, spec, "length"), _one(spec.width, spec, "width")
    if length < width and spec.length is not None and spec.width is not None:
        words = f"{spec.length.written}: an elongated hole is at least as long as it is wide ({spec.width.written})"
        raise PatternError.of(spec.length.place, words)
    angle = spec.angle.value if spec.angle is not None else 0.0
    half, radius = (length - width) / 2, width / 2
    if half <= SAME_PLACE_MM:
        return Curve.circle((x.value, y.value), radius)
    right = Curve.arc((half, 0.0), radius, -math.pi / 2, math.pi / 2)
    left = Curve.arc((-half, 0.0), radius, math.pi / 2, 3 * math.pi / 2)
    sides = [Curve.line(right.end, left.start), Curve.line(left.end, right.start)]
    whole = Curve.chain([right, sides[0], left, sides[1]]).closed_up()
    return whole.transformed(Affine.translation(x.value, y.value) @ Affine.rotation(angle))


def _wanted(at: tuple[Given, Given] | None, spec: HoleSpec, key: str) -> tuple[Given, Given]:
    if at is None:
        raise PatternError.of(spec.place, f"the hole needs {key} = [x, y], its centre")
    return at


def _one(given: Given | None, spec: HoleSpec, key: str) -> float:
    if given is None:
        raise PatternError.of(spec.place, f"the hole needs its {key}")
    return given.value


def _centre(spec: HoleSpec, curve: Curve) -> tuple[float, float]:
    if spec.at is not None and spec.form != "points":
        return spec.at[0].value, spec.at[1].value
    x0, y0, x1, y1 = curve.bounds
    return (x0 + x1) / 2, (y0 + y1) / 2


def _is_own_twin(curve: Curve, over: Affine) -> bool:
    first, second = curve.bounds, curve.transformed(over).bounds
    same_box = max(abs(a - b) for a, b in zip(first, second, strict=True)) <= SAME_PLACE_MM
    return same_box and _lies_on(curve.transformed(over), curve)


def _lies_on(curve: Curve, other: Curve) -> bool:
    return bool(nearest_to_each(other, curve.beziers[:, 3])[1].max() <= 1e-3)
