"""A pattern as SVG at true size.

One user unit is one millimetre: width and height are in mm and the view box has the same numbers. The part's x is the
drawing's x and its y the drawing's y with the sign turned, since SVG counts downward.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence

import numpy as np
import svgwrite
from svgwrite.base import BaseElement
from svgwrite.container import Group
from svgwrite.path import Path

from patterns.affine import Affine, Points
from patterns.blockplace import block_labels
from patterns.curve import JOIN_MM, Curve
from patterns.dashes import dashes_of
from patterns.errors import MachineError
from patterns.lettering import outlines, shape
from patterns.numbers import DECIMALS, decimal
from patterns.pattern import Label, Pattern, Role, Stroke

WIDE_MM = 0.3
"""The cut line: narrow enough that a saw can split it. With the narrow line it is in ISO 128's ratio of two to one."""
NARROW_MM = 0.15

MARGIN_MM = 5.0
"""White round everything that is drawn."""

FLIP = Affine(d=-1.0)
JOINED_MM = 1e-6
LETTER_DECIMALS = 2
"""Nobody measures a letter: a hundredth of a millimetre keeps the file small."""

Word = tuple[Label, list[Curve]]
"""A label and its letters."""


def svg_text(pattern: Pattern) -> str:
    """The pattern as an SVG document, the same text for the same pattern."""
    words = [(label, letters_of(label)) for label in (*pattern.labels, *block_labels(pattern))]
    x0, y0, x1, y1 = _page(pattern, words)
    width, height = decimal(x1 - x0), decimal(y1 - y0)
    # Its validator takes a second for a page of outlines and refuses attributes that SVG allows.
    drawing = svgwrite.Drawing(size=(f"{width}mm", f"{height}mm"), debug=False)
    drawing["viewBox"] = f"{decimal(x0)} {decimal(-y1)} {width} {height}"
    drawing["role"] = "img"
    drawing.set_desc(title=pattern.name, desc=", ".join(pattern.title_block[:-1]))
    drawing.add(_cut_path(pattern))
    for role in Role:
        strokes = [stroke for stroke in pattern.strokes if stroke.role is role]
        if role is not Role.CUT and strokes:
            drawing.add(group_of(role.value, strokes))
    drawing.add(words_of(words))
    text = io.StringIO()
    drawing.write(text, pretty=True, indent=1)
    return text.getvalue()


def png(pattern: Pattern, dpi: float = 96.0) -> bytes:
    """The pattern as a PNG picture on white. Raises MachineError where the cairo library is missing."""
    try:
        # Late: it loads a drawing library that writing SVG does not need, and that may be missing.
        import cairosvg
    except OSError as error:
        raise MachineError(f"pictures need the cairo library, which can't be loaded: {error}") from error
    text = svg_text(pattern).encode()
    # At its own 96 pixels an inch the writer gives a millimetre 96 / 25.4 of them; the scale does the rest.
    picture: bytes = cairosvg.svg2png(bytestring=text, dpi=96, scale=dpi / 96.0, background_color="white")
    return picture


def path_data(curves: Iterable[Curve], places: int = DECIMALS) -> str:
    """SVG path data in mm, y downward: a subpath for each run of curves that join, closed where it ends as it began.

    ``places`` are the decimals written. Nothing is flattened: a Bézier is written as a curve unless it is a line.
    """
    parts = []
    for run in _runs(curves):
        parts.append(f"M{_point(run[0].beziers[0, 0], places)}")
        closed = abs(run[0].start - run[-1].end).max() <= JOINED_MM
        for curve in run:
            parts += _segments(curve, places)
        if closed:
            parts.append("Z")
    return " ".join(parts)


def _runs(curves: Iterable[Curve]) -> list[list[Curve]]:
    runs: list[list[Curve]] = []
    for curve in curves:
        joins = runs and abs(runs[-1][-1].end - curve.start).max() <= JOINED_MM
        if joins and abs(runs[-1][0].start - runs[-1][-1].end).max() > JOINED_MM:
            runs[-1].append(curve)
        else:
            runs.append([curve])
    return runs


