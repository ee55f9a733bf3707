"""Two versions of a part drawn over each other, for looking at: the new cut line wide and continuous, the old narrow dashed.

Lines follow ISO 128 (wide continuous for what is seen, narrow dashed for what is not there any more), black on white.
The page is in millimetres, y upward from its lower left corner, until it is written.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable

import numpy as np
import svgwrite
from msgspec import Struct

from patterns.affine import Affine
from patterns.arclength import parameters_at
from patterns.compared import Compared, LineChange, Shape
from patterns.comparisonlayout import DETAIL_RADIUS_MM, Detail, Layout, Point, in_words, lay_out, union
from patterns.crossings import between
from patterns.curve import Curve
from patterns.dashes import RHYTHMS
from patterns.lettering import shape
from patterns.numbers import decimal
from patterns.pattern import Label, Role
from patterns.sketch import ARROW_HALF_ANGLE, ARROW_MM, FIGURE_MM, Sketch, ring, turned
from patterns.svg import group_of, letters_of, words_of

WIDE_MM = 0.5
NARROW_MM = 0.25
"""ISO 128-2's line group 0.5: on a page that is looked at as a whole."""

MARGIN_MM = 12.0
EDGE_MM = 6.0
"""No figure comes nearer to the edge of the paper."""

TITLE_MM = 5.0
TEXT_MM = 3.0
LINE_MM = 5.2
"""From one line of words to the next."""

SAMPLE_MM = 18.0
"""Length of the lines that show what is old and what is new."""

ROOMY_MM = 9.0
"""A distance this long on the page holds two arrowheads between its ends; at a shorter one they point from outside."""

TAIL_MM = 6.0

SHORT_MM = 40.0
LEAST_DASHES = 6
"""A closed line shorter than ``SHORT_MM`` on the page is drawn in so many dashes at least, or it would not look like one."""

NOT_A_PATTERN = "Not a pattern: nothing is cut from this sheet."


GROUPS = (
    ("new-line", Role.CUT, WIDE_MM),
    ("old-line", Role.HIDDEN, NARROW_MM),
    ("distance", Role.DIMENSION, NARROW_MM),
)
"""What a picture holds beside its words."""


class Caption(Struct, frozen=True):
    """The words of a picture: its title, what is old and what is new, lines of findings, the largest distance."""

    title: str
    old: str
    new: str
    lines: tuple[str, ...]
    distance: str


def picture(found: Compared, caption: Caption, paper: tuple[float, float]) -> str:
    """The picture as an SVG document on paper of this width and height (mm); the same text for the same comparison."""
    sketch = Sketch()
    width, height = paper
    top = _header(sketch, caption, width, height)
    bounds = union([found.old.outline.bounds, found.new.outline.bounds])
    largest = found.largest
    area = (MARGIN_MM, MARGIN_MM + 3 * LINE_MM, width - MARGIN_MM, top)
    layout = lay_out(bounds, area, largest.distance if largest else None)
    _lines(sketch, found, layout.to_page)
    if largest is not None:
        _show(sketch, found, largest, caption.distance, layout, width)
    _footer(sketch, caption, layout, width)
    return _written(sketch, caption, paper)


# ---------------------------------------------------------------- the two lines


def _lines(sketch: Sketch, found: Compared, to_page: Affine) -> None:
    for role, shape_ in ((Role.CUT, found.new), (Role.HIDDEN, found.old)):
        for curve in shape_.outline.curves:
            _line(sketch, role, curve.transformed(to_page))


def _line(sketch: Sketch, role: Role, curve: Curve) -> None:
    key = f"{_version(role)} line"
    if role is Role.HIDDEN and curve.is_closed and curve.length < SHORT_MM:
        for dash in _short_dashes(curve):
            sketch.stroke(role, dash, key)
    else:
        sketch.stroke(role, curve, key)


