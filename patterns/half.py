"""A pattern printed to its centre line: half of a symmetrical part, to be drawn, turned over and drawn again.

The maker lays the template's flip line on the centre line of his board, draws round it, turns it over on the same line
and draws round it again. Both halves are drawn on the face that is up, the outside face: it is the template that turns,
not the wood. Beyond the flip line the lines run on through a narrow strip, so that of the turned template they must fall
on what is drawn already: where they don't, the line was off the middle or askew. Two crosses on the flip line, pricked
through, keep the template from sliding along it, and show where it lies when its printed side is down.

It is always the left half, or the lower one.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from itertools import pairwise

from msgspec.structs import replace

from patterns.boards import wood_before
from patterns.boundary import curve_of
from patterns.curve import Curve
from patterns.dimensions import LINE_MM, draw_dimension
from patterns.display import Display
from patterns.errors import PatternError, Problem
from patterns.flipline import draw_flip_line, draw_flip_words, draw_strip_end
from patterns.gluelines import SAME_MM, meets
from patterns.grainarrow import draw_grain
from patterns.halflabels import brought_over, draw_labels
from patterns.outline import Outline
from patterns.pattern import Dimension, Half, Pattern, Role, Stroke
from patterns.sketch import Sketch, text_width
from patterns.stretch import Stretch
from patterns.symmetry import ALIKE_MM, CentreLine, middle_line
from patterns.twins import boundary_of, is_hole, misses, told
from patterns.wording import quoted

STRIP_MM = 15.0
"""How far the lines run on beyond the flip line: far enough to see whether they fall on the others, and for card that is
pricked on the line to hold; little of the paper (common practice, no source)."""

MOST_OF_HALF = 0.5
"""The strip of a small part is no wider than this share of its half."""

_WIDTHS = (1.0, 0.93, 0.86, 0.79, 0.7, 0.6)
"""Shares of the strip's width that are tried, should its end just touch the outline."""

SLANTING = 0.01
"""Words less out of level and plumb than this (the sine) are set straight."""
ROOM_MM = 24.0
"""How wide a strip words along a slanting line may need."""

_WHOLE_ONLY = (Role.DIMENSION, Role.GRAIN, Role.CUT, Role.SKETCH)
"""Lines that are drawn anew for the half."""


def half_of(pattern: Pattern, display: Display, strip_mm: float = STRIP_MM) -> Pattern:
    """The left half of the pattern, or the lower one, with a strip of ``strip_mm`` beyond the flip line.

    Raises PatternError with everything that has no twin on the other side of the centre line.
    """
    line = centre_line(pattern, display)
    low, high = pattern.outline.bounds[line.axis], pattern.outline.bounds[line.axis + 2]
    whole = f"both halves together {display.both(high - low)}"
    strip, loop, holes = _template(pattern, line, min(strip_mm, (high - low) / 2 * MOST_OF_HALF))
    outline = Outline(curve_of(loop), tuple(hole.curve for hole in holes))
    sketch = Sketch()
    for stroke in _cut_lines(loop, holes) + _other_lines(pattern, line, line.at + strip):
        sketch.stroke(stroke.role, stroke.curve, stroke.key)
    runs = draw_flip_line(sketch, pattern.outline, line)
    draw_strip_end(sketch, [stretch.curve for stretch in loop if stretch.kind == "glue"])
    dimensions = _draw_dimensions(sketch, pattern, line, display)
    draw_labels(sketch, pattern, line)
    draw_flip_words(sketch, outline, line, runs, strip)
    _keep_room_for_slanting_words(sketch)
    wood = _before(pattern.outline.bounds, line)
    draw_grain(sketch, outline, wood, pattern.grain, _grain_words(pattern.grain))
    half = Half("lower" if line.axis else "left", line.at, strip, whole)
    return replace(
        pattern,
        name=f"{pattern.name}, {half.side} half",
        slug=f"{pattern.slug}--{half.side}-half",
        outline=outline,
        strokes=tuple(sketch.strokes),
        labels=tuple(sketch.labels),
        title_block=_title_block(pattern, half),
        dimensions=dimensions,
        symmetrical_about_x=None,
        hole_centres=_kept(pattern.hole_centres, line, strip),
        joints=_kept(pattern.joints, line, strip),
        tight_places=_kept(pattern.tight_places, line, strip),
        half=half,
    )


