"""The flip line of a half pattern: a centre line with crosses to prick through, words, and the strip's end beyond it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from patterns.curve import Curve
from patterns.freespace import Point
from patterns.gluelines import joints_of
from patterns.outline import Outline
from patterns.pattern import Role
from patterns.sketch import FIGURE_MM, SMALL_MM, Place, Sketch, text_width
from patterns.symmetry import CentreLine

BEYOND_MM = 5.0
"""How far the flip line reaches past the wood, so that it shows where it crosses the cut line."""
ARM_MM = 6.0
"""Half of a cross on the flip line: an arm is no longer than a long dash, so that it is ink throughout."""
INSET_MM = 15.0
"""From the wood's edge to a cross: nearer the card would tear."""
CLEAR_MM = 7.0
"""Along the line, no other line is so near to a cross, where there is room."""
THIRD_MM = 250.0
"""A longer flip line has a third cross."""
ROW_MM = 5.5
"""From one row of words to the next, and from a line to the first."""
AIR_MM = 3.0
STEP_MM = 8.0
"""Words are tried at places so far apart."""

Run = tuple[float, float]

WORDS = (
    ("flip line: lay it on the centre line of the board", "prick the crosses; draw, turn over, draw"),
    ("flip line: on the centre of the board", "draw, turn over, draw"),
    ("flip line: draw, turn over, draw",),
    ("flip line",),
)
"""What is to be done at the line, said in less and less room. Each row can be read by itself: on a sheet one may move."""

STRIP_WORDS = (
    "flip strip, ends at this thin line: turned over, its edges must fall on those drawn",
    "flip strip: turned over, its edges must fall on those drawn",
    "flip strip, ends here",
    "flip strip",
)


def draw_flip_line(sketch: Sketch, outline: Outline, line: CentreLine) -> list[Run]:
    """Draws the line where it runs through the wood, and its crosses; returns those stretches of it (mm along it)."""
    runs = joints_of(outline, line.at, line.axis)
    crosses = _crosses(sketch, line, runs)
    low, high = outline.bounds[1 - line.axis], outline.bounds[3 - line.axis]
    for a, b in _joined([(max(a - BEYOND_MM, low), min(b + BEYOND_MM, high)) for a, b in runs]):
        sketch.line(Role.CENTRE, line.point(a), line.point(b), "flip")
    for number, along in enumerate(crosses):
        key = f"flip.cross[{number}]"
        sketch.line(Role.CENTRE, line.point(along, -ARM_MM), line.point(along, ARM_MM), key)
        sketch.line(Role.CENTRE, line.point(along - ARM_MM), line.point(along + ARM_MM), key)
    return runs


def _joined(runs: Sequence[Run]) -> list[Run]:
    """The stretches, those that meet made one."""
    result: list[Run] = []
    for a, b in runs:
        if result and a <= result[-1][1]:
            result[-1] = (result[-1][0], b)
        else:
            result.append((a, b))
    return result


def _crosses(sketch: Sketch, line: CentreLine, runs: Sequence[Run]) -> list[float]:
    """Where the template is pricked: near both ends of the line, in the wood, and half-way where that is far.

    Clear of other lines where there is room, so that none is taken for an arm of the cross.
    """
    (first, first_end), (last, last_end) = runs[0], runs[-1]
    low = first + min(INSET_MM, (first_end - first) / 4), (first + first_end) / 2
    high = last_end - min(INSET_MM, (last_end - last) / 4), (last + last_end) / 2
    spans = [low, high]
    if high[0] - low[0] > THIRD_MM:
        middle = (low[0] + high[0]) / 2
        a, b = min(runs, key=lambda run: max(run[0] - middle, middle - run[1]))
        inset = min(INSET_MM, (b - a) / 4)
        spans.insert(1, (min(max(middle, a + inset), b - inset), (a + b) / 2))
    return [_clear(sketch, line, *span) for span in spans]


def _clear(sketch: Sketch, line: CentreLine, wished: float, furthest: float) -> float:
    """The first place along the line from one coordinate towards another with no line near; else the first."""
    steps = np.linspace(wished, furthest, max(2, int(abs(furthest - wished) / 2.0)))
    size = (2 * ARM_MM, CLEAR_MM) if line.axis == 0 else (CLEAR_MM, 2 * ARM_MM)
    return next((float(s) for s in steps if not sketch.space.covered(line.point(float(s)), *size)), wished)


def draw_strip_end(sketch: Sketch, ends: Sequence[Curve]) -> None:
    """Where the template is cut off: a thin line, since no wood is sawn there."""
    for curve in ends:
        sketch.stroke(Role.REFERENCE, curve, "flip.end")


# -------------------------------------------------------------------- words