def _short_dashes(curve: Curve) -> list[Curve]:
    """A small closed line in dashes twice as long as their gaps."""
    dash, gap = RHYTHMS[Role.HIDDEN]
    count = max(LEAST_DASHES, round(curve.length / (dash + gap)))
    step = curve.length / count
    ends = parameters_at(curve, np.array([(k + part) * step for k in range(count) for part in (0.0, 2 / 3)]))
    return [curve.between(*pair) for pair in ends.reshape(-1, 2)]


def _version(role: Role) -> str:
    return "new" if role is Role.CUT else "old"


def _show(sketch: Sketch, found: Compared, change: LineChange, words: str, layout: Layout, width: float) -> None:
    """The largest distance: an arrow with its figure, in a detail where it would be too small to see."""
    if layout.detail is None:
        _distance(sketch, change, layout.to_page, words, width)
        return
    detail = layout.detail
    middle = ((change.at[0] + change.nearest[0]) / 2, (change.at[1] + change.nearest[1]) / 2)
    centre = layout.to_page.point(*middle)
    sketch.stroke(Role.DIMENSION, Curve.circle(centre, detail.ring), "place of the detail")
    sketch.label("detail.place", "A", ring(centre, 0.0, [detail.ring + 3.5, detail.ring + 6.0, detail.ring + 9.0])[1:])
    to_detail = (
        Affine.translation(*detail.centre) @ Affine.scaling(detail.scale) @ Affine.translation(-middle[0], -middle[1])
    )
    rim = Curve.circle(detail.centre, DETAIL_RADIUS_MM)
    sketch.stroke(Role.DIMENSION, rim, "detail")
    for role, shape_ in ((Role.CUT, found.new), (Role.HIDDEN, found.old)):
        for curve in _inside(shape_, to_detail, rim, detail):
            _line(sketch, role, curve)
    _distance(sketch, change, to_detail, words, width)
    name = f"A  {in_words(detail.scale)}"
    sketch.label("detail.name", name, [((detail.centre[0], detail.centre[1] + DETAIL_RADIUS_MM + 4.0), 0.0)])


def _inside(shape_: Shape, to_detail: Affine, rim: Curve, detail: Detail) -> Iterable[Curve]:
    """What of a shape's lines lies within the rim of the detail."""
    for curve in shape_.outline.curves:
        large = curve.transformed(to_detail)
        for piece in large.split_at([t for t, _ in between(large, rim)]):
            if math.dist(piece.point(len(piece) / 2), detail.centre) < DETAIL_RADIUS_MM:
                yield piece


def _distance(sketch: Sketch, change: LineChange, to_page: Affine, words: str, width: float) -> None:
    """The distance between two points, with its figure beside it on a page of this width."""
    start, end = to_page.point(*change.at), to_page.point(*change.nearest)
    angle = math.atan2(end[1] - start[1], end[0] - start[0])
    half = shape(words, FIGURE_MM).width / 2
    if math.dist(start, end) >= ROOMY_MM:
        sketch.arrow(Role.DIMENSION, start, end, "distance")
        places = _beside(((start[0] + end[0]) / 2, (start[1] + end[1]) / 2), half)
    else:
        sketch.line(Role.DIMENSION, start, end, "distance")
        tails = _from_outside(sketch, start, angle + math.pi), _from_outside(sketch, end, angle)
        both = zip(*(_beside(tail, half) for tail in tails), strict=True)
        places = [place for pair in both for place in pair]
    on_page = [((x, y), turn) for (x, y), turn in places if EDGE_MM + half <= x <= width - EDGE_MM - half]
    sketch.label("distance", words, on_page or places)


def _beside(anchor: Point, half: float) -> list[tuple[Point, float]]:
    """Places for a figure as wide as twice ``half`` round a point: right and left, above and below, then slanting."""
    x, y = anchor
    places: list[tuple[Point, float]] = []
    for far in (3.0, 4.5, 7.0, 11.0, 16.0):
        side = half + far - 1.0
        places += [((x + side, y), 0.0), ((x - side, y), 0.0), ((x, y + far), 0.0), ((x, y - far), 0.0)]
        places += [((x + dx * side, y + dy * far), 0.0) for dx in (1, -1) for dy in (1, -1)]
    return places