def halves_of(
    patterns: Sequence[Pattern], parts: Collection[str], display: Display, strips: Mapping[str, float]
) -> tuple[Pattern, ...]:
    """The patterns, those of the named parts as halves; ``strips`` are the widths (mm) of parts that have their own.

    Raises PatternError with what has no twin in any of them.
    """
    drawn: list[Pattern] = []
    problems: list[Problem] = []
    for pattern in patterns:
        try:
            strip = strips.get(pattern.part, STRIP_MM)
            drawn.append(half_of(pattern, display, strip) if pattern.part in parts else pattern)
        except PatternError as error:
            problems += error.problems
    if problems:
        raise PatternError(problems)
    return tuple(drawn)


def centre_line(pattern: Pattern, display: Display) -> CentreLine:
    """The line that the whole of the pattern mirrors in; of two, that which halves the longer side.

    Raises PatternError with everything that has no twin: for the line that is nearer to being one, if neither is.
    """
    x0, y0, x1, y1 = pattern.outline.bounds
    upright, level = middle_line(pattern.outline, 0, pattern.symmetrical_about_x), middle_line(pattern.outline, 1)
    lines = [upright, level] if x1 - x0 >= y1 - y0 else [level, upright]
    found = []
    for line in lines:
        missing = misses(pattern, line, display)
        if not missing:
            return line
        found.append((max((miss.by for miss in missing if miss.shape), default=0.0), len(missing), missing))
    nearer = min(found, key=lambda each: each[:2])
    raise PatternError(told(nearer[2], f"part {quoted(pattern.part)}"))


def _title_block(pattern: Pattern, half: Half) -> tuple[str, ...]:
    """The lines of the whole, with what tells that this is half: the turned template is drawn round on the same face."""
    title, name, face, *others = pattern.title_block
    own = (f"{name}, {half.side} half", f"{face} for both halves", half.whole)
    return (title, *own, *others)


# -------------------------------------------------------------------- lines


def _template(pattern: Pattern, line: CentreLine, strip: float) -> tuple[float, list[Stretch], list[Stretch]]:
    """The width of the strip, the template's boundary, and the holes whole in it.

    Of a symmetrical part the half is always in one piece; what else the strip may touch across the line is left out.
    """
    stretches = [_stretch(stroke) for stroke in boundary_of(pattern)]
    holes = [_stretch(stroke) for stroke in pattern.strokes if is_hole(stroke)]
    for share in _WIDTHS:
        end = line.at + share * strip
        if any(abs(hole.curve.bounds[k] - end) < 2 * ALIKE_MM for hole in holes for k in (line.axis, line.axis + 2)):
            continue
        try:
            pieces = wood_before(end, line.axis, stretches, holes)
        except ValueError:
            continue
        for loop, inner in pieces:
            if min(stretch.curve.bounds[line.axis] for stretch in loop) < line.at - ALIKE_MM:
                return share * strip, loop, inner
    words = "a strip beyond the centre line would end just where the outline touches it: print the part whole"
    raise PatternError([Problem(f"part {quoted(pattern.part)}", words)])


def _stretch(stroke: Stroke) -> Stretch:
    return Stretch(stroke.key, "", "cut", stroke.curve)


def _cut_lines(loop: Sequence[Stretch], holes: Sequence[Stretch]) -> list[Stroke]:
    """The cut line, open where the strip ends, then the holes."""
    ends = [k for k, stretch in enumerate(loop) if stretch.kind == "glue"]
    start = ends[0] + 1 if ends else 0
    around = [*loop[start:], *loop[:start], *holes]
    return [Stroke(Role.CUT, stretch.curve, stretch.key) for stretch in around if stretch.kind != "glue"]


def _other_lines(pattern: Pattern, line: CentreLine, end: float) -> list[Stroke]:
    """Lines that are transferred to the wood run on through the strip; what stands beyond the line is left out.

    The blank's lines are kept where the blank is as symmetrical as the part.
    """
    blank = [stroke for stroke in pattern.strokes if stroke.role is Role.BLANK]
    over_here = brought_over(pattern, line)
    drawn = []
    for stroke in pattern.strokes:
        if stroke.role in _WHOLE_ONLY or stroke.key == "centre" or (stroke.role is Role.BLANK and _lone(blank, line)):
            continue
        if (
            stroke.key.endswith(".tick") and stroke.curve.bounds[line.axis] > line.at + ALIKE_MM
        ) or stroke.key in over_here:
            drawn.append(replace(stroke, curve=stroke.curve.transformed(line.over)))
        elif _runs_on(stroke):
            drawn += [replace(stroke, curve=piece) for piece in _before_end(stroke.curve, line.axis, end)]
        elif _middle(stroke.curve, line.axis) <= line.at + ALIKE_MM:
            drawn.append(stroke)
    return drawn


