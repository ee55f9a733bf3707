"""Glue lines: where a wide part is jointed from boards, and where such a line has wood to joint.

Glue lines run with the grain: at heights where it runs along the part, at distances from the left where it runs across.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise

import numpy as np

from patterns.crossings import at_x, at_y
from patterns.curve import Curve
from patterns.display import Display
from patterns.errors import PatternError, Problem
from patterns.outline import Outline
from patterns.piece import Given, PartSpec
from patterns.stretch import GlueRun

SAME_MM = 1e-6
"""Points nearer than this are one: float noise of a crossing."""

ON_LINE_MM = 1e-5
"""What keeps this near to a glue line runs along it: a step made at the line's height, in formulas of the maker's."""

THINNEST_MM = 1.0
"""A strip of wood thinner than this between glue lines, or at an edge, is a slip of the pen."""

Point = tuple[float, float]


def axis_of(spec: PartSpec) -> int:
    """The coordinate that is the same all along a glue line: 1 (y) with the grain along, 0 (x) across."""
    if isinstance(spec.grain, Given):
        for axis, angle in ((1, 0.0), (0, math.pi / 2)):
            if abs(math.remainder(spec.grain.value - angle, math.pi)) < 1e-9:
                return axis
        words = f"{spec.grain.written}: glue lines run with the grain, so it has to be along or across the part here"
        raise PatternError.of(spec.grain.place, words)
    return 0 if spec.grain == "across" else 1


def glue_runs(spec: PartSpec, outline: Outline, display: Display) -> tuple[GlueRun, ...]:
    """Where the glue lines run through the wood, in order. Raises PatternError for lines that can't be."""
    if not spec.glue_lines:
        if spec.shape == "before glue":
            raise PatternError.of(spec.place, 'shape = "before glue" needs glue_lines to say where the boards meet')
        return ()
    axis = axis_of(spec)
    problems = _line_problems(spec, outline, axis, display)
    if problems:
        raise PatternError(problems)
    lines = sorted(line.value for line in spec.glue_lines)
    return tuple(run for k, line in enumerate(lines) for run in _runs(outline, line, axis, f"glue[{k}]"))


def _line_problems(spec: PartSpec, outline: Outline, axis: int, display: Display) -> list[Problem]:
    low, high = outline.bounds[axis], outline.bounds[axis + 2]
    low, high = low + THINNEST_MM, high - THINNEST_MM
    where = "height" if axis else "distance from the left"
    limits = f"there is wood to joint from {display.at_least(low)} to {display.at_most(high)}"
    problems = []
    for given in spec.glue_lines:
        if not low - SAME_MM <= given.value <= high + SAME_MM:
            problems.append(Problem(given.place, f"{given.written}: no glue line fits at that {where}; {limits}"))
    ordered = sorted(spec.glue_lines, key=lambda given: given.value)
    for first, second in pairwise(ordered):
        if second.value - first.value < THINNEST_MM:
            words = f"{second.written} is as good as in the same place as {first.written}: each glue line stands once"
            problems.append(Problem(second.place, words))
    return problems


def _runs(outline: Outline, line: float, axis: int, key: str) -> list[GlueRun]:
    joints = joints_of(outline, line, axis)
    return [
        GlueRun(f"{key}/{k + 1}" if k else key, point_on(start, line, axis), point_on(end, line, axis))
        for k, (start, end) in enumerate(joints)
    ]


def joints_of(outline: Outline, line: float, axis: int) -> list[tuple[float, float]]:
    """The stretches of a line that have wood on both sides, as distances along it, rising.

    They are parted wherever the outline or a hole touches the line. Where an edge runs along it there is nothing to
    glue.
    """
    places = _places(outline.curves, line, axis)
    spans = [(a, b) for a, b in pairwise(places) if b - a > SAME_MM]
    if not spans:
        return []
    beside = ON_LINE_MM / 4
    middles = np.array([[point_on((a + b) / 2, line + side, axis) for a, b in spans] for side in (-beside, beside)])
    below, above = outline.contains(middles)
    return [spans[k] for k in np.flatnonzero(below & above)]


def _places(curves: Iterable[Curve], line: float, axis: int) -> list[float]:
    """Where along a line the curves meet it, from the least."""
    found = sorted(float(curve.point(t)[1 - axis]) for curve in curves for t in meets(curve, line, axis))
    return [place for k, place in enumerate(found) if not k or place - found[k - 1] > SAME_MM]


def meets(curve: Curve, line: float, axis: int) -> list[float]:
    """The parameters, ascending, at which a curve meets a line; of a piece that runs along it, both ends."""
    crossings = {float(t) for t in (at_y(curve, line) if axis else at_x(curve, line))}
    joints = np.vstack([curve.beziers[:, 0], curve.beziers[-1:, 3]])[:, axis]
    return sorted(crossings | {float(k) for k in np.flatnonzero(np.abs(joints - line) <= SAME_MM)})


def point_on(along: float, line: float, axis: int) -> Point:
    """The point at a distance along a line (mm)."""
    return (along, line) if axis else (line, along)