def _from_outside(sketch: Sketch, tip: Point, outward: float) -> Point:
    """An arrow that points at ``tip`` from outside; returns the end of its tail."""
    tail = turned(tip, outward, TAIL_MM)
    sketch.line(Role.DIMENSION, tail, tip, "distance")
    barbs = [turned(tip, outward + side * ARROW_HALF_ANGLE, ARROW_MM) for side in (1, -1)]
    sketch.stroke(Role.DIMENSION, Curve.polyline([barbs[0], tip, barbs[1]]), "distance.arrow")
    return tail


# ---------------------------------------------------------------- words


def _header(sketch: Sketch, caption: Caption, width: float, height: float) -> float:
    """The title and what was found; returns how high the rest of the page reaches (mm)."""
    room = width - 2 * MARGIN_MM
    y = height - MARGIN_MM - TITLE_MM
    for line in _folded(caption.title, TITLE_MM, room)[:2]:
        _left(sketch, "title", line, MARGIN_MM, y, TITLE_MM)
        y -= TITLE_MM * 1.7
    for number, text in enumerate(caption.lines):
        for line in _folded(text, TEXT_MM, room):
            _left(sketch, f"found.{number}", line, MARGIN_MM, y + 1.0, TEXT_MM)
            y -= LINE_MM
    return y


def _footer(sketch: Sketch, caption: Caption, layout: Layout, width: float) -> None:
    """Which line is which, the scale, and that it is no pattern."""
    words = f"Scale {in_words(layout.scale)}. {NOT_A_PATTERN}"
    _left(sketch, "scale", words, MARGIN_MM, MARGIN_MM - TEXT_MM / 2, TEXT_MM)
    x = MARGIN_MM + SAMPLE_MM + 3.0
    for role, text, row in ((Role.CUT, f"new: {caption.new}", 2), (Role.HIDDEN, f"old: {caption.old}", 1)):
        y = MARGIN_MM + row * LINE_MM
        sketch.line(role, (MARGIN_MM, y), (MARGIN_MM + SAMPLE_MM, y), f"{_version(role)} line")
        _left(sketch, f"legend.{_version(role)}", _shortened(text, width - MARGIN_MM - x), x, y - TEXT_MM / 2, TEXT_MM)


def _left(sketch: Sketch, key: str, text: str, x: float, base: float, height: float) -> None:
    """A line of text that begins at x on its base line."""
    sketch.labels.append(Label(key, text, (x + shape(text, height).width / 2, base + height / 2), height))


def _folded(text: str, height: float, room: float) -> list[str]:
    """The text in lines no wider than the room (mm); a word that is wider stands alone."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and shape(longer, height).width <= room:
            lines[-1] = longer
        else:
            lines.append(_shortened(word, room, height))
    return lines


def _shortened(text: str, room: float, height: float = TEXT_MM) -> str:
    """The text, cut short where it is wider than the room (mm)."""
    if shape(text, height).width <= room:
        return text
    while text and shape(f"{text}...", height).width > room:
        text = text[:-1]
    return f"{text}..."


# ---------------------------------------------------------------- the file


def _written(sketch: Sketch, caption: Caption, paper: tuple[float, float]) -> str:
    width, height = (decimal(side) for side in paper)
    drawing = svgwrite.Drawing(size=(f"{width}mm", f"{height}mm"), debug=False)
    drawing["viewBox"] = f"0 {decimal(-paper[1])} {width} {height}"
    drawing["role"] = "img"
    drawing.set_desc(title=caption.title, desc=" ".join(caption.lines))
    for name, role, line_mm in GROUPS:
        strokes = [stroke for stroke in sketch.strokes if stroke.role is role]
        if strokes:
            drawing.add(group_of(name, strokes, line_mm))
    drawing.add(words_of([(label, letters_of(label)) for label in sketch.labels]))
    text = io.StringIO()
    drawing.write(text, pretty=True, indent=1)
    return text.getvalue()