def _runs_on(stroke: Stroke) -> bool:
    """Whether a stroke is a line of the part rather than a tick or a cross."""
    lines = stroke.role in (Role.GLUE, Role.BLANK, Role.HIDDEN) or (
        stroke.role is Role.REFERENCE and not stroke.key.endswith("tick")
    )
    return lines or (stroke.role is Role.MARK and stroke.key.startswith("mark[") and stroke.curve.length > 4.0)


def _before_end(curve: Curve, axis: int, end: float) -> list[Curve]:
    """The stretches of a curve that lie before a coordinate."""
    cuts = [0.0, *(t for t in meets(curve, end, axis) if SAME_MM < t < len(curve) - SAME_MM), float(len(curve))]
    pieces = [(a, b) for a, b in pairwise(cuts) if curve.point((a + b) / 2)[axis] < end]
    return [curve if b - a >= len(curve) else curve.between(a, b) for a, b in pieces]


def _lone(strokes: Sequence[Stroke], line: CentreLine) -> bool:
    """Whether any of these straight lines has no twin among them."""
    ends = [sorted(map(tuple, (one.curve.start.tolist(), one.curve.end.tolist()))) for one in strokes]
    twins = [sorted(line.over.point(*point) for point in pair) for pair in ends]
    return any(not any(max(math.dist(a, c), math.dist(b, d)) <= ALIKE_MM for c, d in ends) for a, b in twins)


def _middle(curve: Curve, axis: int) -> float:
    return (curve.bounds[axis] + curve.bounds[axis + 2]) / 2


# -------------------------------------------------------------------- dimensions and places


def _keep_room_for_slanting_words(sketch: Sketch) -> None:
    """On a sheet words along a slanting edge take an upright box beside it: the grain arrow leaves room for that."""
    for label in sketch.labels:
        cos, sin = abs(math.cos(label.angle)), abs(math.sin(label.angle))
        if min(cos, sin) > SLANTING:
            width = text_width(label.text, label.height)
            sketch.space.take_box(label.at, width * cos + ROOM_MM * sin, width * sin + ROOM_MM * cos, 0.0)


def _draw_dimensions(sketch: Sketch, pattern: Pattern, line: CentreLine, display: Display) -> tuple[Dimension, ...]:
    """Those of the half that is drawn; one across the line only as far as that, with words that say so."""
    made = []
    for dimension in pattern.dimensions:
        drawn = next(stroke for stroke in pattern.strokes if stroke.key == dimension.key)
        outward = (drawn.curve.start - dimension.start) / LINE_MM
        start, end = dimension.start, dimension.end
        if max(start[line.axis], end[line.axis]) > line.at + ALIKE_MM:
            if math.dist(line.over.point(*start), end) > ALIKE_MM:
                continue
            start = min(start, end, key=lambda point: point[line.axis])
            end = line.point(start[1 - line.axis])
            text = f"{display.both(math.dist(start, end))} to the flip line"
            dimension = Dimension(dimension.key, text, start, end)
        draw_dimension(sketch, dimension.key, dimension.text, start, end, (float(outward[0]), float(outward[1])))
        made.append(dimension)
    return tuple(made)


def _grain_words(grain: float) -> str:
    """Turned over, a slanting arrow points the other way: it counts for the half that is drawn first."""
    return "grain" if abs(math.sin(2.0 * grain)) <= SLANTING else "grain, printed side up"


def _before(box: tuple[float, float, float, float], line: CentreLine) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = box
    return (x0, y0, x1, line.at) if line.axis else (x0, y0, line.at, y1)


def _kept(places: Sequence[tuple[float, float]], line: CentreLine, strip: float) -> tuple[tuple[float, float], ...]:
    return tuple(place for place in places if place[line.axis] <= line.at + strip)