def _segments(curve: Curve, places: int) -> list[str]:
    written = []
    for (_, a, b, end), straight in zip(curve.beziers.tolist(), _are_straight(curve.beziers), strict=True):
        if straight:
            written.append(f"L{_point(end, places)}")
        else:
            written.append(f"C{_point(a, places)} {_point(b, places)} {_point(end, places)}")
    return written


def _are_straight(beziers: Points) -> list[bool]:
    """Which of the Béziers (n, 4, 2) are lines: handles on the chord, in order along it."""
    chord = beziers[:, 3] - beziers[:, 0]
    rel = beziers - beziers[:, :1]
    size = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), JOIN_MM)
    off = np.abs(rel[..., 0] * chord[:, None, 1] - rel[..., 1] * chord[:, None, 0]).max(axis=1) / size
    along = (rel * chord[:, None]).sum(axis=2)
    onward = (np.diff(along, axis=1) >= -JOIN_MM * size[:, None]).all(axis=1)
    result: list[bool] = ((off <= JOIN_MM) & onward).tolist()
    return result


def _point(point: Sequence[float] | Points, places: int) -> str:
    return f"{decimal(point[0], places)},{decimal(-point[1], places)}"


def _path(data: str, title: str = "") -> Path:
    path = Path(d=data, debug=False)
    if title:
        path.set_desc(title=title)
    return path


def _drawn(element: BaseElement, width_mm: float) -> None:
    element["fill"] = "none"
    element["stroke"] = "black"
    element["stroke-width"] = decimal(width_mm)
    element["stroke-linecap"] = "round"
    element["stroke-linejoin"] = "round"


def _cut_path(pattern: Pattern) -> Path:
    """The cut line: the boundary and, as further subpaths, the holes."""
    path = _path(path_data(stroke.curve for stroke in pattern.strokes if stroke.role is Role.CUT))
    path["id"] = f"cut-{pattern.slug}"
    path["class"] = "cut"
    _drawn(path, WIDE_MM)
    return path


def group_of(name: str, strokes: Sequence[Stroke], width_mm: float = NARROW_MM) -> Group:
    """Strokes in the dashes of their roles, drawn with lines of one width; ``name`` is the group's id."""
    group = Group(debug=False)
    group["id"] = name
    group["class"] = name
    _drawn(group, width_mm)
    for stroke in strokes:
        group.add(_path(path_data(dashes_of(stroke)), stroke.key))
    return group


def words_of(words: Sequence[Word]) -> Group:
    """Every label drawn as outlines, its text beside it for whoever can't see it."""
    group = Group(debug=False)
    group["id"] = group["class"] = "label"
    group["fill"] = "black"
    group["stroke"] = "none"
    for label, letters in words:
        if letters:
            group.add(_path(" ".join(path_data([curve], LETTER_DECIMALS) for curve in letters), label.text))
    return group


def letters_of(label: Label) -> list[Curve]:
    """The letters of a label where it stands (mm)."""
    width = shape(label.text, label.height).width
    place = Affine.translation(*label.at) @ Affine.rotation(label.angle)
    place = place @ Affine.translation(-width / 2, -label.height / 2)
    return [curve.transformed(place) for curve in outlines(label.text, label.height)]


def _page(pattern: Pattern, words: Sequence[Word]) -> tuple[float, float, float, float]:
    """The bounds of all that is drawn, words included, with the margin (mm)."""
    boxes = [pattern.bounds, *(curve.bounds for _, letters in words for curve in letters)]
    low = [min(box[k] for box in boxes) - MARGIN_MM for k in (0, 1)]
    high = [max(box[k] for box in boxes) + MARGIN_MM for k in (2, 3)]
    return low[0], low[1], high[0], high[1]