def draw_flip_words(sketch: Sketch, outline: Outline, line: CentreLine, runs: Sequence[Run], strip: float) -> None:
    """Words beside the line and, where there is room, in the strip or just beyond it."""
    _draw_rows(sketch, outline, line, runs)
    _draw_strip_words(sketch, outline, line, runs, strip)


def _draw_rows(sketch: Sketch, outline: Outline, line: CentreLine, runs: Sequence[Run]) -> None:
    """The first of the versions that finds room on the wood before the line; else the shortest at the line's middle."""
    for rows in WORDS:
        for places in (*_along(rows, line, runs), *_square(rows, line, runs)):
            if _fit(sketch, outline, rows, places):
                for number, (text, place) in enumerate(zip(rows, places, strict=True)):
                    sketch.label(f"flip.words[{number}]", text, [place])
                return
    a, b = max(runs, key=lambda run: run[1] - run[0])
    text = WORDS[-1][0]
    beside: list[Place] = [(line.point((a + b) / 2, -ROW_MM * row), _angle(line)) for row in (1, 2, 3)]
    sketch.label("flip.words[0]", text, beside)


def _angle(line: CentreLine) -> float:
    """Of words along the line: upright ones read from the right."""
    return 0.0 if line.axis else math.pi / 2


def _along(rows: Sequence[str], line: CentreLine, runs: Sequence[Run]) -> Iterator[list[Place]]:
    """Rows beside the line, the first row furthest from it so that they read downward; from the middle of each run."""
    longest = max(text_width(text) for text in rows)
    for a, b in sorted(runs, key=lambda run: run[0] - run[1]):
        if b - a < longest + 2 * AIR_MM:
            continue
        for along in _from_middle(a + longest / 2 + AIR_MM, b - longest / 2 - AIR_MM):
            # Upright words read from the right: their first row lies to the left. Level ones lie under the line.
            order = range(1, len(rows) + 1) if line.axis else range(len(rows), 0, -1)
            yield [(line.point(along, -ROW_MM * row), _angle(line)) for row in order]


def _square(rows: Sequence[str], line: CentreLine, runs: Sequence[Run]) -> Iterator[list[Place]]:
    """Rows square to the line, ending just before it."""
    deep, angle = ROW_MM * len(rows), math.pi / 2 if line.axis else 0.0
    for a, b in sorted(runs, key=lambda run: run[0] - run[1]):
        if b - a < deep + 2 * AIR_MM:
            continue
        for along in _from_middle(a + deep / 2 + AIR_MM, b - deep / 2 - AIR_MM):
            # Level rows go downward, upright ones to the right.
            steps = [along + (-1 if angle == 0.0 else 1) * ROW_MM * (k - (len(rows) - 1) / 2) for k in range(len(rows))]
            yield [
                (line.point(step, -AIR_MM - ARM_MM - text_width(text) / 2), angle)
                for text, step in zip(rows, steps, strict=True)
            ]


def _from_middle(low: float, high: float) -> list[float]:
    middle, count = (low + high) / 2, int((high - low) / 2 / STEP_MM)
    return [middle + side * k * STEP_MM for k in range(count + 1) for side in ((1, -1) if k else (1,))]


def _fit(sketch: Sketch, outline: Outline, rows: Sequence[str], places: Sequence[Place]) -> bool:
    """Whether all rows are clear and on the wood."""
    if any(
        sketch.space.covered(at, text_width(text), FIGURE_MM, a) for text, (at, a) in zip(rows, places, strict=True)
    ):
        return False
    corners = [c for text, place in zip(rows, places, strict=True) for c in _ends(place, text_width(text))]
    return bool(outline.contains(np.array(corners)).all())


def _ends(place: Place, width: float) -> list[Point]:
    (x, y), angle = place
    dx, dy = math.cos(angle) * (width / 2 + 1.0), math.sin(angle) * (width / 2 + 1.0)
    return [(x - dx, y - dy), (x, y), (x + dx, y + dy)]


def _draw_strip_words(sketch: Sketch, outline: Outline, line: CentreLine, runs: Sequence[Run], strip: float) -> None:
    """In the middle of the strip, or past its end, whatever says most in the larger letters."""
    for text in STRIP_WORDS:
        for height, off, inside in (
            (FIGURE_MM, strip / 2, True),
            (SMALL_MM, strip / 2, True),
            (FIGURE_MM, strip + 4.0, False),
        ):
            half = text_width(text, height) / 2 + AIR_MM
            places: list[Place] = [
                (line.point(along, off), _angle(line))
                for a, b in sorted(runs, key=lambda run: run[0] - run[1])
                for along in (_from_middle(a + half, b - half) if b - a >= 2 * half else ())
            ]
            places = [p for p in places if not inside or outline.contains(np.array(_ends(p, 2 * half - 6.0))).all()]
            if sketch.label("flip.strip", text, places, needed=False, height=height):
                return
